"""Step: when one cuts out the other carries everything."""

import math

import numpy as np

from bankSim.model.curve import Floats
from bankSim.screens.lesson.banks import Unit, bank, solve
from bankSim.screens.lesson.circuit import Branch
from bankSim.screens.lesson.pictures import Lines
from bankSim.screens.lesson.reading import amps, current_A, drawn, hours
from bankSim.screens.lesson.step import Answer, Choice, Slider, Step
from bankSim.sim.numbers import number, span
from bankSim.sim.result import Event, Result

START_A, LIMIT_A, LABEL_A = 150.0, 120.0, 100.0
SECONDS = 10.0
GOES_ON = "goes on with what it gave before"
CARRIES = "carries the whole load until it is empty"
FOLLOWS = "cuts out as well, within seconds"

RULES = (
    '{ watches = "lowest cell voltage", trips_below = 2.5, after_s = 5.0, blocks = "discharge" }',
    f'{{ watches = "discharge current", trips_above = {LIMIT_A}, after_s = 1.0, '
    'blocks = "discharge" }',
)


def text_of(load_A: float) -> str:
    """Return the bank of the step on a load of so much. [A]"""
    extra = f"continuous_discharge_A = {LABEL_A}"
    units = [Unit("A", rules=RULES, extra=extra), Unit("B", weak=0.15, rules=RULES, extra=extra)]
    return bank(units, load_A, 8.0, every_s=30.0)


def answer(load_A: float) -> Answer:
    """Say what becomes of A when B cuts out, on a load of so much. [A]"""
    result = solve(text_of(load_A))
    out_B, out_A = (result.batteries[place].first_cut_out for place in (1, 0))
    assert out_B is not None
    assert out_A is not None
    before_A, after_A = out_B.currents_A[0], out_B.currents_after_A[0]
    later_s = out_A.time_s - out_B.time_s
    follows = out_A.watches == "discharge current" and later_s <= SECONDS
    left_Ah = sum(result.batteries[0].final_state_of_charge) / 4.0 * 100.0
    return Answer(
        truth=FOLLOWS if follows else CARRIES,
        headline=f"B cuts out after {hours(out_B.time_s)}. A jumps from {amps(before_A)} to "
        f"{amps(after_A)}. {_fate(follows, later_s, left_Ah)}",
        why=_why(follows, after_A),
        picture=_picture(result, load_A, out_B, later_s),
        branches=(
            Branch("A", "100 Ah", "0 A" if follows else amps(after_A), out=follows),
            Branch("B", "100 Ah", "0 A", weak=True, out=True),
        ),
        doubt="I fit a larger fuse on A. Does that help?",
        reply=f"No. A fuse guards its cable, not the supply; a larger one wants a thicker cable. "
        f"And A would still carry {amps(after_A)}, {_against(after_A)} its label of "
        f"{LABEL_A:g} A. Size each battery for the whole load, or make the load smaller.",
        facts={
            "before_A": before_A,
            "after_A": after_A,
            "later_s": later_s,
            "left_Ah": left_Ah,
            "follows": float(follows),
        },
        load="0 A" if follows else f"{load_A:g} A",  # as it is in the end
    )


def _against(value_A: float) -> str:
    if math.isclose(value_A, LABEL_A, rel_tol=1e-3):
        return "just"
    part = 100.0 * abs(value_A - LABEL_A) / LABEL_A
    return f"{part:.0f} % {'above' if value_A > LABEL_A else 'below'}"


def _fate(follows: bool, later_s: float, left_Ah: float) -> str:
    if follows:
        return f"{span(later_s)} later A is out too, with {number(left_Ah)} Ah still in it."
    return f"It carries the whole load for another {span(later_s)}, until it is empty."


def _why(follows: bool, after_A: float) -> str:
    end = (
        "so its electronics act as well: one cut-out brings the next."
        if follows
        else ("so its electronics let it go on alone.")
    )
    return (
        "The load wants the same as before, and only A is left on the rails. "
        f"{amps(after_A)} are {_beside_limit(after_A)} A's limit of {LIMIT_A:g} A, {end}"
    )


def _beside_limit(value_A: float) -> str:
    """Say on which side of A's limit a current is; a load of just so much is on neither."""
    if math.isclose(value_A, LIMIT_A, rel_tol=1e-3):
        return "just"
    return "above" if value_A > LIMIT_A else "below"


def _course(since_s: Floats, amperes: Floats, around_s: float) -> Floats:
    """Return a current around the cut-out; nothing flows when both are out. [A]"""
    rows = np.abs(since_s) <= around_s
    begin = float(np.interp(-around_s, since_s, amperes))
    return np.array([begin, *amperes[rows], 0.0, 0.0])


def _picture(result: Result, load_A: float, out: Event, later_s: float) -> Lines:
    unit, unit_s = ("s", 1.0) if later_s <= SECONDS else ("min", 60.0)
    around_s = 2.0 * later_s
    since_s = result.trace[:, 0] - out.time_s
    within_s = since_s[np.abs(since_s) <= around_s]
    times_s = np.array([-around_s, *within_s, later_s, around_s])
    return Lines(
        title="current",
        unit="A",
        time_title=f"time since B cut out [{unit}]",
        times=drawn(times_s / unit_s),
        names=("A", "B"),
        courses=tuple(
            drawn(_course(since_s, current_A(result, place), around_s)) for place in (0, 1)
        ),
        level=("limit of A", LIMIT_A),
        told=f"After {hours(out.time_s)} B falls to 0 and A jumps to {load_A:g} A; "
        f"A is at 0 {span(later_s)} later. The limit of A is {LIMIT_A:g} A.",
    )


STEP = Step(
    key="carries-all",
    title="One cuts out",
    text="Two batteries of 100 Ah; one cell of B is 15 % low. "
    f"Each may give {LABEL_A:g} A for long by its label, and its electronics cut out "
    f"above {LIMIT_A:g} A after 1 s. "
    f"The load takes {START_A:g} A. B's low cell runs empty, and B cuts out.",
    question=Choice("What happens to A then? A ...", (GOES_ON, CARRIES, FOLLOWS)),
    slider=Slider("Load [A]", 40.0, 180.0, 10.0, START_A, "%d A"),
    before=(Branch("A", "100 Ah"), Branch("B", "100 Ah", weak=True)),
    load=f"{START_A:g} A",
    answer=answer,
)
