"""Step: why one came back with a surge."""

from functools import cache

import numpy as np

from bankSim.screens.lesson.banks import Unit, bank, solve
from bankSim.screens.lesson.circuit import Branch
from bankSim.screens.lesson.pictures import Lines
from bankSim.screens.lesson.reading import amps, current_A, drawn, hours, more_or_less, path_ohm
from bankSim.screens.lesson.step import Amount, Answer, Slider, Step
from bankSim.sim.joining_result import Return
from bankSim.sim.numbers import number
from bankSim.sim.result import Result

LOAD_A, CHARGE_A, CHARGED_H, DROP_V = 40.0, 60.0, 1.0, 0.7
LOOKED_AT_H = 1.0
LATE_V, SOON_V = 3.30, 3.50
SHORT_S = 300.0
CHARGER = (
    f'[[charger]]\nname = "charger"\nlimit_A = {CHARGE_A}\nhold_V = 14.4\n'
    f"active_h = [[0.0, {CHARGED_H}]]"
)
EMPTY_RULE = (
    '{ watches = "lowest cell voltage", trips_below = 2.5, after_s = 5.0, blocks = "discharge" }'
)


def text_of(release_V: float) -> str:
    """Return the bank of the step: B lets charge in again below this, of its highest cell. [V]"""
    full = (
        '{ watches = "highest cell voltage", trips_above = 3.6, after_s = 1.0, blocks = "charge", '
        f"releases_below = {release_V}, release_after_s = 5.0 }}"
    )
    extra = "continuous_charge_A = 100.0"
    first = Unit("A", charge=0.6, rules=(EMPTY_RULE,), extra=extra)
    high = Unit(
        "B",
        charge=0.97,
        high=1.0,
        rules=(full, EMPTY_RULE),
        extra=f"{extra}\ndiode_drop_V = {DROP_V}",
    )
    return bank([first, high], LOAD_A, 14.0, every_s=30.0, load_from_h=CHARGED_H, more=CHARGER)


def joined_text(charge: float) -> str:
    """Return a full battery and one at this state of charge, to be bolted together at rest. [1]"""
    return bank([Unit("full"), Unit("other", charge=charge)], 1.0, 0.01)


def answer(release_V: float) -> Answer:
    """Say what B gives as it comes back, releasing below this voltage. [V]"""
    result = solve(text_of(release_V))
    ends_s = 3600.0 * CHARGED_H
    back = next(one for one in result.returns if one.battery == "B" and one.time_s > ends_s)
    away_s = back.time_s - ends_s
    before_A, after_A = back.currents_A[1], back.currents_after_A[1]
    other_A = back.currents_after_A[0]
    return Answer(
        truth=after_A,
        headline=f"B's electronics block charge for another {hours(away_s)}. Then B jumps from "
        f"{amps(before_A)} to {amps(after_A)}, {_beside_load(after_A)}. {_other(other_A)}",
        why=_why(result, back),
        picture=_picture(result, back),
        branches=(
            Branch("A", "", amps(other_A).replace("-", "\N{MINUS SIGN}")),
            Branch("B", "comes back", amps(after_A)),
        ),
        doubt="And if I bolt a full one to one at 30 %, is that the same?",
        reply=_joined_reply(),
        facts={
            "before_A": before_A,
            "after_A": after_A,
            "other_A": other_A,
            "away_s": away_s,
            "time_s": back.time_s,
        },
    )


def _beside_load(after_A: float) -> str:
    word = more_or_less(after_A, LOAD_A)
    return f"{word} {'as' if word == 'just as much' else 'than'} the load takes"


def _other(other_A: float) -> str:
    if other_A < 0.0:
        return f"The rest charges A with {amps(-other_A)}."
    return f"A gives the other {amps(other_A)}."


def _why(result: Result, back: Return) -> str:
    row = int(np.searchsorted(result.trace[:, 0], back.time_s, side="left"))
    to_A = back.currents_after_A
    both_mohm = 1e3 * sum(path_ohm(result, place, row, to_A[place]) for place in (0, 1))
    return (
        "While charge is blocked, B can only give through the body diode of its switch, and that "
        f"costs about {number(DROP_V, 1)} V. So A ran down first, until B stood that much higher. "
        "When the rule lets go, these volts are left with nothing but about "
        f"{number(both_mohm, 2)} mohm in their way."
    )


@cache
def _joined_reply() -> str:
    joined = solve(joined_text(0.3)).joining
    assert joined is not None
    pair = joined.pairs[0]
    return (
        f"The same sum. At rest they differ by {pair.difference_V:.2f} V: "
        f"{amps(pair.first_A)} in the first instant, with no load at all. So charge each one "
        "alone first, let them rest, and join them only while their voltages agree."
    )


def _picture(result: Result, back: Return) -> Lines:
    time_h = result.trace[:, 0] / 3600.0
    rows = time_h <= back.time_s / 3600.0 + LOOKED_AT_H
    return Lines(
        title="current",
        unit="A",
        time_title="time since charging began [h]",
        times=drawn(time_h[rows]),
        names=("A", "B"),
        courses=(drawn(current_A(result, 0)[rows]), drawn(current_A(result, 1)[rows])),
        level=("load", LOAD_A),
        told=f"Below 0 they are charged, for {CHARGED_H:g} h. Then A feeds the load first, "
        f"B only through its diode, until it comes back after {hours(back.time_s)} and jumps to "
        f"{amps(back.currents_after_A[1])}.{_hunting(result)}",
    )


def _hunting(result: Result) -> str:
    """Say so where B lets charge in and blocks it again while the charger is still there."""
    before = [one for one in result.returns if one.time_s <= 3600.0 * CHARGED_H]
    if not before:
        return ""
    often = "once" if len(before) == 1 else f"{len(before)} times"
    return f" Before, while the charger is on, B lets charge in {often}, and blocks it again."


STEP = Step(
    key="surge",
    title="Back with a surge",
    text="Two batteries on a charger. One cell of B is full before the others, so B's electronics "
    "block charge. That only ends when this cell falls below 3.40 V. After the charger "
    f"stops, a load takes {LOAD_A:g} A. For a long time nearly all of it comes from A. "
    "Then B comes back.",
    question=Amount(
        "How many amperes does B give at the instant when it comes back?",
        "A",
        5000.0,
        (10.0, 25.0, 40.0, 80.0),
        5.0,
    ),
    slider=Slider(
        "B lets charge in again below [V per cell]", LATE_V, SOON_V, 0.02, 3.40, "%.2f V"
    ),
    before=(Branch("A", "feeds alone"), Branch("B", "charge blocked")),
    load=f"{LOAD_A:g} A",
    answer=answer,
)
