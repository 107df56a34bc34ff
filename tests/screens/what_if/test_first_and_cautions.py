"""Who cuts out first before and after, what stays locked in, which dangers came and went."""

from dataclasses import replace

import pytest
from made_results import Course, event, made
from simple_banks import affine, bank_of, steady

from bankSim.model.rule import Blocks, Rule, Watch
from bankSim.screens.what_if.differences import (
    caution_lines,
    digits,
    fed_to_the_end,
    first_line,
    hours_line,
    stranded_line,
)
from bankSim.sim.result import ALL_OVER, EMPTY, TRIP, Caution

H = 3600.0
RULE = Rule(Watch.LOWEST_CELL, True, 2.5, 5.0, Blocks.DISCHARGE)
BANK = bank_of(*(affine(name, 0.01, rules=[RULE]) for name in "ab"), load=steady(10.0))


def run(outs=None, *, end_h=10.0, fed_h=None, reason=EMPTY, stranded=(0.0, 0.0), cautions=()):
    """A run in which batteries cut out at some hours; the loads are fed so long."""
    trips = {
        name: event(
            at_h * H, TRIP, name, watches="lowest cell voltage", cell=1, value=2.49,
            threshold=2.5, blocks="discharge", unit="V", cell_voltages_V=(2.49, 3.0),
        )
        for name, at_h in (outs or {}).items()
    }  # fmt: skip
    changes = [
        {"first_cut_out": trips.get(name), "stranded_Ah": locked}
        for name, locked in zip("ab", stranded, strict=True)
    ]
    result = made(
        BANK, [0.0, end_h * H], Course(), Course(), outcomes=changes,
        events=tuple(sorted(trips.values(), key=lambda one: one.time_s)), cautions=cautions,
    )  # fmt: skip
    runtime_s = (end_h if fed_h is None else fed_h) * H
    totals = replace(result.bank, runtime_s=runtime_s)
    return replace(result, bank=totals, end_reason=reason)


WHY = "its cell 1 stayed below 2.50 V for 5 s"


@pytest.mark.parametrize(
    ("before", "now", "told"),
    [
        ({}, {}, "No battery cuts out, as before."),
        ({"a": 4.0}, {}, 'No battery cuts out any more; before, "a" did after 4.00 h.'),
        ({}, {"b": 5.0}, f'Now "b" cuts out first, after 5.00 h: {WHY}. Before, none did.'),
        (
            {"a": 4.0}, {"b": 5.0},
            f'Now "b" cuts out first, after 5.00 h: {WHY}. Before, it was "a", after 4.00 h.',
        ),
        (
            {"a": 4.0}, {"a": 5.0, "b": 6.0},
            f'"a" still cuts out first, after 5.00 h (after 4.00 h before): {WHY}.',
        ),
        (
            {"a": 4.0}, {"a": 5.0, "b": 5.0},
            f'Now "a" and "b" cut out first, after 5.00 h: of "a" {WHY}. Before, it was "a", '
            "after 4.00 h.",
        ),
        (
            {"a": 4.0, "b": 4.0}, {"b": 5.0},
            f'Now "b" cuts out first, after 5.00 h: {WHY}. Before, these were "a" and "b", '
            "after 4.00 h.",
        ),
        (
            {"a": 4.0, "b": 4.0}, {"a": 5.0, "b": 5.0},
            f'"a" and "b" still cut out first, after 5.00 h (after 4.00 h before): of "a" {WHY}.',
        ),
    ],
)  # fmt: skip
def test_who_cuts_out_first_before_and_after(before, now, told):
    assert first_line(run(before), run(now)) == [told]


def whole(**more):
    return run(reason=ALL_OVER, **more)


def test_hours_of_the_loads_before_and_after():
    assert hours_line(whole(), whole()) == [
        "The loads are fed to the end of the 10.0 h, as before."
    ]
    assert hours_line(run(end_h=6.0), whole()) == [
        "The loads are now fed to the end of the 10.0 h; before, for 6.00 h."
    ]
    assert hours_line(whole(), run(end_h=6.0)) == [
        "The loads are fed for 6.00 h only; before, to the end of the 10.0 h."
    ]
    assert hours_line(run(end_h=6.0), run(end_h=8.0)) == [
        "The loads are fed for 8.00 h, 2.00 h longer (6.00 h before)."
    ]
    assert hours_line(run(end_h=8.0), run(end_h=6.0)) == [
        "The loads are fed for 6.00 h, 2.00 h shorter (8.00 h before)."
    ]


def test_loads_that_pause_are_not_fed_to_the_end():
    assert fed_to_the_end(whole())
    assert not fed_to_the_end(whole(fed_h=9.99))
    assert not fed_to_the_end(run())


def test_charge_locked_in_is_told_where_it_is_more_than_a_trace():
    labels = sum(one.rated_Ah for one in run().batteries)
    least = 0.002 * labels
    assert stranded_line(run(), run(stranded=(0.5 * least, 0.49 * least))) == []
    (told,) = stranded_line(run(stranded=(1.0, 1.0)), run(stranded=(2.0, 1.0)))
    assert told == (
        "Locked in cells that are fuller than their weakest one: 3.00 Ah, 1.00 Ah more "
        "(2.00 Ah before)."
    )
    assert len(stranded_line(run(stranded=(1.0, 1.0)), run())) == 1  # gone: told as well


def cautions(**topics):
    return run(cautions=tuple(
        Caution(topic, severity, 1.0, 1.0, "A", "", "") for topic, severity in topics.items()
    ))  # fmt: skip


def test_dangers_and_warnings_that_came_and_went():
    assert caution_lines(cautions(), cautions()) == []
    assert caution_lines(cautions(fuse="danger"), cautions(fuse="danger")) == []
    assert caution_lines(cautions(), cautions(fuse="danger", cold="warning", x="note")) == [
        "New DANGER: fuse.", "New warning: cold.",
    ]  # fmt: skip
    assert caution_lines(cautions(fuse="danger", cold="danger"), cautions()) == [
        "No longer a danger: fuse and cold."
    ]
    assert caution_lines(cautions(fuse="danger"), cautions(fuse="warning")) == [
        "No longer a danger: fuse (now a warning).", "New warning: fuse.",
    ]  # fmt: skip
    assert caution_lines(cautions(fuse="warning"), cautions(fuse="note")) == [
        "No longer a warning: fuse (now a note)."
    ]


def test_of_one_topic_the_worst_counts():
    both = run(cautions=(
        Caution("fuse", "warning", 1.0, 1.0, "A", "", ""),
        Caution("fuse", "danger", 1.0, 1.0, "A", "", ""),
    ))  # fmt: skip
    assert caution_lines(both, cautions(fuse="danger")) == []
    assert caution_lines(cautions(fuse="danger"), both) == []


@pytest.mark.parametrize(
    ("value", "scale", "told"),
    [(3.14159, 10.0, "3.1"), (3.14159, 9.9, "3.14"), (3.14159, 1.0, "3.14"), (0.5, 0.99, "0.500")],
)
def test_numbers_are_rounded_beside_the_largest(value, scale, told):
    assert digits(value, scale) == told
