"""Step: at first the current is shared by resistance."""

from functools import cache

from bankSim.screens.lesson.banks import Unit, bank, solve
from bankSim.screens.lesson.circuit import Branch
from bankSim.screens.lesson.pictures import Bars
from bankSim.screens.lesson.reading import amps, current_A, more_or_less, path_ohm
from bankSim.screens.lesson.step import Amount, Answer, Slider, Step
from bankSim.sim.numbers import number
from bankSim.sim.result import Result

LOAD_A, NEAR_M, AREA_MM2 = 100.0, 0.5, 25.0
MINUTE_H = 1.0 / 60.0
LINK_MOHM = 0.5


def text_of(far_m: float) -> str:
    """Return the bank of the step: two equal batteries, one on a lead of this length. [m]"""
    return bank(
        [Unit("near", lead=_lead(NEAR_M)), Unit("far", lead=_lead(far_m))],
        LOAD_A,
        MINUTE_H,
        every_s=5.0,
    )


def row_text(layout: str) -> str:
    """Return four equal batteries in a row, with the take-off at the same end or at opposite."""
    wiring = f'layout = "{layout}"\nlink_mohm = {LINK_MOHM}'
    return bank([Unit(name) for name in "ABCD"], LOAD_A, MINUTE_H, every_s=5.0, wiring=wiring)


def answer(far_m: float) -> Answer:
    """Say what both give over the first minute, one of them on a lead of this length. [m]"""
    result = solve(text_of(far_m))
    near_A, far_A = (battery.delivered_Ah / MINUTE_H for battery in result.batteries)
    near_mohm, far_mohm = (1e3 * path_ohm(result, place) for place in (0, 1))
    first_A = float(current_A(result, 0)[0])
    word = more_or_less(near_A, far_A)
    other = "as" if word == "just as much" else "than"
    return Answer(
        truth=near_A,
        headline=f"Over the first minute the near one gives {amps(near_A)} and the far one "
        f"{amps(far_A)}: the near one carries {word} {other} the far one.",
        why=f"From cells to rail the near one has {number(near_mohm)} mohm, the far one "
        f"{number(far_mohm)} mohm, at the same voltage: current goes as one over resistance. In "
        f"the first instant that makes {amps(first_A)} for the near one; then the cells sag, "
        f"and over the minute it is {amps(near_A)}.",
        picture=Bars("current", "A", ("near", "far"), (near_A, far_A)),
        branches=(
            Branch("near", f"{NEAR_M:g} m", amps(near_A)),
            Branch("far", f"{far_m:g} m", amps(far_A), long=far_m > 2 * NEAR_M),
        ),
        doubt="My leads are all equal. Am I done?",
        reply=_row_reply(),
        facts={
            "near_A": near_A,
            "far_A": far_A,
            "near_mohm": near_mohm,
            "far_mohm": far_mohm,
            "near_first_A": first_A,
        },
    )


@cache
def _row_reply() -> str:
    same, opposite = (_shares(solve(row_text(layout))) for layout in ("same end", "opposite ends"))
    return (
        f"Not in a row. Four equal batteries with links of {LINK_MOHM:g} mohm, both take-off "
        f"leads on the first: {_listed(same)} %. Take-off on opposite ends: {_listed(opposite)} %."
    )


def _shares(result: Result) -> list[float]:
    return [battery.share_at_start or 0.0 for battery in result.batteries]


def _listed(shares: list[float]) -> str:
    return ", ".join(f"{100 * share:.0f}" for share in shares)


def _lead(metres: float) -> str:
    return f"lead = {{ length_m = {metres}, area_mm2 = {AREA_MM2}, joints = 2 }}"


STEP = Step(
    key="by-resistance",
    title="By resistance first",
    text="Two equal batteries, both full. One sits beside the rails on "
    f"{NEAR_M:g} m of cable each way. The other found no room there: its cable is 3 m each "
    f"way, of the same {AREA_MM2:g} mm². The load takes {LOAD_A:g} A.",
    question=Amount(
        "How many amperes does the near one give, over the first minute?",
        "A",
        1000.0,
        (45.0, 55.0, 65.0, 75.0),
        3.0,
    ),
    slider=Slider("Cable of the far one, each way [m]", 0.5, 6.0, 0.5, 3.0, "%.1f m"),
    before=(Branch("near", f"{NEAR_M:g} m"), Branch("far", "3 m", long=True)),
    load=f"{LOAD_A:g} A",
    answer=answer,
)
