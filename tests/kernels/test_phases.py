"""The phases of rules at one instant, and who may still discharge: states made by hand.

What is expected follows from docs/theory.md, eq. 14.2, and DEVELOPERS.md, "Conventions".
"""

import math
from dataclasses import replace

import pytest
from bridge import bridge
from simple_banks import affine, bank_of, steady

from bankSim.kernels import arrays as k
from bankSim.kernels import settle
from bankSim.kernels.rules import TOUCH, TRACE
from bankSim.model.charger import Charger, Stage
from bankSim.model.load import CutOff
from bankSim.model.rule import Blocks, Release, Rule, Watch
from bankSim.sim.pack import pack_bank, start_run

update_phases = bridge(settle.update_phases)
over_at = bridge(settle.over_at)
is_empty = bridge(settle.is_empty)
is_dark = bridge(settle.is_dark)
switch_chargers = bridge(settle.switch_chargers)

LOW = Rule(Watch.BATTERY_VOLTAGE, True, 13.0, 10.0, Blocks.DISCHARGE, Release(13.2, 20.0))
STAYS = Rule(Watch.BATTERY_VOLTAGE, True, 13.0, 10.0)


def packed(*batteries, load=steady(5.0), **more):
    bank = bank_of(*batteries, load=load, **more)
    kernel_bank = pack_bank(bank, relative=1e-4, absolute_A=1e-6, every_s=60.0, most_edges=0)
    run = start_run(bank, kernel_bank, rows=0)
    run.clock[0]["segment"] = 0
    return kernel_bank, run


def looks(bank, run, time_s, *volts):
    """Show all rules the batteries at rest at these voltages; return how many are due."""
    run.clock[0]["time"] = time_s
    run.now[: len(volts), k.EMF] = volts
    return update_phases(bank, run)


def test_the_life_of_a_rule():
    bank, run = packed(affine("a", rules=[LOW]))
    alarm = run.alarm[0]
    for time_s, volts, due, phase, since_s in (
        (0.0, 13.5, 0, k.ARMED, None),
        (5.0, 13.0, 0, k.ARMED, None),  # met, not passed
        (6.0, 12.9, 0, k.PENDING, 6.0),
        (9.0, 12.8, 0, k.PENDING, 6.0),
        (10.0, 13.1, 0, k.ARMED, None),  # breaks off the delay
        (20.0, 12.9, 0, k.PENDING, 20.0),
        (21.0, 13.0 + TOUCH, 0, k.PENDING, 20.0),
        (29.9, 12.9, 0, k.PENDING, 20.0),
        (30.0, 12.9, 1, k.PENDING, 20.0),
    ):
        assert (looks(bank, run, time_s, volts), alarm["phase"]) == (due, phase)
        assert since_s is None or alarm["since"] == since_s
    alarm["phase"] = k.TRIPPED  # as what acts does
    for time_s, volts, due, phase, since_s in (
        (30.0, 12.9, 0, k.TRIPPED, None),
        (40.0, 13.1, 0, k.TRIPPED, None),
        (50.0, 13.2, 0, k.RELEASING, 50.0),  # to let go it need only be met
        (60.0, 13.1, 0, k.TRIPPED, None),
        (70.0, 13.2 - 0.5 * TOUCH, 0, k.RELEASING, 70.0),  # what counts as met
        (71.0, 13.2 - 0.5 * TOUCH, 0, k.RELEASING, 70.0),
        (89.0, 13.3, 0, k.RELEASING, 70.0),
        (90.0, 13.3, 1, k.RELEASING, 70.0),
    ):
        assert (looks(bank, run, time_s, volts), alarm["phase"]) == (due, phase)
        assert since_s is None or alarm["since"] == since_s


def test_rules_that_touch_go_with_one_that_has_passed():
    # "b" is above its limit by less than what counts as equal, "c" by far more
    for first_V, phase in ((13.5, k.ARMED), (12.99, k.PENDING)):
        bank, run = packed(*(affine(name, rules=[LOW]) for name in "abc"))
        assert looks(bank, run, 100.0, first_V, 13.0 + 0.5 * TOUCH, 13.0 + 3.0 * TOUCH) == 0
        assert list(run.alarm["phase"]) == [phase, phase, k.ARMED]
    assert looks(bank, run, 110.0, 12.99, 12.99, 13.5) == 2


def test_what_is_within_a_trace_of_its_limit_waits_until_it_is_beyond():
    bank, run = packed(affine("a", rules=[LOW]), affine("b", rules=[LOW]))
    run.alarm["faint"] = 1, 0
    looks(bank, run, 100.0, 13.0 - 0.5 * TRACE, 13.0 + 0.5 * TOUCH)
    assert list(run.alarm["phase"]) == [k.ARMED, k.ARMED]  # nor does it take others along
    looks(bank, run, 101.0, 13.0 - 2.0 * TRACE, 13.5)
    assert list(run.alarm["phase"]) == [k.PENDING, k.ARMED]
    assert run.alarm[0]["since"] == 101.0


def test_a_rule_that_stays_tripped_is_not_looked_at():
    bank, run = packed(affine("a", rules=[STAYS]), affine("b", rules=[STAYS]))
    run.alarm["phase"], run.alarm["since"] = (k.TRIPPED, k.ARMED), -1e9
    run.gap[:, 0] = -7.0
    assert looks(bank, run, 100.0, 14.0, 12.0) == 0
    assert list(run.alarm["phase"]) == [k.TRIPPED, k.PENDING]
    assert list(run.alarm["asleep"]) == [1, 0]
    assert run.gap[0, 0] == -7.0
    assert run.gap[1, 0] == pytest.approx(1.0)  # how far from breaking off


def test_delays_that_end_within_a_microsecond_end_together():
    bank, run = packed(affine("a", rules=[LOW]), affine("b", rules=[LOW]))
    run.alarm["phase"], run.alarm["since"] = k.PENDING, (20.0, 20.0 + 0.9e-6)
    assert looks(bank, run, 30.0, 12.9, 12.9) == 2
    run.alarm["since"] = 20.0, 20.0 + 1.1e-6
    assert looks(bank, run, 30.0, 12.9, 12.9) == 1


def test_when_a_delay_is_over():
    bank, run = packed(affine("a"), affine("b", rules=[STAYS, LOW]))
    run.alarm["since"] = 7.0, 8.0
    for phase, end_s in (
        (k.ARMED, math.inf), (k.PENDING, 18.0), (k.TRIPPED, math.inf), (k.RELEASING, 28.0),
    ):  # fmt: skip
        run.alarm["phase"] = phase
        run.alarm["asleep"] = 0
        assert over_at(bank.rule, run.alarm, 1) == end_s
        run.alarm["asleep"] = 1
        assert over_at(bank.rule, run.alarm, 1) == math.inf


ALL, ONLY_CHARGE, NONE = k.BOTH_BLOCKED, k.CHARGE_BLOCKED, 0
OUT = k.DISCHARGE_BLOCKED


@pytest.mark.parametrize(("modes", "nobody"), [
    ((OUT, ALL), True), ((ALL, ALL), True), ((OUT, NONE), False), ((NONE, OUT), False),
    ((OUT, ONLY_CHARGE), False), ((ONLY_CHARGE, ONLY_CHARGE), False),
])  # fmt: skip
def test_a_bank_is_empty_when_nobody_may_discharge(modes, nobody):
    bank, run = packed(affine("a"), affine("b"))
    run.tally["mode"], run.level[:] = modes, (0.0, 5.0, 0.0)
    run.now[:2, k.EMF] = 12.6, 13.0
    assert is_empty(bank, run) == nobody


@pytest.mark.parametrize(("watts", "amperes", "empty"), [
    (130.0, -10.2, False),  # by hand: 130 W / 13 V - 10.2 A charges the higher one
    (130.0, -9.9, True), (0.0, 0.0, True), (0.0, -1.0, False), (0.0, 1.0, True),
])  # fmt: skip
def test_loads_that_charge_keep_a_bank_from_being_empty(watts, amperes, empty):
    for volts in ((12.6, 13.0), (13.0, 12.6)):
        bank, run = packed(affine("a"), affine("b"))
        run.tally["mode"], run.level[:] = k.DISCHARGE_BLOCKED, (watts, amperes, 0.0)
        run.now[:2, k.EMF] = volts
        assert is_empty(bank, run) == empty


def test_a_bank_with_a_charger_is_not_empty_but_dark():
    charger = Charger("mains", (Stage(14.0),), limit_A=5.0)
    for chargers in ((), (charger,)):
        bank, run = packed(affine("a"), affine("b"), chargers=chargers)
        run.now[:2, k.EMF] = 12.6, 13.0
        run.tally["mode"], run.level[:] = k.DISCHARGE_BLOCKED, (0.0, 5.0, 0.0)
        with_one = len(chargers) == 1
        assert is_empty(bank, run) != with_one
        assert is_dark(bank, run, run.now) == with_one
        run.tally[1]["mode"] = k.CHARGE_BLOCKED  # it may discharge
        assert not is_dark(bank, run, run.now)
        run.tally["mode"] = k.BOTH_BLOCKED
        assert is_dark(bank, run, run.now) == with_one
        run.now[2, k.AT_LOADS] = 13.0  # the charger feeds them
        assert not is_dark(bank, run, run.now)
        run.now[2, k.AT_LOADS], run.level[:] = 0.0, 0.0  # nothing is asked
        assert not is_dark(bank, run, run.now)


def test_chargers_are_switched_by_their_columns():
    # c: off, on since sunrise 50 s, still on, off, on again; d: on all the time; they stand behind
    # the loads, of which one cuts itself off
    def one(name):
        return Charger(name, (Stage(14.0), Stage(13.5)), limit_A=5.0)

    load = replace(steady(5.0), cut_off=CutOff(11.0, 5.0))
    bank, run = packed(affine("a"), load=load, chargers=(one("c"), one("d")))
    row, nan = bank.demand[0], math.nan
    for time_s, begun, state in (
        (10.0, nan, (0, -1, None, None)), (20.0, 50.0, (1, 0, 20.0, 50.0)),
        (30.0, 60.0, (1, 1, 20.0, 50.0)), (40.0, nan, (0, -1, None, None)),
        (45.0, nan, (0, -1, None, None)), (60.0, 70.0, (1, 0, 60.0, 70.0)),
    ):  # fmt: skip
        run.clock[0]["time"] = time_s
        row[-2:] = begun, 2.0
        if time_s == 30.0:
            run.source["stage"] = 1, 3  # what an earlier stage has led to stays
        switch_chargers(bank, run)
        source = run.source[0]
        assert (source["on"], source["stage"]) == state[:2]
        if state[0] == 1:
            assert (source["since"], source["begun"]) == state[2:]
        other = run.source[1]
        stage = bank.charger[1]["first"] if time_s < 30.0 else 3
        assert (other["on"], other["stage"], other["since"]) == (1, stage, 10.0)
        assert other["begun"] == 2.0
