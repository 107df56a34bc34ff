"""Which unknowns a scenario has: typical ones for what is open, none for what is written."""

import pytest
from study_texts import AGM, BARE, LFP, LOAD, read

from bankSim.scenario.record import Scenario
from bankSim.study.find_unknowns import find_unknowns

WARM = "\n[surroundings]\ntemperature_C = 20\n"
OF_EVERY_BATTERY = {
    "capacity", "resistance", "state of charge at the start",
    "internal resistance of switches and straps", "relaxation", "self-discharge",
    "how resistance follows the temperature", "how it warms up", "lead",
}  # fmt: skip
OF_LFP = OF_EVERY_BATTERY | {
    "hysteresis", "diode drop", "delays of the rules", "lowest cell voltage limit (below)",
    "highest cell voltage limit (above)", "discharge current limit (above)",
    "temperature limit (below)", "temperature limit (above)",
}  # fmt: skip
OF_AGM = OF_EVERY_BATTERY | {
    "part of the charge at hand at once", "rate at which bound charge follows",
}  # fmt: skip


def of_cells(count):
    words = ("capacity", "resistance", "charge")
    return {f"{word} of cell {cell}" for word in words for cell in range(1, count + 1)}


def labels(text, folder):
    found = [one.label for one in find_unknowns(read(text, folder))]
    assert len(set(found)) == len(found), "each label once"
    return set(found)


def of(name, words):
    return {f'{word} of "{name}"' for word in words}


def test_lithium_with_nothing_written(tmp_path):
    assert labels(LFP + WARM, tmp_path) == of("lithium", OF_LFP | of_cells(4))


def test_lead_acid_with_nothing_written(tmp_path):
    assert labels(AGM + WARM, tmp_path) == of("lead", OF_AGM | of_cells(6))


def test_nothing_but_what_is_written_without_a_chemistry(tmp_path):
    assert labels(BARE + WARM, tmp_path) == set()
    written = BARE.replace("ohmic_mohm = 2.0", "ohmic_mohm = { value = 2.0, sd = 0.1 }")
    assert labels(written + WARM, tmp_path) == {'cell.ohmic_mohm of "bare"'}


def test_a_lead_by_length_is_not_known_exactly(tmp_path):
    lead = "lead = { length_m = 1, area_mm2 = 16 }\n[battery.cell]"
    text = BARE.replace("[battery.cell]", lead)
    assert labels(text + WARM, tmp_path) == {'lead of "bare"'}


def test_what_is_around(tmp_path):
    wiring = "[wiring]\nlayout = 'same end'\n{0} = {1}\n{2} = {1}\n"
    by_length = wiring.format("link", "{ length_m = 1, area_mm2 = 35 }", "main")
    two = BARE + BARE.replace('"bare"', '"second"')
    assert labels(by_length + two, tmp_path) == {
        "links", "main cable", "temperature of the surroundings",
    }  # fmt: skip
    assert labels(wiring.format("link_mohm", 1, "main_mohm") + two + WARM, tmp_path) == set()


def test_a_link_that_is_not_there(tmp_path):
    text = "[wiring]\nlink = { length_m = 1, area_mm2 = 35 }\n" + BARE + WARM
    assert labels(text, tmp_path) == set()


def test_loads(tmp_path):
    assert labels(BARE + WARM + LOAD, tmp_path) == {'power of load "pump"'}
    for exact in ("current_A = 3", "resistance_ohm = 5", "power_W = 0"):
        assert labels(BARE + WARM + LOAD.replace("power_W = 250.0", exact), tmp_path) == set()


@pytest.mark.parametrize("words", ["{ value = 250.0, sd = 0 }", "{ value = 250, sd_percent = 0 }"])
def test_an_sd_of_0_pins_a_load(words, tmp_path):
    text = BARE + WARM + LOAD.replace("250.0", words)
    assert labels(text, tmp_path) == set()


def test_a_load_with_its_own_spread(tmp_path):
    text = BARE + WARM + LOAD.replace("250.0", "{ value = 250.0, sd = 30 }")
    (unknown,) = find_unknowns(read(text, tmp_path))
    assert unknown.label == 'power_W of "pump"'
    assert (unknown.spread.value, unknown.spread.sd, unknown.unit) == (250.0, 30.0, "W")
    assert unknown.given


@pytest.mark.parametrize(
    ("watches", "unit"),
    [("temperature", "degC"), ("battery voltage", "V"), ("discharge current", "A")],
)
def test_the_unit_of_a_limit(watches, unit, tmp_path):
    limit = f'watches = "{watches}", trips_above = {{ value = 20, sd = 1 }}, blocks = "both"'
    text = f"{LFP}protection = [{{ {limit} }}]\n"
    (unknown,) = (one for one in find_unknowns(read(text, tmp_path)) if one.given)
    assert unknown.unit == unit


# (what is written, below [[battery]] or [battery.cell]; which words vanish then, which appear)
CELLS = [f"capacity of cell {n}" for n in range(1, 5)]
OHMS = [f"resistance of cell {n}" for n in range(1, 5)]
CHARGES = [f"charge of cell {n}" for n in range(1, 5)]
RULE = 'protection = [{ watches = "lowest cell voltage", trips_below = 2.5, blocks = "both" }]'
LIMITS = [word for word in OF_LFP if "limit" in word]
WRITTEN = [
    ("capacity_fraction = 0.8", ["capacity"]),
    ("resistance_factor = 1.5", ["resistance"]),
    ("state_of_charge = 0.9", ["state of charge at the start"]),
    ("internal_mohm = 1.0", ["internal resistance of switches and straps"]),
    ("lead_mohm = 1.0", ["lead"]),
    ("diode_drop_V = 0.7", ["diode drop"]),
    (RULE, [*LIMITS, "delays of the rules", "diode drop"]),
    ("protection = []", [*LIMITS, "delays of the rules", "diode drop"]),
    ("[battery.cell]\ncapacity_Ah = 90", ["capacity", *CELLS]),
    ("[battery.cell]\nohmic_mohm = 1.0", ["resistance", *OHMS]),
    ("[battery.cell]\nrelaxation = []", ["relaxation"]),
    ("[battery.cell]\nhysteresis_mV = 8", ["hysteresis"]),
    ("[battery.cell]\nstate_of_charge = 0.9", ["state of charge at the start"]),
]


@pytest.mark.parametrize(("words", "gone"), WRITTEN, ids=[row[0][:40] for row in WRITTEN])
def test_what_is_written_is_not_drawn(words, gone, tmp_path):
    before = of("lithium", OF_LFP | of_cells(4))
    assert labels(f"{LFP}{words}\n{WARM}", tmp_path) == before - of("lithium", gone)


def test_wells_that_are_written_are_not_drawn(tmp_path):
    before = of("lead", OF_AGM | of_cells(6))
    for name, gone in (
        ("available_fraction", "part of the charge at hand at once"),
        ("well_rate_per_h", "rate at which bound charge follows"),
    ):
        found = labels(f"{AGM}[battery.cell]\n{name} = 0.5\n{WARM}", tmp_path)
        assert found == before - of("lead", [gone])


def test_what_one_cell_has_of_its_own(tmp_path):
    own = "capacity_Ah = 90\nohmic_mohm = 1.0\nstate_of_charge = 0.9\n"
    text = f"{LFP}[[battery.cells]]\n{own}" + "[[battery.cells]]\n" * 3 + WARM
    gone = [words[0] for words in (CELLS, OHMS, CHARGES)]
    assert labels(text, tmp_path) == of("lithium", (OF_LFP | of_cells(4)) - set(gone))


# The resistance of that cell is in the third column of its own table.
def test_a_resistance_in_the_table_of_one_cell(tmp_path):
    header = "state_of_charge,voltage_V,ohmic_mohm\n"
    (tmp_path / "three.csv").write_text(header + "0,2.6,2\n1,3.5,2\n")
    cells = '[[battery.cells]]\nocv_table = "three.csv"\n' + "[[battery.cells]]\n" * 3
    assert labels(LFP + cells + WARM, tmp_path) == of("lithium", (OF_LFP | of_cells(4)) - {OHMS[0]})


def test_a_scenario_without_a_file_has_none(tmp_path):
    assert find_unknowns(Scenario("made", read(LFP, tmp_path).bank)) == ()


def test_labels_of_all_unknowns_differ_between_batteries(tmp_path):
    two = LFP + LFP.replace("lithium", "second") + AGM + LOAD
    assert len(labels(two, tmp_path)) == 2 * (len(OF_LFP) + 12) + len(OF_AGM) + 18 + 2


def test_every_source_is_told(tmp_path):
    text = LFP + AGM + "lead_mohm = { value = 1, sd = 0.1 }\n" + LOAD
    for unknown in find_unknowns(read(text, tmp_path)):
        assert unknown.source.strip() == unknown.source != ""
        assert "\n" not in unknown.source
