"""What a prediction rests on, told from values taken for granted that were written by hand."""

from dataclasses import replace

import made_up
import pytest

from bankSim.scenario.record import Assumed
from bankSim.show.basis import (
    LONGEST_LINE,
    alike_cells,
    assumed,
    assumed_briefly,
    assumed_rows,
    remarks,
    solved,
)
from bankSim.sim.result import Numerics

SOURCE = "own choice"


def result(*assumed_values, names=("a", "b", "c"), cells=4, **changes):
    made = made_up.result([made_up.outcome(name) for name in names], cells=cells)
    scenario = replace(made.scenario, assumed=tuple(assumed_values), **changes)
    return replace(made, scenario=scenario)


def of(battery, key, value, unit="mohm", source=SOURCE):
    return Assumed(f"battery[{battery}].{key}", value, unit, source)


def rows(*values, **more):
    return list(assumed(result(*values, **more)).grid.rows)


def texts(*values, **more):
    return [row[0] for row in rows(*values, **more)]


def test_equal_values_of_all_batteries_are_told_once_without_names():
    every = [of(n, "internal_mohm", 1.2) for n in (1, 2, 3)]
    assert texts(*every) == ["internal_mohm = 1.2 mohm"]
    assert texts(*every[:2]) == ['internal_mohm = 1.2 mohm ("a" and "b")']
    differ = [of(1, "internal_mohm", 1.2), of(2, "internal_mohm", 0.8), of(3, "internal_mohm", 1.2)]
    assert texts(*differ) == ['internal_mohm = 1.2 mohm ("a" and "c") and 0.8 mohm ("b")']


def test_of_many_names_three_are_told():
    most = [of(n, "lead_mohm", 1.0) for n in range(1, 7)]
    assert texts(*most, names="abcdefg") == ['lead_mohm = 1 mohm ("a", "b", "c" and 3 others)']


@pytest.mark.parametrize(("count", "told"), [
    (4, 'lead_mohm = 1 mohm ("a"), 2 mohm ("b"), 3 mohm ("c") and 4 mohm ("d")'),
    (5, "lead_mohm: 5 different values for 5 batteries"),
])  # fmt: skip
def test_more_than_four_values_are_counted(count, told):
    values = [of(n, "lead_mohm", float(n)) for n in range(1, count + 1)]
    assert texts(*values, names="abcdefg") == [told]


def test_each_source_stands_beside_its_first_value():
    made = [of(1, "internal_mohm", 1.0), of(1, "lead_mohm", 2.0),
            Assumed("surroundings.temperature_C", 25.0, "degC", "a room")]  # fmt: skip
    assert rows(*made) == [
        ('internal_mohm = 1 mohm ("a")', SOURCE), ('lead_mohm = 2 mohm ("a")', "as above"),
        ("surroundings.temperature_C = 25 degC", "a room"),
    ]  # fmt: skip


def test_what_is_no_key_stands_behind_the_battery():
    no_key = Assumed("battery[2] (heat loss)", 0.5, "W/K", SOURCE)
    assert texts(no_key) == ['battery (heat loss) = 0.5 W/K ("b")']


def test_a_number_that_no_battery_has_leaves_the_key_as_it_is():
    assert texts(of(4, "lead_mohm", 1.0)) == ["battery[4].lead_mohm = 1 mohm"]
    assert texts(of(0, "lead_mohm", 1.0)) == ["battery[0].lead_mohm = 1 mohm"]
    words = Assumed("wiring.layout", "equal leads", "", SOURCE)
    assert texts(words) == ["wiring.layout = equal leads"]


def test_nothing_assumed_and_nothing_alike_is_no_section():
    assert assumed(result(cells=1)) is None
    assert assumed_briefly(result(cells=1)) is None
    for told in (assumed(result()), assumed_briefly(result())):
        assert told.grid is None
        assert told.lines[0].startswith('All cells of "a", "b" and "c" are taken as alike.')


def test_rows_for_readers_come_by_subject():
    made = [
        Assumed("wiring.link_mohm", 0.1, "mohm", SOURCE), of(1, "protection[1].trips_below", 2.5),
        of(1, "cell.ohmic_mohm", 0.4), of(1, "continuous_discharge_A", 100.0, "A"),
        of(1, "state_of_charge", 1.0, ""), Assumed("simulation.duration_h", 10.0, "h", SOURCE),
    ]  # fmt: skip
    assert [subject for subject, _, _ in assumed_rows(result(*made))] == [
        "State", "Cells", "Limits", "Resistances", "Protection", "Others"
    ]  # fmt: skip


def test_briefly_a_line_a_subject_with_what_fits():
    first = [of(n, f"internal_mohm_{n}", 1.0) for n in (1, 2)]
    told = assumed_briefly(result(*first, cells=1)).lines
    assert told == (
        "Resistances: internal_mohm_1 = 1 mohm; internal_mohm_2 = 1 mohm",
        "Every value with its source: story.txt.",
    )
    many = [of(1, f"internal_mohm_{n}", 1.0) for n in range(9)]
    line = assumed_briefly(result(*many, cells=1)).lines[0]
    # "Resistances: " has 13 letters, each value 24: two with "; " between make 63, three 89
    assert line == "Resistances: internal_mohm_0 = 1 mohm; internal_mohm_1 = 1 mohm; 7 more"
    assert len(line) <= LONGEST_LINE + len("; 6 more")


def alike(**cell):
    """Whether the cells of a battery count as alike when its second is changed so."""
    made = result(names=("a",))
    bank = made.scenario.bank
    first, second, *others = bank.batteries[0].cells
    cells = (first, replace(second, **cell), *others)
    bank = replace(bank, batteries=(replace(bank.batteries[0], cells=cells),))
    return bool(alike_cells(replace(made, scenario=replace(made.scenario, bank=bank))))


def test_cells_are_alike_by_capacity_charge_voltage_and_resistance():
    from bankSim.model.curve import Curve

    assert alike()
    assert not alike(charge_C=359_999.0)
    assert not alike(state_of_charge=0.99)
    assert not alike(ohmic_ohm=Curve.constant(1.1e-3))
    assert not alike(ocv_V=Curve.linear([0.0, 0.9, 1.0], [2.5, 3.3, 3.4]))


def test_remarks_and_how_it_was_solved():
    assert remarks(result()) is None
    assert remarks(result(remarks=("odd\nkey",))).lines == ("odd?key",)
    made = result()
    made = replace(made, numerics=Numerics(2e-5, 1e-6, 1, 3, 2), end_time_s=7200.0,
                   bank=replace(made.bank, ledger_residual_Ah=-3e-12))  # fmt: skip
    assert solved(made).lines == (
        "1 step over 2.00 h (3 repeated, 2 forced), tolerances 2e-05 relative and 1e-06 A; the "
        "charge ledger closes to 3e-12 Ah.",
    )
