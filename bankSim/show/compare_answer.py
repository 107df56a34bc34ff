"""A comparison as story, JSON, figures and both curves in one table."""

from typing import Any

import numpy as np

from bankSim.measured.compare_found import Comparison
from bankSim.show.answer import Answer
from bankSim.show.compare_figure import compare_figures
from bankSim.show.compare_story import tell_compare
from bankSim.show.sheets import guarded
from bankSim.show.study_files import study_summary
from bankSim.study.unknown import spread_words

COURSE = "course.csv"
HIDDEN = ("lines", "result", "unknowns", "exact")


def compare_answer(found: Comparison) -> Answer:
    """Return how a comparison is told and written."""
    return Answer(
        tell_compare(found, briefly=True),
        tell_compare(found),
        compare_summary(found),
        lambda: compare_figures(found),
        {COURSE: course_csv(found)},
    )


def compare_summary(found: Comparison) -> dict[str, Any]:
    """Return a comparison as plain dictionaries, with every value that was drawn or taken."""
    summary = study_summary("compare", found)
    for key in HIDDEN:
        summary.pop(key)
    summary["consistent"] = found.consistent
    summary["explained"]["worth_explaining"] = found.explained.matters
    for what, unknowns in (("drawn", found.unknowns), ("given_as_exact", found.exact)):
        summary[what] = [
            {
                "label": one.label,
                "key": one.key,
                "spread": spread_words(one.spread, one.unit, factor=one.is_factor),
                "source": one.source,
            }
            for one in unknowns
        ]
    summary["assumed"] = [
        {"key": one.key, "value": one.value, "unit": one.unit, "source": one.source}
        for one in found.scenario.assumed
    ]
    return summary


def course_csv(found: Comparison) -> str:
    """Return both curves with the band, a row a step of time; empty where there is nothing."""
    import pandas as pd

    lines = found.lines
    table = {"time_h": lines.time_h}
    quantities = ["bank.voltage_V", "bank.current_A", *(f"{n}.current_A" for n in found.names)]
    for row, name in enumerate(quantities):
        table[f"{name} predicted"] = lines.predicted[row]
        table[f"{name} measured"] = lines.measured[row]
        table[f"{name} 5 % of draws"] = np.where(
            np.isfinite(lines.low[row]), lines.low[row], np.nan
        )
        table[f"{name} 95 % of draws"] = np.where(
            np.isfinite(lines.high[row]), lines.high[row], np.nan
        )
    frame = pd.DataFrame(table)
    header = [guarded(name) for name in frame.columns]
    return str(frame.to_csv(index=False, header=header, float_format="%.6g", lineterminator="\n"))
