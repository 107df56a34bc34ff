"""The table of draws against the full results of the same draws."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hybrid_draws import drawn, hybrid_study
from pytest import approx
from simple_banks import affine, affine_cell, bank_of, battery, steady

from bankSim.kernels import arrays as k
from bankSim.model.load import CutOff
from bankSim.model.rule import Blocks, Rule, Watch
from bankSim.scenario.record import Scenario
from bankSim.sim.pack import bank_guards
from bankSim.sim.run import END_REASON, simulate
from bankSim.sim.summary import cut_out_order
from bankSim.study.drawn_bank import drawn_bank
from bankSim.study.draws import columns_of
from bankSim.study.ensemble import STUDY_TOLERANCE, Ensemble
from bankSim.study.outcomes import (
    NOBODY,
    TOGETHER,
    Watched,
    _cut_out,
    _first_out,
    _places,
    stacked,
    tabulate,
)

DRAWS = 3
SEEDS = range(300, 320)

OF_BANK = {
    "bank.delivered_Ah": lambda result: result.bank.delivered_Ah,
    "bank.delivered_Wh": lambda result: result.bank.delivered_Wh,
    "bank.charged_Ah": lambda result: result.bank.charged_Ah,
    "bank.runtime_h": lambda result: result.bank.runtime_s / 3600.0,
    "bank.end_h": lambda result: result.end_time_s / 3600.0,
    "bank.peak_A": lambda result: result.bank.peak_A,
}
OF_BATTERY = {
    "delivered_Ah": lambda one: one.delivered_Ah,
    "charged_Ah": lambda one: one.charged_Ah,
    "peak_discharge_A": lambda one: one.peak_discharge_A,
    "peak_charge_A": lambda one: one.peak_charge_A,
    "stranded_Ah": lambda one: one.stranded_Ah,
    "remaining_Ah": lambda one: one.remaining_Ah,
    "lowest_cell_V": lambda one: one.lowest_cell_voltage_V,
    "highest_cell_V": lambda one: one.highest_cell_voltage_V,
}
OF_CUT_OUT = {
    "cut_out_h": lambda cut: cut.time_s / 3600.0,
    "cut_out_voltage_V": lambda cut: cut.battery_voltage_V,
    "cut_out_bus_voltage_V": lambda cut: cut.bus_voltage_V,
}


@cache
def told(seed):
    """The table of a few draws of one hybrid, and the full result of each of them."""
    study = hybrid_study(seed)
    values = drawn(study.unknowns, DRAWS)
    return study.evaluate(values, 40), [study.story_of(values[[n]], n) for n in range(DRAWS)]


@pytest.mark.parametrize("seed", SEEDS)
def test_numbers_of_the_bank(seed):
    table, results = told(seed)
    assert table["draw"].tolist() == [40, 41, 42]
    for row, result in enumerate(results):
        for name, read in OF_BANK.items():
            assert table[name][row] == read(result), name
        assert END_REASON[int(table["end_status"][row])] == result.end_reason


@pytest.mark.parametrize("seed", SEEDS)
def test_numbers_of_the_batteries(seed):
    table, results = told(seed)
    for row, result in enumerate(results):
        for one in result.batteries:
            for name, read in OF_BATTERY.items():
                assert table[f"{one.name}.{name}"][row] == approx(read(one), rel=1e-13, abs=1e-13)


@pytest.mark.parametrize("seed", SEEDS)
def test_first_cut_outs(seed):
    table, results = told(seed)
    for row, result in enumerate(results):
        for one in result.batteries:
            assert_cut_out(table, row, one.name, one.first_cut_out)


def assert_cut_out(table, row, name, cut):
    for what, read in OF_CUT_OUT.items():
        found = table[f"{name}.{what}"][row]
        assert np.isnan(found) if cut is None else found == read(cut), what
    cell = 0 if cut is None else (cut.cell or 0)
    assert table[f"{name}.cut_out_cell"][row] == cell


@pytest.mark.parametrize("seed", SEEDS)
def test_the_rule_that_cut_out(seed):
    # counted over all rules of the bank in file order, from 1
    table, results = told(seed)
    for row, result in enumerate(results):
        bank = result.scenario.bank
        for number, one in enumerate(result.batteries):
            rule = int(table[f"{one.name}.cut_out_rule"][row])
            cut = one.first_cut_out
            if cut is None:
                assert rule == 0
                continue
            guard = bank_guards(bank)[rule - 1]
            assert (guard.subject, guard.rule.watches.value) == (number, cut.watches)
            assert guard.rule.blocks.name.lower() == cut.blocks
            assert cut.threshold == approx(guard.rule.threshold, abs=273.15 * (cut.unit == "degC"))


@pytest.mark.parametrize("seed", SEEDS)
def test_the_order_of_cutting_out(seed):
    table, results = told(seed)
    for row, result in enumerate(results):
        names = [one.name for one in result.batteries]
        place = {name: int(table[f"{name}.cut_out_place"][row]) for name in names}
        order = sorted((name for name in names if place[name]), key=place.__getitem__)
        assert order == cut_out_order(result)
        for name in order:  # those that act together share a place, and the next one is behind all
            assert place[name] == 1 + sum(0 < place[other] < place[name] for other in names)
        ahead = [number for number, name in enumerate(names, 1) if place[name] == 1]
        first = (ahead[0] if len(ahead) == 1 else TOGETHER) if ahead else NOBODY
        assert table["first_cut_out"][row] == first


@pytest.mark.parametrize(
    ("limits_V", "first", "places"),
    [
        ((12.9, 12.9), TOGETHER, (1, 1)),
        ((12.9, 12.9, 13.0), 3, (2, 2, 1)),
        ((12.9, 13.0, 12.9), 2, (2, 1, 2)),
        ((12.8, 12.9, 12.9), TOGETHER, (3, 1, 1)),
        ((0.0, 0.0), NOBODY, (0, 0)),
    ],
)
def test_who_cuts_out_at_the_same_instant_shares_a_place(limits_V, first, places):
    # on equal leads without resistance all see the same voltage: who has the same limit is as fast
    batteries = tuple(
        affine(
            f"b{place}", rules=(Rule(Watch.BATTERY_VOLTAGE, True, limit, 1.0, Blocks.DISCHARGE),)
        )
        for place, limit in enumerate(limits_V)
    )
    bank = bank_of(*batteries, load=steady(30.0), duration_s=20.0 * 3600.0, stop_when_empty=True)
    table = Ensemble(Scenario("equal", bank), ()).evaluate(np.zeros((1, 0)))
    assert table["first_cut_out"][0] == first
    found = tuple(int(table[f"{one.name}.cut_out_place"][0]) for one in batteries)
    assert found == places


def test_these_banks_cut_out_in_many_ways():
    # else the tests above would say nothing
    firsts, orders, cells, rules = set(), set(), set(), set()
    for seed in SEEDS:
        table, results = told(seed)
        firsts |= set(table["first_cut_out"].tolist())
        orders |= {tuple(cut_out_order(result)) for result in results}
        for name in (one.name for one in results[0].batteries):
            cells |= set(table[f"{name}.cut_out_cell"].tolist())
            rules |= set(table[f"{name}.cut_out_rule"].tolist())
    assert 0 in firsts
    assert len(firsts) >= 4
    assert len(orders) >= 8
    assert {0, 1, 2, 3} <= cells
    assert len(rules) >= 5


@pytest.mark.parametrize("seed", SEEDS)
def test_a_draw_is_the_drawn_bank(seed):
    # packed anew from the model's objects, a draw does the same but for rounding
    study = hybrid_study(seed)
    values = drawn(study.unknowns, 1)
    table = study.evaluate(values)
    columns = columns_of(study.scenario.bank, study.unknowns, values)
    made = replace(study.scenario, bank=drawn_bank(study.scenario.bank, columns, 0))
    result = simulate(made, relative_tolerance=STUDY_TOLERANCE)
    for name, read in OF_BANK.items():
        assert table[name][0] == approx(read(result), rel=1e-6), name
    for one in result.batteries:
        for what in ("delivered_Ah", "peak_discharge_A", "remaining_Ah"):
            exact = OF_BATTERY[what](one)
            assert table[f"{one.name}.{what}"][0] == approx(exact, rel=1e-6, abs=1e-6), what


def test_the_table_has_no_other_columns():
    table, results = told(SEEDS[0])
    own = [*OF_BATTERY, *OF_CUT_OUT, "cut_out_cell", "cut_out_rule", "cut_out_place"]
    of_batteries = {f"{one.name}.{name}" for one in results[0].batteries for name in own}
    assert set(table) == of_batteries | set(OF_BANK) | {"draw", "end_status", "first_cut_out"}


NEVER = (np.nan, -1.0, -1.0, np.nan, np.nan, np.nan)


def cut(time_s, bus_V, place, *, rule=0.0, cell=-1.0):
    """A row as the kernel writes it: rules, cells and places count from 0, no cell is -1."""
    return (time_s, rule, cell, 12.0, bus_V, place)


def test_numbers_of_the_first_cut_out_of_a_battery():
    # cells 4, 5, ... of the bank are its own: cell 4 is its first; rules count over the whole bank
    rows = [
        cut(7200.0, 11.5, 0.0, rule=2.0, cell=4.0),
        NEVER,
        cut(1800.0, 11.0, 1.0),
        cut(1.0, 11.0, 0.0, cell=6.0),
    ]
    found = _cut_out(np.array(rows), 4)
    assert found["cut_out_h"][[0, 2]].tolist() == [2.0, 0.5]
    assert np.isnan(found["cut_out_h"][1])
    assert found["cut_out_rule"].tolist() == [3, 0, 1, 1]
    assert found["cut_out_cell"].tolist() == [1, 0, 0, 3]
    assert found["cut_out_voltage_V"][[0, 2]].tolist() == [12.0, 12.0]
    assert found["cut_out_bus_voltage_V"][[0, 2]].tolist() == [11.5, 11.0]
    assert _cut_out(np.array([cut(1.0, 11.0, 0.0, cell=0.0)]), 0)["cut_out_cell"].tolist() == [1]


@pytest.mark.parametrize(
    ("rows", "places", "first"),
    [
        ([NEVER, NEVER, NEVER], [0, 0, 0], NOBODY),
        ([NEVER, cut(9.0, 12.0, 0.0), NEVER], [0, 1, 0], 2),
        ([cut(9.0, 12.0, 2.0), cut(8.0, 12.0, 1.0), cut(7.0, 12.0, 0.0)], [3, 2, 1], 3),
        # one instant and one voltage: together; what comes later is third, not second
        ([cut(9.0, 0.0, 1.0), cut(9.0, 0.0, 0.0), cut(10.0, 0.0, 2.0)], [1, 1, 3], TOGETHER),
        # one instant, but the second was pulled down by the first
        ([cut(9.0, 11.9, 1.0), cut(9.0, 12.0, 0.0), NEVER], [2, 1, 0], 2),
        # first alone, the others together behind it
        ([cut(9.0, 0.0, 1.0), cut(9.0, 0.0, 2.0), cut(5.0, 0.0, 0.0)], [2, 2, 1], 3),
        # up to a microsecond and a nanovolt are one instant and one voltage
        ([cut(0.0, 0.0, 0.0), cut(0.9e-6, 0.9e-9, 1.0), NEVER], [1, 1, 0], TOGETHER),
        ([cut(0.0, 0.0, 0.0), cut(1.1e-6, 0.0, 1.0), NEVER], [1, 2, 0], 1),
        ([cut(0.0, 0.0, 0.0), cut(0.0, 1.1e-9, 1.0), NEVER], [1, 2, 0], 1),
    ],
)
def test_places_among_the_cut_outs(rows, places, first):
    found = _places(np.array([rows]))
    assert found.tolist() == [places]
    assert _first_out(found).tolist() == [first]


def rows_by_hand(**numbers):
    """What is read at the end of some draws, in the kernel's order: places, and the numbers."""
    parts, place = {}, 1
    for name, table in numbers.items():
        width = np.shape(table)[1]
        parts[name] = slice(place - 1, place - 1 + width)
        place += width
    tables = [np.asarray(table, float) for table in numbers.values()]
    return Watched(np.arange(place - 1), parts), np.hstack([np.array([[1.0], [2.0]]), *tables])


def test_a_table_by_hand():
    # two draws of "a" with two cells and "b" with one; C and J become Ah and Wh, s hours
    two = bank_of(battery("a", affine_cell(), affine_cell()), affine("b"))
    none = np.empty((2, 0))
    watched, found = rows_by_hand(
        out=[[3600.0, 7200.0], [360.0, 720.0]],
        into=[[36.0, 72.0], [0.0, 3600.0]],
        peak_out=[[10.0, 20.0], [30.0, 40.0]],
        peak_into=[[1.0, 2.0], [3.0, 4.0]],
        time=[[7200.0], [3600.0]],
        fed_until=[[1800.0], [np.inf]],  # never unfed: fed until the end
        bank_out=[[10_800.0], [1080.0]],
        bank_into=[[108.0], [3600.0]],
        bank_peak=[[25.0], [65.0]],
        soc=[[0.5, 0.25, 1.0], [0.1, 0.3, 0.0]],
        charge=[[36_000.0, 36_000.0, 3600.0], [36_000.0, 18_000.0, 3600.0]],
        energy=[[3600.0], [1800.0]],
        phase=none, since=none, delay=none,
        lowest_V=[[3.0, 2.9], [2.8, 2.7]],
        highest_V=[[3.5, 3.6], [3.7, 3.8]],
    )  # fmt: skip
    cuts = np.array([[cut(3600.0, 12.0, 0.0, cell=1.0), NEVER],
                     [NEVER, cut(1800.0, 12.0, 0.0, rule=3.0, cell=2.0)]])  # fmt: skip
    table = tabulate(two, 40, found, cuts, watched)
    expected = {
        "draw": [40, 41], "end_status": [1, 2], "first_cut_out": [1, 2],
        "bank.delivered_Ah": [3.0, 0.3], "bank.delivered_Wh": [1.0, 0.5],
        "bank.charged_Ah": [0.03, 1.0], "bank.runtime_h": [0.5, 1.0], "bank.end_h": [2.0, 1.0],
        "bank.peak_A": [25.0, 65.0],
        "a.delivered_Ah": [1.0, 0.1], "b.delivered_Ah": [2.0, 0.2],
        "a.charged_Ah": [0.01, 0.0], "b.charged_Ah": [0.02, 1.0],
        "a.peak_discharge_A": [10.0, 30.0], "b.peak_charge_A": [2.0, 4.0],
        # 5 and 2.5 Ah are left in "a", then 1 and 1.5: on average 1.25 and 0.25 above the least
        "a.stranded_Ah": [1.25, 0.25], "a.remaining_Ah": [2.5, 1.0],
        "b.stranded_Ah": [0.0, 0.0], "b.remaining_Ah": [1.0, 0.0],
        "a.lowest_cell_V": [3.0, 2.8], "b.highest_cell_V": [3.6, 3.8],
        "a.cut_out_cell": [2, 0], "b.cut_out_cell": [0, 1], "b.cut_out_rule": [0, 4],
        "a.cut_out_place": [1, 0], "b.cut_out_place": [0, 1],
    }  # fmt: skip
    for name, values in expected.items():
        assert table[name] == approx(values), name


def test_tables_are_stacked_in_the_order_given():
    found = stacked([{"draw": np.array([3, 4])}, {"draw": np.array([1])}])
    assert found["draw"].tolist() == [3, 4, 1]


@pytest.mark.parametrize(
    ("phase", "restart_V", "hours"),
    [
        (k.TRIPPED, None, 1.5),  # off for good 90 min after the start, when its delay was over
        (k.TRIPPED, 13.0, 2.0),  # it may come back
        (k.ARMED, None, 2.0),  # still on
    ],
)
def test_a_load_that_is_off_for_good_ends_the_runtime(phase, restart_V, hours):
    cut_off = CutOff(12.0, 600.0, restart_V)
    bank = bank_of(affine(), load=replace(steady(5.0), cut_off=cut_off))
    bits = np.array([[phase]] * 2, dtype=np.int64).view(float)  # whole numbers stand as their bits
    one, empty = np.ones((2, 1)), np.zeros((2, 1))
    watched, found = rows_by_hand(
        **dict.fromkeys(("out", "into", "peak_out", "peak_into", "bank_out", "bank_into"), empty),
        **dict.fromkeys(("bank_peak", "soc", "charge", "energy", "lowest_V", "highest_V"), one),
        time=9000.0 * one, fed_until=7200.0 * one,
        phase=bits, since=4800.0 * one, delay=600.0 * one,
    )  # fmt: skip
    table = tabulate(bank, 0, found, np.array([[NEVER], [NEVER]]), watched)
    assert table["bank.runtime_h"] == approx([hours, hours])
    assert table["bank.end_h"] == approx([2.5, 2.5])
