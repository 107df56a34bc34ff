"""Lines of a comparison on made answers, where each number follows from a few written ones."""

from types import SimpleNamespace

import numpy as np
import pytest

from bankSim.crosscheck import compare_lines as made
from bankSim.crosscheck.compare import STEPS_MISSED, charge_of_a_step
from bankSim.crosscheck.compare_lines import Line
from bankSim.crosscheck.compare_scope import NEAR_END, comparable_part, near_ties
from bankSim.crosscheck.spice import LET_GO, SHUT, SpiceResult
from bankSim.model.rule import Blocks
from bankSim.sim.result import COLLAPSE, EMPTY, RELEASE, STAYS_OUT, TRIP

STEP_S = 1.0


def event(time_s, battery="a", what=TRIP, blocks="both", currents=(0.0, 0.0)):
    return SimpleNamespace(
        time_s=time_s, battery=battery, what=what, blocks=blocks,
        currents_A=currents, currents_after_A=currents,
    )  # fmt: skip


def predicted(events=(), end_s=3600.0, reason="time is up", given=((10.0, 0.0), (5.0, 0.0))):
    """A run of batteries "a" and "b": given and taken Ah, and first trips of discharge."""
    batteries = []
    for name, (delivered, charged) in zip("ab", given, strict=True):
        cuts = [e for e in events if e.battery == name and e.what == TRIP and e.blocks != "charge"]
        batteries.append(
            SimpleNamespace(
                name=name, delivered_Ah=delivered, charged_Ah=charged,
                first_cut_out=cuts[0] if cuts else None,
            )
        )  # fmt: skip
    bank = SimpleNamespace(
        delivered_Ah=sum(one for one, _ in given), charged_Ah=sum(one for _, one in given)
    )
    return SimpleNamespace(
        batteries=batteries, bank=bank, events=tuple(events), end_time_s=end_s, end_reason=reason
    )


def solved(times=None, amps=(10.0, 5.0), taken=(0.0, 0.0), hours=1.0, step_s=STEP_S):
    """Constant currents over some hours, and switchings as given by battery, way and step."""
    time_s = np.linspace(0.0, 3600.0 * hours, 3601)
    amps = np.array(amps)
    shut = {
        (k, way, step): np.empty(0)
        for k in range(2) for way in (Blocks.DISCHARGE, Blocks.CHARGE) for step in (SHUT, LET_GO)
    }  # fmt: skip
    shut.update({key: np.array(value, dtype=float) for key, value in (times or {}).items()})
    return SpiceResult(
        time_s, np.full(time_s.size, 13.0), np.tile(amps, (time_s.size, 1)),
        np.outer(time_s, amps) / 3600.0, np.outer(time_s, taken) / 3600.0, shut, step_s, "",
    )  # fmt: skip


def by_name(lines):
    return {line.quantity: line for line in lines}


def test_equal_charge_agrees_and_what_nobody_took_has_no_line():
    lines = by_name(made.charge_lines(predicted(), solved()))
    assert list(lines) == ["a delivered", "b delivered", "bank delivered"]
    assert all(line.agrees and abs(line.difference) < 1e-9 for line in lines.values())
    assert (lines["a delivered"].predicted, lines["a delivered"].unit) == (10.0, "Ah")


@pytest.mark.parametrize(("more", "agrees"), [(0.0009, True), (0.0011, False), (-0.0011, False)])
def test_a_tenth_of_a_percent_of_what_went_through_is_the_limit(more, agrees):
    # 10 Ah went through "a": 0.1 % are 10 mAh
    result = predicted(given=((10.0 * (1.0 + more), 0.0), (5.0, 0.0)))
    line = by_name(made.charge_lines(result, solved()))["a delivered"]
    assert line.difference == pytest.approx(100.0 * more / (1.0 + more))
    assert line.agrees is agrees


def test_a_battery_that_does_next_to_nothing_is_judged_by_the_bank():
    # 1 mAh of 15 Ah: its own 0.1 % would be a microampere-hour; 0.1 % of 0.1 % of 15 Ah is 15
    # times more, and 20 microampere-hours are beyond even that
    result = predicted(given=((15.0, 0.0), (0.001, 0.0)))
    for given, agrees in ((0.00101, True), (0.00102, False)):
        line = by_name(made.charge_lines(result, solved(amps=(15.0, given))))["b delivered"]
        assert line.agrees is agrees


def test_charge_taken_has_a_line_from_a_thousandth_of_all():
    for taken, told in ((0.014, False), (0.017, True)):
        lines = by_name(made.charge_lines(predicted(), solved(taken=(0.0, taken))))
        assert ("b charged" in lines) is told
    assert not lines["b charged"].agrees  # the prediction took none


def test_a_bank_that_takes_delivers_nothing():
    result = predicted(given=((0.0, 10.0), (0.0, 5.0)))
    lines = by_name(made.charge_lines(result, solved(amps=(-10.0, -5.0), taken=(10.0, 5.0))))
    assert (lines["bank delivered"].predicted, lines["bank delivered"].spice) == (0.0, 0.0)


def test_where_the_run_ends_empty_spice_is_read_at_its_own_last_cut_out():
    cut = {(0, Blocks.DISCHARGE, SHUT): [100.0, 1800.0], (1, Blocks.DISCHARGE, SHUT): [900.0]}
    ended = predicted(end_s=1790.0, reason=EMPTY, given=((5.0, 0.0), (2.5, 0.0)))
    line = by_name(made.charge_lines(ended, solved(cut)))["a delivered"]
    assert line.spice == pytest.approx(10.0 * (1800.0 + 2.0 * STEP_S) / 3600.0)
    none = by_name(made.charge_lines(ended, solved()))["a delivered"]
    assert none.spice == pytest.approx(10.0)  # it never cut out there: all of it
    timed = by_name(made.charge_lines(predicted(end_s=1790.0), solved(cut)))["a delivered"]
    assert timed.spice == pytest.approx(10.0 * 1790.0 / 3600.0)


@pytest.mark.parametrize(
    ("ours", "theirs", "agrees"),
    [
        (100.0, 103.0, True),  # three steps
        (100.0, 103.1, False),
        (9000.0, 9009.0, True),  # a thousandth
        (9000.0, 8990.9, False),
        (100.0, None, False),
        (None, 100.0, False),
    ],
)
def test_a_cut_out_may_be_three_steps_or_a_thousandth_off(ours, theirs, agrees):
    result = predicted([event(ours, blocks="discharge")] if ours else [], end_s=10_000.0)
    found = solved({(0, Blocks.DISCHARGE, SHUT): [theirs]} if theirs else {})
    line = by_name(made.cut_out_lines(result, found))["a cuts out"]
    assert (line.predicted, line.spice, line.agrees) == (ours, theirs, agrees)
    if ours and theirs:
        assert line.difference == pytest.approx(ours - theirs)


def test_no_cut_out_needs_no_line():
    assert made.cut_out_lines(predicted(), solved()) == []


@pytest.mark.parametrize(
    ("ours", "theirs", "agrees"),
    [
        ((100.0, 200.0), (100.0, 200.0), True),
        ((100.0, 200.0), (200.0, 100.0), False),
        ((100.0, 102.9), (102.9, 100.0), True),  # within three steps nobody is first
        ((100.0, 103.1), (103.1, 100.0), False),
        ((100.0, 100.0), (50.0, 150.0), True),
    ],
)
def test_the_order_is_the_other_way_round_only_beyond_a_tie(ours, theirs, agrees):
    events = [event(one, name, blocks="discharge") for name, one in zip("ab", ours, strict=True)]
    found = solved({(k, Blocks.DISCHARGE, SHUT): [one] for k, one in enumerate(theirs)})
    line = by_name(made.cut_out_lines(predicted(events), found))["cut-out order"]
    assert line.agrees is agrees
    assert line.predicted == "a, b"
    assert line.spice == ("a, b" if theirs[0] <= theirs[1] else "b, a")


def test_a_direction_is_let_go_by_its_last_rule_only():
    events = [
        event(100.0, blocks="charge"), event(200.0, blocks="both"), event(250.0, "b"),
        event(300.0, what=RELEASE, blocks="charge"), event(400.0, what=RELEASE, blocks="both"),
        event(500.0, blocks="charge"), event(600.0, what="load switched", blocks=None),
    ]  # fmt: skip
    changes = [
        made._changes_s(predicted(events), "a", way, step).tolist()
        for way in (Blocks.CHARGE, Blocks.DISCHARGE) for step in (SHUT, LET_GO)
    ]  # fmt: skip
    assert changes == [[100.0, 500.0], [400.0], [200.0], [400.0]]


def test_a_rule_that_ends_the_run_may_be_a_little_later_in_spice():
    # a rule that blocks both ways ends the run; SPICE's own instant lies behind that end and
    # was taken for "never": the line about charge differed where that about discharge agreed
    result = predicted([event(1800.0)], end_s=1800.0, reason=EMPTY)
    for late_s, agrees in ((0.5, True), (3.0, True), (3.5, False)):
        both = {(0, way, SHUT): [1800.0 + late_s] for way in (Blocks.DISCHARGE, Blocks.CHARGE)}
        found = solved(both)
        assert by_name(made.return_lines(result, found))["a first blocks charge"].agrees is agrees
        assert by_name(made.cut_out_lines(result, found))["a cuts out"].agrees is agrees
    assert made.return_lines(predicted(end_s=1800.0), found) == []  # what comes later is no matter


def test_returns_may_be_five_thousandths_off():
    events = [event(1000.0, blocks="discharge"), event(3000.0, what=RELEASE, blocks="discharge")]
    for theirs, agrees in ((3015.0, True), (3015.1, False), (2984.9, False)):
        found = solved({(0, Blocks.DISCHARGE, LET_GO): [theirs]})
        assert by_name(made.return_lines(predicted(events), found))[
            "a first comes back"
        ].agrees is (agrees)


def test_the_root_of_the_mean_square_is_held_against_2_mv():
    for volts, agrees in (((2.0, -2.0, 2.0), True), ((3.0, 0.0, 2.0), False)):
        line = made._voltage_line("bus", np.array(volts))
        assert line.agrees is agrees
    assert line.difference == pytest.approx((13.0 / 3.0) ** 0.5)  # mV


def test_the_span_is_parted_at_the_first_cut_out():
    times = np.array([0.0, 10.0, 20.0, 30.0])
    (name, before), (other, after) = made._spans(times, [25.0, 20.0])
    assert (name, other) == ("bus voltage to the first cut-out, rms", "bus voltage after it, rms")
    assert before.tolist() == [True, True, False, False]
    assert after.tolist() == [False, False, True, True]
    assert [one for one, _ in made._spans(times, [])] == ["bus voltage, rms"]


def test_distances_to_the_nearest_mark():
    found = made._distance(np.array([0.0, 4.0, 6.0, 10.0, 30.0]), np.array([1.0, 5.0, 11.0]))
    assert found.tolist() == [1.0, 1.0, 1.0, 1.0, 19.0]
    assert made._distance(np.array([3.0]), np.array([5.0])).tolist() == [2.0]


def test_a_difference_of_the_size_of_a_step_is_said_to_be_one():
    # 36 A over a step of 1 s are 10 mAh
    result = predicted([event(10.0, currents=(36.0, -1.0))])
    for miss, told in ((0.9, True), (1.1, False)):
        missed = miss * STEPS_MISSED * 0.01
        line = Line("a delivered", "Ah", 1.0, 1.0 + missed, -1.0, "%", 0.1, agrees=False)
        notes = charge_of_a_step(result, [line], STEP_S)
        assert bool(notes) is told
        if told:
            assert "at up to 36.0 A a step is 0.0100 Ah" in notes[0]
    fine = Line("a delivered", "Ah", 1.0, 1.0, 0.0, "%", 0.1, agrees=True)
    assert charge_of_a_step(result, [fine], STEP_S) == []
    assert charge_of_a_step(predicted(), [line], STEP_S) == []


def test_two_batteries_within_a_step_are_told():
    def told(*events):
        return near_ties(predicted(events), STEP_S)

    (note,) = told(event(3600.0), event(3600.9, "b"))
    assert note.startswith("At 1.000 h a and b switch within one of ngspice's steps")
    assert told(event(100.0), event(101.0, "b")) == []
    assert told(event(100.0), event(100.1, "a")) == []
    assert told(event(100.0), event(100.1, None, "load switched"), event(100.2, "b"))


def test_how_far_the_netlist_can_follow():
    assert comparable_part(predicted([event(100.0)])) == (3600.0, None)
    until_s, why = comparable_part(predicted([event(1000.0, what=STAYS_OUT)]))
    assert until_s == 1000.0
    assert why.startswith("a battery stays out")
    first, _ = comparable_part(
        predicted([event(900.0, None, COLLAPSE), event(1000.0, what=STAYS_OUT)])
    )
    assert first == 900.0
    at_end = NEAR_END * 3600.0
    until_s, why = comparable_part(predicted([event(at_end, None, COLLAPSE)]))
    assert until_s == 3600.0  # only its very end is beyond: all of it is compared
    assert why.startswith("the loads cannot be fed")


def test_finer_steps_make_all_limits_finer():
    # steps of 0.5 s: 1.5 s for a cut-out and for a tie, 1 s behind the last cut-out
    events = [event(100.0, blocks="discharge"), event(101.4, "b", blocks="discharge")]
    result = predicted(events, end_s=101.4, reason=EMPTY, given=((0.28, 0.0), (0.14, 0.0)))
    for theirs, agrees in ((101.5, True), (101.6, False)):
        cut = {(0, Blocks.DISCHARGE, SHUT): [theirs], (1, Blocks.DISCHARGE, SHUT): [101.4]}
        lines = by_name(made.cut_out_lines(result, solved(cut, step_s=0.5)))
        assert lines["a cuts out"].agrees is agrees
        assert lines["cut-out order"].agrees  # 1.4 s apart: nobody is first
    later = [events[0], event(101.6, "b", blocks="discharge")]
    cut = {(0, Blocks.DISCHARGE, SHUT): [101.4], (1, Blocks.DISCHARGE, SHUT): [101.0]}
    lines = by_name(made.cut_out_lines(predicted(later), solved(cut, step_s=0.5)))
    assert not lines["cut-out order"].agrees
    charge = by_name(made.charge_lines(result, solved(cut, step_s=0.5)))["a delivered"]
    assert charge.spice == pytest.approx(10.0 * (101.4 + 1.0) / 3600.0)


def test_who_cuts_out_one_way_only_is_no_same_order():
    result = predicted([event(100.0, blocks="discharge")])
    both = by_name(made.cut_out_lines(result, solved()))["cut-out order"]
    assert (both.predicted, both.spice, both.agrees) == ("a", "", False)
    there = solved({(1, Blocks.DISCHARGE, SHUT): [100.0]})
    only = by_name(made.cut_out_lines(predicted(), there))["cut-out order"]
    assert (only.predicted, only.spice, only.agrees) == ("", "b", False)
