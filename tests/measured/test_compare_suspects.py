"""What a comparison may move, and how far: by hand."""

from dataclasses import replace

import pytest
from pytest import approx
from simple_banks import affine_cell, bank_of, battery, steady

from bankSim.measured.compare_suspects import given_as_exact, moved, reach_of, widened, worth_a_run
from bankSim.model.bank import Wiring
from bankSim.model.rule import Blocks, Rule, Watch
from bankSim.model.spread import Shape, Spread
from bankSim.study.fields import Field
from bankSim.study.unknown import Effect, Kind, Op, Unknown

LOW_CELL = Rule(Watch.LOWEST_CELL, True, 2.5, 0.0, Blocks.DISCHARGE, None)
LOW_PACK = Rule(Watch.BATTERY_VOLTAGE, True, 5.0, 0.0, Blocks.DISCHARGE, None)
OVER_VOLTS = Rule(Watch.BATTERY_VOLTAGE, False, 7.3, 0.0, Blocks.CHARGE, None)


def pair_of(*, wiring=Wiring(main_ohm=0.001, link_ohm=0.002), z=0.95):
    """A plain battery of one cell, and one of two cells with rules, a lead and straps."""
    one = battery("one", affine_cell(z=z))
    rules = (OVER_VOLTS, LOW_CELL, LOW_PACK)
    cells = affine_cell(z=0.9), affine_cell(z=z)
    two = battery("two", *cells, rules=rules, internal=0.001, lead=0.002)
    return bank_of(one, two, load=steady(5.0), wiring=wiring)


def test_what_a_bank_gives_as_exact():
    found = {one.label: one for one in given_as_exact(pair_of(), [])}
    assert list(found) == [
        'current of load of "load"', "temperature of the surroundings", "main cable", "links",
        'capacity of "one"', 'resistance of "one"', 'state of charge at the start of "one"',
        'capacity of "two"', 'resistance of "two"', 'state of charge at the start of "two"',
        'lead of "two"', 'internal resistance of switches and straps of "two"',
        'lowest cell voltage limit (below) of "two"', 'battery voltage limit (below) of "two"',
        'charge of cell 1 of "two"',
    ]  # fmt: skip
    keys = [one.key for one in found.values()]
    assert keys == [
        "load[1].current_A", "surroundings.temperature_C", "wiring.main", "wiring.link",
        "battery[1].capacity_fraction", "battery[1].resistance_factor",
        "battery[1].state_of_charge", "battery[2].capacity_fraction",
        "battery[2].resistance_factor", "battery[2].state_of_charge", "battery[2].lead_mohm",
        "battery[2].internal_mohm", "battery[2].protection[2].trips_below",
        "battery[2].protection[3].trips_below", "battery[2].cells[1].state_of_charge",
    ]  # fmt: skip


def spread_of(label, bank=None):
    (found,) = (one for one in given_as_exact(bank or pair_of(), []) if one.label == label)
    return found.spread


@pytest.mark.parametrize(
    ("exponent", "what", "key"),
    [(0.0, "power", "power_W"), (1.0, "current", "current_A"), (2.0, "power", "power_W")],
)
def test_loads_are_named_by_what_the_file_gives(exponent, what, key):
    found = given_as_exact(bank_of(battery("a", affine_cell()), load=steady(5.0, exponent)), [])
    assert (found[0].label, found[0].key) == (f'{what} of load of "load"', f"load[1].{key}")


def test_how_far_what_is_exact_may_be_off():
    # own choices: 3 % of capacity, 5 % of a load up to 12 sd; resistances by a factor
    whole = spread_of('capacity of "two"')
    assert (whole.shape, whole.value, whole.sd) == (Shape.NORMAL, 1.0, 0.03)
    assert (whole.low, whole.high) == (approx(0.64), approx(1.36))
    load = spread_of('current of load of "load"')
    assert (load.sd, load.low, load.high) == (0.05, approx(0.4), approx(1.6))
    assert spread_of('resistance of "two"') == Spread(Shape.LOGNORMAL, 1.0, 0.10, 0.0)
    assert spread_of('lead of "two"').sd == spread_of("main cable").sd == 0.2
    assert spread_of("links").sd == 0.2
    assert spread_of('internal resistance of switches and straps of "two"').sd == 0.3
    assert spread_of("temperature of the surroundings") == Spread(Shape.NORMAL, 0.0, 2.0, -12, 12)
    # 50 mV a cell: the limit of a battery of two is off by twice that
    assert spread_of('lowest cell voltage limit (below) of "two"').sd == 0.05
    pack = spread_of('battery voltage limit (below) of "two"')
    assert (pack.sd, pack.low, pack.high) == (0.1, approx(-0.6), approx(0.6))


@pytest.mark.parametrize("z", [0.95, 1.0])
def test_charge_at_the_start_has_room_up_to_full(z):
    # of the fullest cell
    spread = spread_of('state of charge at the start of "two"', pair_of(z=z))
    assert (spread.sd, spread.low) == (0.01, -0.06)
    assert spread.high == approx(1.0 - z, abs=1e-8)
    assert spread.high > 0.0
    balance = spread_of('charge of cell 1 of "two"')
    assert (balance.sd, balance.low, balance.high) == (0.01, -0.06, 0.0)


def test_places_are_those_of_the_second_battery():
    # cells 1 and 2, rules 0 to 2 (the first battery has none)
    found = {one.label: one.effects for one in given_as_exact(pair_of(), [])}
    assert found['state of charge at the start of "two"'] == (Effect(Field.SOC, (1, 2), Op.SHIFT),)
    assert found['charge of cell 1 of "two"'] == (Effect(Field.SOC, (1,), Op.SHIFT),)
    assert found['battery voltage limit (below) of "two"'] == (
        Effect(Field.THRESHOLD, (2,), Op.SHIFT), Effect(Field.LET_GO, (2,), Op.SHIFT),
    )  # fmt: skip
    assert found['lead of "two"'] == (Effect(Field.LEAD, (1,)),)
    assert found['internal resistance of switches and straps of "two"'] == (
        Effect(Field.INTERNAL, (1,)),
    )


def test_without_wiring_and_alone_there_is_less():
    bare = [one.label for one in given_as_exact(pair_of(wiring=Wiring()), [])]
    assert "main cable" not in bare
    assert "links" not in bare
    alone = bank_of(battery("one", affine_cell()), load=steady(5.0), wiring=Wiring(link_ohm=0.002))
    assert "links" not in [one.label for one in given_as_exact(alone, [])]


def unknown(
    kind, field, places, *, spread=Spread(Shape.NORMAL, 1.0, 0.1, 0.5, 1.5), key="k", **more
):
    effects = () if field is None else (Effect(field, places),)
    return Unknown("label", kind, "two", key, "", spread, effects, "source", **more)


def test_what_has_a_spread_already_is_no_suspect_twice():
    lead = unknown(Kind.LEAD, Field.LEAD, (1,))
    labels = [one.label for one in given_as_exact(pair_of(), [lead])]
    assert 'lead of "two"' not in labels
    assert 'internal resistance of switches and straps of "two"' in labels
    # one that is built anew says it by the end of its key
    anew = unknown(Kind.KEY, None, (), key="battery[two].lead_mohm")
    assert 'lead of "two"' not in [one.label for one in given_as_exact(pair_of(), [anew])]
    # spreads of single cells leave those of the whole battery open, but the balance
    cell = unknown(Kind.CELL_CHARGE, Field.SOC, (1,))
    labels = [one.label for one in given_as_exact(pair_of(), [cell])]
    assert 'state of charge at the start of "two"' in labels
    assert 'charge of cell 1 of "two"' not in labels


def test_cells_that_are_alike_are_tried_once():
    bank = bank_of(battery("two", affine_cell(z=0.9), affine_cell(z=0.9), affine_cell(z=0.8)))
    unknowns = [unknown(Kind.CELL_CAPACITY, Field.CHARGE, (n,)) for n in range(3)]
    assert worth_a_run(unknowns, bank) == [0, 2]
    # of another kind they are others; a pinned one is left out
    more = [*unknowns, unknown(Kind.CELL_CHARGE, Field.SOC, (1,)),
            unknown(Kind.LEAD, Field.LEAD, (0,)), unknown(Kind.LEAD, Field.LEAD, (0,))]  # fmt: skip
    assert worth_a_run(more, bank) == [0, 2, 3, 4, 5]


@pytest.mark.parametrize(
    ("spread", "low", "high"),
    [
        (Spread(Shape.NORMAL, 10.0, 2.0, 6.0, 15.0), -2.0, 2.5),
        (Spread(Shape.NORMAL, 10.0, 2.0), -12.0, 12.0),
        (Spread(Shape.LOGNORMAL, 10.0, 0.1), -6.0, 6.0),
    ],
)
def test_reach(spread, low, high):
    reach = reach_of(spread)
    assert (reach.low, reach.high) == (approx(low), approx(high))


def test_a_value_of_unequal_sides_is_moved_by_its_own_sd():
    # uniform from 1 to 4 about 2: mean square distance (2^3 + 1^3) / (3 x 3) = 1
    spread = Spread(Shape.UNIFORM, 2.0, 0.0, 1.0, 4.0)
    assert (reach_of(spread).sd, reach_of(spread).low, reach_of(spread).high) == (1.0, -1.0, 2.0)
    assert [moved(spread, sds) for sds in (-3.0, 0.5, 1.0, 9.0)] == [1.0, 2.5, 3.0, 4.0]


@pytest.mark.parametrize(
    ("kind", "far"), [(Kind.CAPACITY, 12), (Kind.LOAD, 12), (Kind.LEAD, 6)]
)  # fmt: skip
def test_typical_spreads_are_widened_to_six_or_twelve_deviations(kind, far):
    one = unknown(kind, Field.LEAD, (1,), spread=Spread(Shape.NORMAL, 5.0, 0.1, 4.9, 5.2))
    wide = widened(one).spread
    assert (wide.value, wide.sd) == (5.0, 0.1)
    assert (wide.low, wide.high) == (approx(5.0 - 0.1 * far), approx(5.0 + 0.1 * far))
    # what reaches further already keeps its ends
    loose = Spread(Shape.NORMAL, 5.0, 0.1, 1.0, 9.0)
    assert widened(replace(one, spread=loose)).spread == loose


def test_given_spreads_and_other_shapes_stay():
    given = unknown(Kind.LEAD, Field.LEAD, (1,), given=True)
    assert widened(given) is given
    ratio = unknown(Kind.LEAD, Field.LEAD, (1,), spread=Spread(Shape.LOGNORMAL, 1.0, 0.1, 0.0))
    assert widened(ratio) is ratio


def test_a_factor_stays_above_a_twentieth():
    one = unknown(Kind.CAPACITY, Field.CHARGE, (1,))
    assert widened(one).spread.low == (0.05 if one.is_factor else approx(1.0 - 1.2))
