"""Cells driven below empty or beyond full: from where on, for how long, how bad, and the cure."""

import pytest
from made_results import Course, made
from simple_banks import affine_cell, bank_of, battery

from bankSim.model.charger import Charger, Stage
from bankSim.sim.cautions.cells import (
    BELOW_EMPTY,
    BEYOND_FULL,
    CELL_AHEAD,
    LOW_CELL,
    Low,
    how_low,
    of_cells,
)

DIPS = "cell voltage dips under load"


def result_of(word, course, *, times_s=(0.0, 100.0), outcome=None, cells=2, chargers=(), **more):
    """A run of one battery of 100 Ah, or of a bystander of three cells and that one."""
    cell = affine_cell(base=2.0, span=0.1, **more)
    one = battery("a", *[cell] * cells, chemistry=word)
    other = battery("other", *[affine_cell()] * 3)
    bank = bank_of(other, one, chargers=chargers)
    bystander = Course(A=0.0, V=39.0, cells=[13.0, 13.0, 13.0])
    return made(bank, list(times_s), bystander, course, outcomes=[{}, outcome or {}])


def found(*args, **more):
    return {one.topic: one for one in of_cells(result_of(*args, **more))}


def low(*args, **more):
    return how_low(result_of(*args, **more), 1)


def held(volts, z=0.5, A=10.0):
    """Two cells, one at that voltage all the time and one at 2.6 V."""
    return Course(A=A, V=volts + 2.6, z=z, cells=[volts, 2.6])


# LFP is harmed below 2.0 V (lowest_safe_V), NMC below 2.5 V, lead-acid below 1.5 V (LEAD_LOWEST_V)
@pytest.mark.parametrize(("word", "edge_V"), [("LFP", 2.0), ("NMC", 2.5), ("AGM", 1.5)])
def test_how_low_harms(word, edge_V):
    assert low(word, held(edge_V + 0.01)) is Low.NOT
    # the mean of a lead-acid battery still holds: 2.05 V
    harmed = Low.WEAKEST if word == "AGM" else Low.DRIVEN
    assert low(word, held(edge_V - 0.01)) is harmed


# where no voltage is known, 2 % below empty (MARGIN_SOC)
@pytest.mark.parametrize(("z", "kind"), [(-0.015, Low.NOT), (-0.025, Low.DRIVEN)])
@pytest.mark.parametrize("word", [None, "sodium-ion"])
def test_how_far_below_empty_harms_what_has_no_known_limit(word, z, kind):
    assert low(word, held(0.1, z=z)) is kind


# a current below 1e-6 of the label per hour, 0.1 mA of 100 Ah, is none (IDLE_PER_H)
@pytest.mark.parametrize(
    ("amps", "kind"), [(0.8e-4, Low.BY_ITSELF), (1.5e-4, Low.DRIVEN), (-1.0, Low.BY_ITSELF)]
)
def test_what_runs_down_by_itself_gives_nothing_while_it_is_low(amps, kind):
    # it gives 10 A before, while nothing is low
    course = Course(A=[10.0, 10.0, amps, amps], V=4.0, z=0.01, cells=[[2.2, 2.2, 1.9, 1.9], 2.2])
    assert low("LFP", course, times_s=(0.0, 50.0, 51.0, 200.0)) is kind


# below 2.0 V for 29 or 31 s (DIP_S is 30 s), with 9 or 11 % left (NEARLY_EMPTY is 10 %)
@pytest.mark.parametrize(
    ("lasts_s", "z", "lowest_V", "kind"),
    [
        (29.0, 0.11, 1.9, Low.DIP),
        (31.0, 0.11, 1.9, Low.DRIVEN),
        (29.0, 0.09, 1.9, Low.DRIVEN),
        (29.0, 0.11, 0.3, Low.DIP),
        (29.0, 0.11, -0.1, Low.DRIVEN),
    ],
)
def test_a_dip_is_short_and_leaves_charge(lasts_s, z, lowest_V, kind):
    times_s = (0.0, 10.0, 10.0, 10.0 + lasts_s, 10.0 + lasts_s, 100.0)
    lowest = [2.2, 2.2, lowest_V, lowest_V, 2.2, 2.2]
    course = Course(A=[1.0, 1.0, 90.0, 90.0, 1.0, 1.0], V=4.0, z=z, cells=[lowest, 2.2])
    assert low("LFP", course, times_s=times_s) is kind


# lead-acid is ruined where the mean falls below 1.5 V, a cell below 0.5 V, or 10 % below empty
@pytest.mark.parametrize(
    ("cells_V", "z", "kind"),
    [
        ((1.4, 1.62), 0.0, Low.WEAKEST),  # mean 1.51 V
        ((1.4, 1.58), 0.0, Low.DRIVEN),  # mean 1.49 V
        ((0.55, 2.6), 0.0, Low.WEAKEST),
        ((0.45, 2.6), 0.0, Low.DRIVEN),
        ((1.4, 1.62), -0.09, Low.WEAKEST),
        ((1.4, 1.62), -0.11, Low.DRIVEN),
    ],
)
def test_when_lead_acid_is_ruined_and_when_only_worn(cells_V, z, kind):
    assert low("AGM", Course(A=5.0, V=sum(cells_V), z=z, cells=cells_V)) is kind


def test_rows_without_voltages_tell_nothing_of_the_mean():
    # at the first instant the rows are empty
    course = Course(A=5.0, V=3.0, z=0.05, cells=[[0.0, 1.4], [0.0, 1.62]])
    assert low("AGM", course, outcome={"lowest_cell_voltage_V": 1.4}) is Low.WEAKEST


def test_what_is_driven_below_empty_is_told_with_harm_and_cure():
    one = found("LFP", held(1.876, z=0.0312))[BELOW_EMPTY]
    assert (one.severity, one.unit) == ("danger", "V")
    assert (one.value, one.limit) == (1.876, 2.0)
    assert one.text.startswith('A cell of "a" is driven down to 1.88 V and 3.12 % of its charge: ')
    assert "unsafe to charge again" in one.text
    assert one.advice.startswith("Give it a low-voltage cut-out")
    lead = found("AGM", held(0.0, z=0.0312))[BELOW_EMPTY]
    assert "driven down to 0.00 V" in lead.text
    assert "sulphates the plates" in lead.text
    assert lead.advice.startswith("Give the loads a low-voltage cut-off")
    # no curve holds below 0 V
    assert "driven below 0 V (reversed" in found("AGM", held(-0.01))[BELOW_EMPTY].text


def test_of_two_wells_no_level_is_told():
    wells = {"available_fraction": 0.6, "well_rate_per_s": 1e-4}
    one = found("AGM", held(0.1, z=0.0312), **wells)[BELOW_EMPTY]
    assert "driven down to 0.10 V: deep" in one.text


def test_a_dip_is_told_with_what_is_left():
    times_s, lowest = (0.0, 10.0, 10.0, 20.0), [2.2, 2.2, 1.8, 2.2]
    course = Course(A=50.0, V=4.0, z=0.1234, cells=[lowest, 2.2])
    one = found("LFP", course, times_s=times_s)[DIPS]
    assert (one.severity, one.value, one.limit, one.unit) == ("warning", 1.8, 2.0, "V")
    assert 'A cell of "a" dips to 1.80 V under load' in one.text
    assert "(never below 12 %)" in one.text


def test_the_weakest_lead_acid_cell_is_told_to_end_earlier():
    one = found("AGM", held(1.346, z=0.02))[LOW_CELL]
    assert (one.severity, one.value, one.limit, one.unit) == ("warning", 1.346, 1.6, "V")
    assert 'The weakest cell of "a" falls to 1.35 V at the end of the discharge' in one.text
    assert one.advice.startswith("Once, in a capacity test")


# below 1.6 V (LEAD_LOW_V) for longer than 30 s
@pytest.mark.parametrize(
    ("word", "volts", "lasts_s", "told"),
    [
        ("AGM", 1.58, 31.0, True),
        ("AGM", 1.58, 29.0, False),
        ("AGM", 1.62, 90.0, False),
        (None, 1.58, 31.0, False),
    ],
)
def test_a_lead_acid_cell_that_sags_for_long(word, volts, lasts_s, told):
    times_s, lowest = (
        (0.0, 5.0, 5.0, 5.0 + lasts_s, 5.0 + lasts_s, 99.0),
        [2, 2, volts, volts, 2, 2],
    )
    course = Course(A=50.0, V=4.0, cells=[lowest, 2.2])
    cautions = found(word, course, times_s=times_s)
    assert set(cautions) == ({LOW_CELL} if told else set())
    if told:
        one = cautions[LOW_CELL]
        assert one.text == (
            'A cell of "a" falls to 1.58 V under load; below 1.60 V a lead-acid cell is as good '
            "as empty."
        )
        assert one.advice.startswith("Use less power at a time")


# highest_safe_V: LFP 3.8 V, AGM 2.5 V; without a limit 2 % beyond full (MARGIN_SOC); 120 % of
# charge is beyond any (OVERFULL)
@pytest.mark.parametrize(
    ("word", "volts", "z", "told"),
    [
        ("LFP", 3.79, 1.0, False),
        ("LFP", 3.81, 1.0, True),
        ("LFP", 3.5, 1.19, False),
        ("LFP", 3.5, 1.21, True),
        (None, 9.0, 1.015, False),
        (None, 2.0, 1.025, True),
        ("AGM", 2.49, 1.0, False),
        ("AGM", 2.51, 1.0, True),  # all cells alike
        ("AGM", 2.4, 1.21, True),
    ],
)
def test_how_far_beyond_full_harms(word, volts, z, told):
    cautions = found(word, Course(A=-5.0, V=2 * volts, z=z))
    assert set(cautions) == ({BEYOND_FULL} if told else set())


# one lead-acid cell may rise 0.25 V above 2.5 V (LEAD_AHEAD_V) while the mean stays below that
@pytest.mark.parametrize(
    ("cells_V", "z", "topic"),
    [
        ((2.74, 2.24), 1.0, CELL_AHEAD),
        ((2.76, 2.20), 1.0, BEYOND_FULL),
        ((2.70, 2.32), 1.0, BEYOND_FULL),  # mean 2.51 V
        ((2.74, 2.24), 1.21, BEYOND_FULL),
    ],
)
def test_one_full_lead_acid_cell_ahead_of_the_others_is_a_note(cells_V, z, topic):
    cautions = found("AGM", Course(A=-5.0, V=sum(cells_V), z=z, cells=cells_V))
    assert set(cautions) == {topic}
    assert cautions[topic].severity == ("note" if topic == CELL_AHEAD else "danger")
    lithium = found("LFP", Course(A=-5.0, V=7.2, z=1.0, cells=(3.9, 3.3)))
    assert set(lithium) == {BEYOND_FULL}


def test_how_a_cell_ahead_is_told():
    # means 2.3 V, then 2.46 V
    cells = [[2.4, 2.7], [2.2, 2.22]]
    one = found("AGM", Course(A=-5.0, V=4.6, z=1.0, cells=cells))[CELL_AHEAD]
    assert (one.value, one.limit, one.unit) == (2.7, 2.5, "V")
    assert 'The fullest cell of "a" rises to 2.70 V on charge' in one.text
    assert "the mean of its cells stays at 2.46 V or below" in one.text


def test_what_is_driven_beyond_full_is_told_with_harm_and_cure():
    one = found("LFP", Course(A=-5.0, V=7.8, z=1.0456))[BEYOND_FULL]
    assert (one.value, one.limit, one.unit) == (3.9, 3.8, "V")
    assert one.text.startswith('A cell of "a" is driven up to 3.90 V and 105 % of its charge: ')
    assert "venting or fire" in one.text
    lead = found("AGM", Course(A=-5.0, V=5.4, z=1.0))[BEYOND_FULL]
    assert "it loses water and gives off hydrogen" in lead.text
    assert found(None, Course(A=-5.0, V=7.8, z=1.1))[BEYOND_FULL].limit is None


# 0.6 A into it: of which the whole bank takes all from outside, or nothing, or gives a little
@pytest.mark.parametrize(
    ("charged", "other_A", "cure"),
    [
        (True, 0.0, "Lower the charge voltage, and see"),
        (True, 0.6, "Lower the charge voltage, and see"),
        (False, 0.0, "Charge with less, and see"),
        (False, 0.6, "It is the other batteries that charge it: connect it only to those that"),
    ],
)
def test_what_keeps_the_voltage_lower(charged, other_A, cure):
    chargers = (Charger("mains", (Stage(14.0),), limit_A=5.0),) if charged else ()
    cell = affine_cell(base=2.0, span=0.1)
    bank = bank_of(
        battery("other", cell), battery("a", cell, chemistry="LFP"), chargers=chargers
    )  # fmt: skip
    # it gives 20 A to loads before
    courses = Course(A=[0.0, other_A], V=3.0), Course(A=[20.0, -0.6], V=3.9, z=1.0)
    (one,) = of_cells(made(bank, [0.0, 10.0], *courses))
    assert one.advice.startswith(cure)
