"""A calibration as story, JSON and figures."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from bankSim.measured.calibrate import Calibration
from bankSim.measured.log import Log
from bankSim.show.answer import Answer
from bankSim.show.calibrate_figure import calibration_figures
from bankSim.show.calibrate_story import tell_calibration
from bankSim.show.calibrate_summary import calibration_summary
from bankSim.show.log_story import reading_section
from bankSim.sim.numbers import clean, quoted


def calibration_answer(
    found: Calibration, logs: Sequence[Log], texts: Mapping[str, str] | None = None
) -> Answer:
    """Return how a calibration is told and written.

    Parameters
    ----------
    found : Calibration
    logs : sequence of Log
        From which it was found.
    texts : mapping, optional
        Files that go with it.
    """
    read = [reading_section(log, named=len(logs) > 1) for log in logs]
    story = tell_calibration(found, read)
    beware = [
        f"Beware, {quoted(Path(log.file).name)}: {clean(one.text)}"
        for log in logs for one in log.findings if one.spoils or one.on_top
    ]  # fmt: skip
    story = replace(story, headline=(*beware, *story.headline))
    return Answer(
        story, story, calibration_summary(found), lambda: calibration_figures(found), texts or {}
    )
