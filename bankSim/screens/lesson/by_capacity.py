"""Step: over the whole discharge, the charge is shared by capacity."""

import numpy as np

from bankSim.screens.lesson.banks import Unit, bank, solve
from bankSim.screens.lesson.circuit import Branch
from bankSim.screens.lesson.pictures import Lines
from bankSim.screens.lesson.reading import current_A, drawn, hours, until
from bankSim.screens.lesson.step import Answer, Choice, Slider, Step
from bankSim.sim.numbers import number
from bankSim.sim.result import Result

LOAD_A, NEW_AH, LATE_S, EARLY_S = 40.0, 100.0, 1800.0, 60.0
SAME = 3.0  # percentage points
LARGER, ALIKE, SMALLER = "larger", "about the same", "smaller"


def text_of(old_Ah: float) -> str:
    """Return the bank of the step: a new battery and an old one that holds so much. [Ah]"""
    old = Unit("old", left=old_Ah / 100.0, ohmic_mohm=0.8, lead="lead_mohm = 1.0")
    return bank([Unit("new", NEW_AH), old], LOAD_A, 12.0)


def answer(old_Ah: float) -> Answer:
    """Say how the part of the old one in the current turns, when it holds so much. [Ah]"""
    result = solve(text_of(old_Ah))
    first = min(
        (b.first_cut_out.time_s for b in result.batteries if b.first_cut_out),
        default=result.end_time_s,
    )
    early, late = _mean(result, 0.0, EARLY_S), _mean(result, first - LATE_S, first)
    new_Ah, given_Ah = (battery.delivered_Ah for battery in result.batteries)
    whole = 100.0 * given_Ah / (new_Ah + given_Ah)
    truth = ALIKE if abs(late - early) <= SAME else LARGER if late > early else SMALLER
    low, high = _range(result, first)
    return Answer(
        truth=truth,
        headline=f"The old one carries {early:.0f} % in the first minute and {late:.0f} % in the "
        f"last half hour before the first cut-out: {_turn(early, late)}. "
        f"Of all Ah it gave {whole:.0f} %.",
        why="At first resistance decides. But whoever gives more than its size runs down sooner, "
        "its voltage sags, and the other takes over, until each has given about what it had: "
        f"{number(given_Ah)} Ah and {number(new_Ah)} Ah.",
        picture=_picture(result, first, whole),
        branches=(
            Branch("new", "100 Ah", f"{number(new_Ah)} Ah"),
            Branch("old", f"{old_Ah:g} Ah left", f"{number(given_Ah)} Ah"),
        ),
        doubt="So the current settles at the ratio of the Ah?",
        reply=f"No. The part of the old one wanders between {low:.0f} % and {high:.0f} % on the "
        "way, because the curve of the cells is flat here and bends there. Only the total over "
        "the whole run comes out as the ratio of what they held.",
        facts={
            "early": early,
            "late": late,
            "whole": whole,
            "old_Ah": given_Ah,
            "new_Ah": new_Ah,
            "low": low,
            "high": high,
        },
    )


def _turn(early: float, late: float) -> str:
    if abs(late - early) <= SAME:
        return "about as before"
    return "more than before" if late > early else "less than before"


def _part(result: Result) -> "np.ndarray[tuple[int], np.dtype[np.float64]]":
    new_A, old_A = current_A(result, 0), current_A(result, 1)
    total_A = new_A + old_A
    part = np.divide(old_A, total_A, out=np.zeros_like(old_A), where=np.abs(total_A) > 1.0)
    return 100.0 * part


def _mean(result: Result, start_s: float, end_s: float) -> float:
    """Return the part of the old one over a time, straight between the rows. [%]"""
    rows = until(result, end_s)
    time_s, part = result.trace[rows, 0], _part(result)[rows]
    spots = np.linspace(start_s, end_s, 200)
    return float(np.interp(spots, time_s, part).mean())


def _range(result: Result, end_s: float) -> tuple[float, float]:
    part = _part(result)[until(result, end_s)]
    return float(part.min()), float(part.max())


def _picture(result: Result, end_s: float, whole: float) -> Lines:
    rows = until(result, end_s)
    part = _part(result)[rows]
    return Lines(
        title="part of the current",
        unit="%",
        time_title="time since the start [h]",
        times=drawn(result.trace[rows, 0] / 3600.0),
        names=("new", "old"),
        courses=(drawn(100.0 - part), drawn(part)),
        level=("old, of all Ah", whole),
        told=f"Until the first one cuts out after {hours(end_s)}; the old one begins at "
        f"{part[0]:.0f} % and ends at {part[-1]:.0f} %; of all Ah it gave {whole:.0f} %.",
    )


STEP = Step(
    key="by-capacity",
    title="By capacity later",
    text="A new battery of 100 Ah and an old one of the same label, which holds 60 Ah now. "
    "The old one has the shorter leads, so in the first minute it carries about half. "
    f"The load takes {LOAD_A:g} A until nothing is left.",
    question=Choice(
        "In the last half hour before the first one cuts out: the old one's part of the current "
        "is, against the first minute, ...",
        (LARGER, ALIKE, SMALLER),
    ),
    slider=Slider("What the old one still holds [Ah]", 30.0, 100.0, 5.0, 60.0, "%d Ah"),
    before=(Branch("new", "100 Ah"), Branch("old", "60 Ah left")),
    load=f"{LOAD_A:g} A",
    answer=answer,
)
