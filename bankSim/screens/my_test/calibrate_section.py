"""Step 4: logs of one battery alone become a battery for scenarios."""

import io
import re
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass

import streamlit as st

from bankSim.errors import SimulationError
from bankSim.measured.battery_file import BatteryFiles, battery_files
from bankSim.measured.calibrate import Told
from bankSim.measured.log import Log
from bankSim.measured.typed_starts import typed_starts
from bankSim.screens import warm_up
from bankSim.screens.jobs import Progress, answer_of, job_of, start
from bankSim.screens.my_test.at_hand import in_words_of_page, show_trouble
from bankSim.screens.my_test.choosing import choose_logs
from bankSim.screens.my_test.fields import (
    chemistry_field,
    number_field,
    sure_field,
    text_field,
    whole_field,
)
from bankSim.screens.my_test.into_bank import offer
from bankSim.screens.my_test.reading import digest_of, key_of, read
from bankSim.screens.my_test.shelf import Kept, Shelf
from bankSim.screens.my_test.shown import Shown, shown
from bankSim.screens.my_test.view import show_shown

JOB = "calibrate"
ALTS = {
    "battery": "Voltage at rest and resistance of one cell over its state of charge, as found and "
    "as typical.",
    "residuals": "What is left between model and measurement, log by log, in mV of one cell.",
}


@dataclass(frozen=True, slots=True)
class Words:
    """What is said of the battery.

    Parameters
    ----------
    name, chemistry : str or None
    cells_in_series : int or None
    rated_Ah : float or None
        [Ah]
    """

    name: str
    chemistry: str | None
    cells_in_series: int | None
    rated_Ah: float | None


@dataclass(frozen=True, eq=False)
class Calibrated:
    """What stays of a calibration.

    Parameters
    ----------
    shown : Shown
    files : BatteryFiles
    """

    shown: Shown
    files: BatteryFiles


def show_calibration(shelf: Shelf) -> None:
    """Show the fourth step."""
    warm_up.hold()
    st.markdown(
        "Logs of **one battery alone**: a slow full discharge gives capacity and voltage curve, "
        "load steps give the resistance. The outcome is a battery for your bank, each value "
        "with its error."
    )
    kept = choose_logs(shelf, "Logs of this battery", "calibrate logs")
    try:
        words, told = _words(kept), _told(len(kept))
    except SimulationError as error:
        show_trouble(error)
        return
    if not kept:
        st.info("Choose one log or several.")
        return
    pairs = [(one, shelf.asked_of(one)) for one in kept]
    digest = digest_of(JOB, [key_of(*pair) for pair in pairs], words, told)
    job = job_of(JOB, digest)
    if job is None:
        if not st.button("Calibrate", type="primary"):
            return
        try:
            logs = [read(*pair) for pair in pairs]
        except SimulationError as error:
            show_trouble(error)
            return
        job = start(JOB, digest, lambda progress: _work(logs, words, told, progress))
    found: Calibrated | None = answer_of(job, "Calibrating")
    if found is not None:
        _show(found, digest)


def _words(kept: Sequence[Kept]) -> Words:
    name = text_field("Name of the battery", "calibrate name",
                      placeholder=kept[0].stem if kept else "older")  # fmt: skip
    chemistry = chemistry_field("calibrate chemistry")
    cells = whole_field("Cells in series", "calibrate cells", 1, 32)
    rated_Ah = number_field("Capacity on the label [Ah]", "calibrate label", 0.01, 10_000.0)
    return Words(name or (kept[0].stem if kept else ""), chemistry, cells, rated_Ah)


def _told(count: int) -> Told:
    with st.expander("More about the logs"):
        starts = text_field(
            "State of charge at the start of each log [%]", "calibrate starts", placeholder="100",
            help="One for all, or one a log with commas between them; ? where it is not known. "
            "Empty: all full.",
        )  # fmt: skip
        temperature_C = number_field(
            "Temperature of the air [degrees C]", "calibrate temperature", -40.0, 70.0,
            help="Where a log has no temperature; empty: 25.",
        )  # fmt: skip
        gain = sure_field("Largest error of the current [%]", "calibrate gain", 0.0, 20.0, 0.5)
        hold_out = sure_field(
            "Part of the time kept out of the fit and predicted [%]", "calibrate hold out",
            0.0, 50.0, 0.0,
            help="In stretches: shows how well the battery predicts what it has not seen.",
        )  # fmt: skip
        mass_kg = number_field("Weight of the battery [kg]", "calibrate mass", 0.001, 1000.0)
    return Told(typed_starts(starts, max(count, 1)), temperature_C, gain, hold_out / 100.0, mass_kg)


def _work(logs: Sequence[Log], words: Words, told: Told, progress: Progress) -> Calibrated:
    """Calibrate, in a thread of its own."""
    from bankSim.measured.calibrate import calibrate
    from bankSim.measured.label import label_of
    from bankSim.show.calibrate_answer import calibration_answer

    try:
        label = label_of(logs, words.name, words.chemistry, words.cells_in_series, words.rated_Ah)
        found = calibrate(logs, label, told, lambda done, most: progress("fitting", done, most))
        files = battery_files(found, stem_of(words.name))
        return Calibrated(shown(calibration_answer(found, logs)), files)
    except SimulationError as error:
        raise in_words_of_page(error) from error


def stem_of(name: str) -> str:
    """Return a name for files: small plain letters, numbers and dashes."""
    return re.sub(r"[^a-z0-9]+", "-", name.lower())[:40].strip("-") or "battery"


def _show(found: Calibrated, digest: str) -> None:
    show_shown(found.shown, "calibration", ALTS, open_first=2)
    st.download_button(
        "Battery file and its curves (ZIP)", _zipped(found.files), "battery.zip",
        "application/zip", on_click="ignore",
        help="A scenario that runs as it is, with the curve files it names.",
    )  # fmt: skip
    offer(found.files, digest)


def _zipped(files: BatteryFiles) -> bytes:
    page = io.BytesIO()
    with zipfile.ZipFile(page, "w", zipfile.ZIP_DEFLATED) as folder:
        for name, text in {"battery.toml": files.text, **files.tables}.items():
            folder.writestr(zipfile.ZipInfo(name), text)
    return page.getvalue()
