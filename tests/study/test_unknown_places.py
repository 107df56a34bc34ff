"""Which numbers of a bank an unknown moves, and under which key one would write it: by hand.

The bank: "lead" with 6 cells (no rules), "lithium" with cells 7 to 10 and rules 1 to 5, each cell
with room for 3 relaxation pairs.
"""

import pytest
from study_texts import AGM, BARE, LFP, LOAD, read

from bankSim.study.fields import Field
from bankSim.study.find_unknowns import find_unknowns
from bankSim.study.unknown import Op

LEAD, LITHIUM = tuple(range(6)), (6, 7, 8, 9)


def found(text, folder):
    return {one.label: one for one in find_unknowns(read(text, folder))}


@pytest.fixture(scope="module")
def both(tmp_path_factory):
    return found(AGM + LFP + LOAD + LOAD.replace("pump", "fan"), tmp_path_factory.mktemp("both"))


def pairs(*cells):
    return tuple(3 * cell + place for cell in cells for place in range(3))


@pytest.mark.parametrize(
    ("label", "key", "moves"),
    [
        ("capacity", "capacity_fraction", {Field.CHARGE: LITHIUM, Field.STANDING: LITHIUM}),
        ("resistance", "resistance_factor",
         {Field.OHMIC: LITHIUM, Field.PAIR_OHM: pairs(*LITHIUM), Field.LAG: LITHIUM}),
        ("capacity of cell 3", "cells[3].capacity_Ah", {Field.CHARGE: (8,), Field.STANDING: (8,)}),
        ("resistance of cell 1", "cells[1].ohmic_mohm",
         {Field.OHMIC: (6,), Field.PAIR_OHM: pairs(6), Field.LAG: (6,)}),
        ("state of charge at the start", "state_of_charge", {Field.SOC: LITHIUM}),
        ("charge of cell 4", "cells[4].state_of_charge", {Field.SOC: (9,)}),
        ("relaxation", "cell.relaxation", {Field.PAIR_TIME: pairs(*LITHIUM)}),
        ("hysteresis", "cell.hysteresis_mV", {Field.HYSTERESIS: LITHIUM}),
        ("self-discharge", "cell (self-discharge)", {Field.STANDING: LITHIUM}),
        ("internal resistance of switches and straps", "internal_mohm", {Field.INTERNAL: (1,)}),
        ("diode drop", "diode_drop_V", {Field.DROP: (1,)}),
        ("how it warms up", "(heat loss)", {Field.HEAT_LOSS: (1,)}),
        ("lead", "lead_mohm", {Field.LEAD: (1,)}),
        ("highest cell voltage limit (above)", "protection[2].trips_above",
         {Field.THRESHOLD: (1,), Field.LET_GO: (1,)}),
        ("temperature limit (below)", "protection[4].trips_below",
         {Field.THRESHOLD: (3,), Field.LET_GO: (3,)}),
        ("delays of the rules", "protection",
         {Field.DELAY: (0, 1, 2, 3, 4), Field.LET_GO_DELAY: (0, 1, 2, 3, 4)}),
    ],
)  # fmt: skip
def test_of_the_second_battery(both, label, key, moves):
    one = both[f'{label} of "lithium"']
    assert (one.key, one.subject) == (f"battery[2].{key}", "lithium")
    assert {effect.field: effect.places for effect in one.effects} == moves


def test_of_the_second_battery_of_a_kind_rules_go_on_counting(tmp_path):
    two = found(LFP + LFP.replace("lithium", "second"), tmp_path)
    limit = two['discharge current limit (above) of "second"']
    assert limit.key == "battery[2].protection[3].trips_above"
    assert [(one.places, one.op) for one in limit.effects] == [((7,), Op.SCALE)] * 2
    assert two['delays of the rules of "second"'].effects[0].places == (5, 6, 7, 8, 9)


def test_only_cells_with_two_wells_have_them_drawn(both, tmp_path):
    assert both['part of the charge at hand at once of "lead"'].effects[0].places == LEAD
    # behind another battery, and one cell without a second well
    own = "[[battery.cells]]\n" * 2 + "[[battery.cells]]\navailable_fraction = 1.0\n"
    own += "[[battery.cells]]\n" * 3
    behind = found(LFP + AGM + own, tmp_path)
    part, rate = (
        behind[f'{word} of "lead"'].effects[0]
        for word in (
            "part of the charge at hand at once", "rate at which bound charge follows"
        )
    )  # fmt: skip
    assert (part.field, part.places) == (Field.AVAILABLE, (4, 5, 7, 8, 9))
    assert (rate.field, rate.places) == (Field.WELL_RATE, (4, 5, 7, 8, 9))


def test_a_cell_with_pairs_of_its_own_keeps_them(tmp_path):
    own = "[[battery.cells]]\nrelaxation = [{ mohm = 1, time_constant_s = 60 }]\n"
    text = LFP + own + "[[battery.cells]]\n" * 3
    of_cells = found(text, tmp_path)
    moved = {
        effect.field: effect.places
        for effect in of_cells['resistance of cell 1 of "lithium"'].effects
    }
    assert moved == {Field.OHMIC: (0,), Field.PAIR_OHM: (), Field.LAG: (0,)}
    whole = of_cells['resistance of "lithium"'].effects
    assert {one.field: one.places for one in whole}[Field.PAIR_OHM] == pairs(1, 2, 3)


def test_keys_of_loads_count_from_one(both, tmp_path):
    assert both['power of load "pump"'].key == "load[1].power_W"
    fan = both['power of load "fan"']
    assert (fan.key, fan.effects[0].places) == ("load[2].power_W", (1,))
    # one that is known exactly in front of it changes nothing
    text = BARE + LOAD.replace("power_W = 250.0", "current_A = 3") + LOAD.replace("pump", "fan")
    behind = found(text, tmp_path)['power of load "fan"']
    assert (behind.key, behind.effects[0].places) == ("load[2].power_W", (1,))
    tiny = found(BARE + LOAD.replace("250.0", "0.5"), tmp_path)
    assert 'power of load "pump"' in tiny


def test_links_of_a_thousandth_of_an_ohm_are_there(tmp_path):
    two = BARE + BARE.replace('"bare"', '"second"')
    wiring = "[wiring]\nlayout = 'same end'\nlink = { length_m = 0.05, area_mm2 = 95 }\n"
    links = found(wiring + "main = { length_m = 1, area_mm2 = 95 }\n" + two, tmp_path)
    assert [(e.field, e.places) for e in links["links"].effects] == [(Field.LINK, (0,))]
    assert [(e.field, e.places) for e in links["main cable"].effects] == [(Field.MAIN, (0,))]
    assert (links["links"].key, links["main cable"].key) == ("wiring.link", "wiring.main")


NO_LABEL = """
[[battery]]
name = "{}"
chemistry = "LFP"
cells_in_series = 4
[battery.cell]
capacity_Ah = {{ value = 100.0, sd_percent = 2, cells = "independent" }}
{}
"""


def test_independent_cells_that_make_another_bank_are_written_cell_by_cell(tmp_path):
    # without a label the capacity makes it, and the label resistances: no number alone tells
    text = NO_LABEL.format("first", "") + NO_LABEL.format(
        "second",
        "[[battery.cells]]\n" * 2 + "[[battery.cells]]\ncapacity_Ah = 90.0\n[[battery.cells]]\n",
    )
    given = [one for one in found(text, tmp_path).values() if one.given]
    assert all(one.effects == () for one in given)
    assert [one.path for one in given] == [
        *(("battery", 0, "cells", cell, "capacity_Ah") for cell in range(4)),
        *(("battery", 1, "cells", cell, "capacity_Ah") for cell in (0, 1, 3)),  # one has its own
    ]
    assert [one.label for one in given[4:]] == [
        f'cell.capacity_Ah of "second", cell {cell}' for cell in (1, 2, 4)
    ]


RULES = """
[[battery.protection]]
watches = "lowest cell voltage"
trips_below = 2.5
after_s = {0}
blocks = "discharge"
[[battery.protection]]
watches = "temperature"
trips_above = {0}
blocks = "both"
"""


def test_a_limit_has_the_unit_of_its_own_rule_and_battery(tmp_path):
    text = LFP + RULES.format("{ value = 50, sd = 1 }")
    text += LFP.replace("lithium", "second") + RULES.format("{ value = 50, sd = 1 }")
    given = [one for one in found(text, tmp_path).values() if one.given]
    assert [(one.key, one.unit) for one in given] == [
        (f"battery[{n}].{key}", unit)
        for n in (1, 2)
        for key, unit in (("protection[1].after_s", "s"), ("protection[2].trips_above", "degC"))
    ]
