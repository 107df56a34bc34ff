"""What is refused: each line names file, line, key path, value and what is allowed."""

import pytest
from pace import within
from scenario_texts import LFP, TABLE_ONLY, faults_of, read

from bankSim.scenario.glossary import QUANTITIES

WIRING = "[wiring]\n"
LOAD = '[[load]]\nname = "x"\n'
CHARGER = "[[charger]]\n"

# (text, line, what the message starts with after file and line, what it must also contain)
RANGES = [
    ("[simulation]\nduration_h = 0\n" + LFP, "2: simulation.duration_h = 0; ", "87600 h"),
    (
        "[simulation]\nstop = 'full'\n" + LFP,
        '2: simulation.stop = "full"; ',
        '"bank empty" or "end"',
    ),
    ("[simulation]\nstarts_at = '7:00'\n" + LFP, '2: simulation.starts_at = "7:00"', '"00:00"'),
    ("[simulation]\nstarts_at = 07:00:00\n" + LFP, "2: simulation.starts_at = 07:00", "in quotes"),
    ("[simulation]\noutput_every_s = -1\n" + LFP, "2: simulation.output_every_s = -1", "s"),
    (
        "[surroundings]\ntemperature_C = 300\n" + LFP,
        "2: surroundings.temperature_C",
        "-40 to 80 degC",
    ),
    (
        WIRING + "layout = 'star'\n" + LFP,
        '2: wiring.layout = "star"; ',
        '"equal leads", "same end"',
    ),
    (WIRING + "link_mohm = -1\n" + LFP, "2: wiring.link_mohm = -1; ", "0 to 100000 mohm"),
    (WIRING + "main_mohm = inf\n" + LFP, "2: wiring.main_mohm = inf; ", "mohm"),
    (WIRING + "main = { length_m = 1 }\n" + LFP, "2: wiring.main.area_mm2 is missing", ""),
    (
        WIRING + "link = { length_m = 1, area_mm2 = 35, fuse_A = 9 }\n" + LFP,
        "2: wiring.link.fuse_A",
        "",
    ),
    (
        LFP + "lead = { length_m = 1, area_mm2 = 0.5 }",
        "7: battery[1].lead.area_mm2 = 0.5",
        "0.75 to 300 mm2",
    ),
    (LFP + "lead = { length_m = -1, area_mm2 = 35 }", "7: battery[1].lead.length_m = -1", " m"),
    (
        LFP + "lead = { length_m = 1, area_mm2 = 35, joints = 1.5 }",
        "7: battery[1].lead.joints",
        "whole",
    ),
    (
        LFP + "lead = { length_m = 1, area_mm2 = 35, fuse_A = 0 }",
        "7: battery[1].lead.fuse_A = 0",
        "A",
    ),
    (LFP + "internal_mohm = -0.1", "7: battery[1].internal_mohm = -0.1", "0 to 100000 mohm"),
    (LFP + "lead_mohm = -0.1", "7: battery[1].lead_mohm = -0.1", "0 to 100000 mohm"),
    (LFP.replace("= 4", "= 0"), "5: battery[1].cells_in_series = 0; ", "whole number, 1 to 100"),
    (LFP.replace("= 4", "= 4.0"), "5: battery[1].cells_in_series = 4.0; ", "whole number"),
    (LFP.replace("100.0", "-120"), "6: battery[1].rated_capacity_Ah = -120; ", "0.01 to"),
    (LFP.replace("100.0", "1e400"), "6: battery[1].rated_capacity_Ah = inf; ", "10000 Ah"),
    (LFP.replace("100.0", "nan"), "6: battery[1].rated_capacity_Ah = nan; ", "10000 Ah"),
    (LFP.replace("100.0", "'100 Ah'"), '6: battery[1].rated_capacity_Ah = "100 Ah"', "unit is Ah"),
    (LFP.replace("100.0", "'100,5'"), '6: battery[1].rated_capacity_Ah = "100,5"', "decimal point"),
    (LFP.replace("100.0", "true"), "6: battery[1].rated_capacity_Ah = true", "Ah"),
    (LFP.replace("100.0", "1" + "0" * 400), "6: battery[1].rated_capacity_Ah = a huge", "Ah"),
    (
        LFP.replace("LFP", "lfp"),
        '4: battery[1].chemistry = "lfp"; expected "LFP", "NMC", "sodium-ion", "AGM", "gel" or '
        '"flooded"; ',
        'did you mean "LFP"?',
    ),
    (LFP.replace("LFP", "nmc"), "4: battery", 'did you mean "NMC"?'),
    (LFP + "state_of_charge = 1.01", "7: battery[1].state_of_charge = 1.01", "0 to 1"),
    (LFP + "state_of_charge = 80", "7: battery[1].state_of_charge = 80", "write 0.8 for 80 %"),
    (LFP + "capacity_fraction = 105", "7: battery[1].capacity_fraction", "write 1.05 for 105 %"),
    (LFP + "capacity_fraction = 0", "7: battery[1].capacity_fraction = 0", "0.01 to 2"),
    (LFP + "resistance_factor = -1", "7: battery[1].resistance_factor = -1", "0.01 to 100"),
    (LFP + "continuous_discharge_A = 0", "7: battery[1].continuous_discharge_A = 0", "A"),
    (LFP + "continuous_charge_A = 0", "7: battery[1].continuous_charge_A = 0", "A"),
    (LFP + "mass_kg = 0", "7: battery[1].mass_kg = 0", "kg"),
    (LFP + "diode_drop_V = 9", "7: battery[1].diode_drop_V = 9", "0 to 5 V"),
    (LFP + "[battery.cell]\ncapacity_Ah = 0", "8: battery[1].cell.capacity_Ah = 0", "Ah"),
    (LFP + "[battery.cell]\nohmic_mohm = -1", "8: battery[1].cell.ohmic_mohm = -1", "mohm"),
    (LFP + "[battery.cell]\nhysteresis_mV = -1", "8: battery[1].cell.hysteresis_mV = -1", "mV"),
    (
        LFP + "[battery.cell]\nstate_of_charge = 2",
        "8: battery[1].cell.state_of_charge = 2",
        "0 to 1",
    ),
    (
        LFP + "[battery.cell]\navailable_fraction = 0",
        "8: battery[1].cell.available_fraction",
        "up to 1",
    ),
    (
        LFP + "[battery.cell]\nwell_rate_per_h = -1",
        "8: battery[1].cell.well_rate_per_h = -1",
        "1/h",
    ),
    (LFP + "[battery.cell]\nocv_table = ''", '8: battery[1].cell.ocv_table = ""', "text"),
    (
        LFP + "[battery.cell]\nrelaxation = [{ mohm = -1, time_constant_s = 1 }]",
        "8: battery[1].cell.relaxation[1].mohm = -1",
        "mohm",
    ),
    (
        LFP + "[battery.cell]\nrelaxation = [{ mohm = 1, time_constant_s = 0 }]",
        "8: battery[1].cell.relaxation[1].time_constant_s = 0",
        "0.001 to 10000000 s",
    ),
    (
        LFP + "[battery.cell]\nrelaxation = [" + "{ mohm = 1, time_constant_s = 1 }," * 4 + "]",
        "8: battery[1].cell.relaxation has 4 items",
        "at most 3",
    ),
    (
        LFP + "[[battery.cells]]\n" * 3 + "state_of_charge = -1\n[[battery.cells]]",
        "10: battery[1].cells[3].state_of_charge = -1",
        "0 to 1",
    ),
    (LFP + "[[battery.cells]]\n" * 3, "7: battery[1].cells has 3 entries", "expected 4"),
    (LFP + "[[battery.cells]]", "7: battery[1].cells has 1 entry;", "expected 4"),
    (
        LFP + "lead_mohm = 1\nlead = { length_m = 1, area_mm2 = 35 }",
        "8: battery[1].lead and",
        "one of",
    ),
    (
        WIRING + "link_mohm = 1\nlink = { length_m = 1, area_mm2 = 35 }\n" + LFP,
        "3: wiring.link and",
        "",
    ),
    (
        WIRING + "main_mohm = 1\nmain = { length_m = 1, area_mm2 = 35 }\n" + LFP,
        "3: wiring.main and",
        "",
    ),
    (LFP + LOAD, "7: load[1]: nothing is drawn", "power_W, current_A, resistance_ohm, profile"),
    (LFP + LOAD + "power_W = 1\ncurrent_A = 1", "7: load[1]: power_W and current_A", "one of them"),
    (LFP + LOAD + "power_W = -1", "9: load[1].power_W = -1", "0 to 10000000 W"),
    (LFP + LOAD + "current_A = -1", "9: load[1].current_A = -1", "A"),
    (LFP + LOAD + "resistance_ohm = 0", "9: load[1].resistance_ohm = 0", "more than 0"),
    (
        LFP + LOAD + "power_W = 1\nvoltage_exponent = 5",
        "10: load[1].voltage_exponent = 5",
        "0 to 4",
    ),
    (
        LFP + LOAD + "power_W = 1\nvoltage_exponent = 1",
        "7: load[1].reference_voltage_V is missing",
        "",
    ),
    (
        LFP + LOAD + "current_A = 1\nvoltage_exponent = 1",
        "10: load[1].voltage_exponent does not go with current_A",
        "",
    ),
    (
        LFP + LOAD + "resistance_ohm = 1\nreference_voltage_V = 1",
        "10: load[1].reference_voltage_V does not go with resistance_ohm",
        "",
    ),
    (
        LFP + LOAD + "power_W = 1\nduty = { on_min = 0, off_min = 1 }",
        "10: load[1].duty.on_min",
        "min",
    ),
    (LFP + LOAD + "power_W = 1\nduty = { on_min = 1 }", "10: load[1].duty.off_min is missing", ""),
    (
        LFP + LOAD + "power_W = 1\nduty = { on_min = 1e-6, off_min = 1e-6 }",
        "10: load[1].duty would switch",
        "at most 1000000",
    ),
    (
        LFP + LOAD + "power_W = 1\nactive_h = [[2, 1]]",
        "10: load[1].active_h[1] = [2.0, 1.0]",
        "before",
    ),
    (
        LFP + LOAD + "power_W = 1\nactive_h = [[1, 3], [2, 4]]",
        "10: load[1].active_h[2]",
        "3 h or later",
    ),
    (
        LFP + LOAD + "power_W = 1\nactive_h = [[1]]",
        "10: load[1].active_h[1] has 1 item;",
        "at least 2",
    ),
    (LFP + LOAD + "power_W = 1\nactive_h = []", "10: load[1].active_h has 0 items", "at least 1"),
    (
        LFP + LOAD + "power_W = 1\ndaily = [{ from = '18:00', to = '18:00' }]",
        "10: load[1].daily[1]: from and to are equal",
        "",
    ),
    (
        LFP + LOAD + "power_W = 1\ndaily = [{ from = '24:00', to = '25:00' }]",
        '10: load[1].daily[1].from = "24:00"',
        '"23:59"',
    ),
    (LFP + CHARGER + "limit_A = 0", "8: charger[1].limit_A = 0", "A"),
    (LFP + CHARGER + "limit_W = 0", "8: charger[1].limit_W = 0", "W"),
    (LFP + CHARGER + "hold_V = 0", "8: charger[1].hold_V = 0", "V"),
    (
        LFP + CHARGER + "stages = [{ at_most_h = 1 }]",
        "8: charger[1].stages[1].hold_V is missing",
        "",
    ),
    (
        LFP + CHARGER + "sun = { peak_W = 0, rise = '06:30', set = '18:30' }",
        "8: charger[1].sun.peak_W = 0",
        "W",
    ),
    (
        LFP + "[battery.balancer]\nkind = 'transfer'\ncurrent_A = 1\nalways = 'yes'",
        '10: battery[1].balancer.always = "yes"',
        "true or false",
    ),
    (
        LFP + "[battery.balancer]\nkind = 'x'\ncurrent_A = 1",
        '8: battery[1].balancer.kind = "x"',
        "bleed",
    ),
]


@pytest.mark.parametrize(("text", "start", "also"), RANGES, ids=[row[1][:40] for row in RANGES])
def test_values_out_of_range(text, start, also, tmp_path):
    found = [line for line in faults_of(text, tmp_path) if line.startswith(f"bank.toml:{start}")]
    assert len(found) == 1
    assert also in found[0]


RULE = 'protection = [{{ watches = "{}", {}, blocks = "discharge" }}]'


@pytest.mark.parametrize(
    ("watches", "limit", "start"),
    [
        ("lowest cell voltage", "trips_below = 10.5", ".trips_below = 10.5; expected 0 to 6 V"),
        ("highest cell voltage", "trips_above = 3650", ".trips_above = 3650.0; expected 0 to 6 V"),
        ("battery voltage", "trips_below = 30", ".trips_below = 30.0; expected 4 to 24 V"),
        ("temperature", "trips_above = 333", ".trips_above = 333.0; expected -60 to 150 degC"),
        ("discharge current", "trips_above = -5", ".trips_above = -5.0; expected 0 to 100000 A"),
        ("charge current", "trips_below = 5", ".trips_below is of no use for charge current"),
        ("temperature", "after_s = 1", ": trips_below and trips_above are both missing"),
        (
            "temperature",
            "trips_below = 1, trips_above = 2",
            ": trips_below and trips_above are both",
        ),
        ("temperature", "trips_below = 1, after_s = -1", ".after_s = -1; expected 0 to 86400 s"),
        ("heat", "trips_below = 1", '.watches = "heat"; expected "lowest cell voltage", '),
    ],
)
def test_rules_that_make_no_sense(watches, limit, start, tmp_path):
    (line,) = faults_of(LFP + RULE.format(watches, limit), tmp_path)
    assert line.startswith(f"bank.toml:7: battery[1].protection[1]{start}")


@pytest.mark.parametrize(
    ("text", "ending"),
    [
        (
            "simulaton.duration_h = 3\n" + LFP,
            ": simulaton is not a known key; did you mean simulation?",
        ),
        (LFP + "chemistri = 1", ".chemistri is not a known key; did you mean chemistry?"),
        (
            LFP + "CAPACITY_FRACTION = 1",
            ".CAPACITY_FRACTION is not a known key; did you mean capacity",
        ),
        (
            LFP + "lead_ohm = 1",
            ".lead_ohm is not a known key; this key is given in mohm: lead_mohm",
        ),
        (
            LFP + "capacity_Ah = 1",
            ".capacity_Ah is not a known key; it belongs in [battery.cell] or",
        ),
        (
            LFP + LOAD + "power_W = 1\ncut_of_V = 10",
            ".cut_of_V is not a known key; did you mean cut_off_V?",
        ),
        (
            LFP + "diode_drop_mV = 1",
            ".diode_drop_mV is not a known key; this key is given in V: diode_drop_V",
        ),
        (
            LFP + "restart_V = 12",
            ".restart_V is not a known key; it belongs in [load]",
        ),
        (
            LFP + LOAD + "power_W = 1\nlimit_A = 12",
            ".limit_A is not a known key; it belongs in [charger]",
        ),
        (
            LFP + LOAD + "power_W = 1\nxyz = 12",
            "daily, profile, cut_off_V, cut_off_after_s, restart_V",
        ),
        (LFP + "duration_h = 1", ".duration_h is not a known key; it belongs in [simulation]"),
        (
            LFP + LOAD + "power_kW = 1",
            "load[1].power_kW is not a known key; this key is given in W: p",
        ),
        (
            LFP + "[battery.xyz]",
            ".xyz is not a known key; known here: name, chemistry, cells_in_series",
        ),
        (
            LFP + "lead = {length_m = 1, area_mm2 = 9, lenght_m = 1}",
            ".lead.lenght_m is not a known key",
        ),
    ],
)
def test_unknown_keys(text, ending, tmp_path):
    lines = faults_of(text, tmp_path)
    assert ending in lines[0]


def test_misspelt_required_key_is_told_once(tmp_path):
    (line,) = faults_of(LFP.replace("cells_in_series", "cell_in_series"), tmp_path)
    assert "did you mean cells_in_series?" in line


def test_all_faults_are_told_at_once_in_file_order(tmp_path):
    text = """title = 3
[simulation]
duration_h = -1
[wiring]
layout = "ring"
[[battery]]
name = "old"
cells_in_series = 4
lead_ohm = 1
[battery.cell]
ocv_table = "missing.csv"
capacity_Ah = -84
[[battery]]
name = "old"
chemistry = "sodium-ion"
cells_in_series = 4
rated_capacity_Ah = "100 Ah"
[[charger]]
hold_V = 14.4
[[load]]
power_W = 5
restart_V = 10.8
[[load]]
profile = "also_missing.csv"
duty = { on_min = 1 }
"""
    lines = faults_of(text, tmp_path)
    paths = [line.split()[1] for line in lines]
    assert paths == [
        "title",
        "simulation.duration_h",
        "wiring.layout",
        "battery[1].lead_ohm",
        "battery[1].cell.ocv_table",
        "battery[1].cell.capacity_Ah",
        "battery[2].name",
        "battery[2].chemistry",
        "battery[2].rated_capacity_Ah",
        "charger[1]:",
        "load[1].restart_V",
        "load[2].profile",
        "load[2].duty.off_min",
    ]
    numbers = [int(line.split(":")[1]) for line in lines]
    assert numbers == [1, 3, 5, 9, 11, 12, 14, 15, 17, 18, 22, 24, 25]
    assert lines[5].endswith('(battery "old")')


def test_what_a_battery_needs(tmp_path):
    lines = faults_of("[[battery]]\n", tmp_path)
    assert [line.split(" ", 2)[1] for line in lines] == [
        "battery[1].cells_in_series",
        "battery[1].rated_capacity_Ah",
        "battery[1].chemistry",
    ]
    assert lines[1].endswith(" is missing; expected it, or capacity_Ah in [battery.cell]")
    assert lines[2].endswith(" is missing; expected it, or ocv_table in [battery.cell]")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("title = 'x'", "battery is missing; expected at least one [[battery]]"),
        ("battery = []", "battery is missing; expected at least one [[battery]]"),
        ("battery = 3", "battery = 3; expected an array"),
        ("battery = [3]", "battery[1] = 3; expected a table"),
        ("[battery]\ncells_in_series = 4", "write [[battery]], with double brackets"),
        ("[[wiring]]\n" + LFP, "write [wiring], with single brackets"),
        (LFP * 65, "battery has 65 items; expected at most 64"),
    ],
)
def test_shapes(text, words, tmp_path):
    (line,) = faults_of(text, tmp_path)
    assert words in line


BARE = TABLE_ONLY.replace("= 5.0", "= 0.0")
OTHER_BARE = BARE.replace("bare", "naked")
ROW = '[wiring]\nlayout = "same end"\n'


@pytest.mark.parametrize("wiring", ["", ROW, ROW + "link_mohm = 0.0\n"])
def test_two_chains_without_resistance_that_meet_are_refused(wiring, tmp_path):
    (line,) = faults_of(wiring + BARE + LFP + OTHER_BARE, tmp_path)
    assert 'battery[3] and battery[1] "bare" meet with no resistance between them' in line
    assert line.endswith('(battery "naked")')
    assert ("wiring.link_mohm" in line) is bool(wiring)


def test_each_further_chain_without_resistance_is_told(tmp_path):
    lines = faults_of(BARE + OTHER_BARE + BARE.replace("bare", "third"), tmp_path)
    assert [line.split()[1] for line in lines] == ["battery[2]", "battery[3]"]


def test_wiring_in_doubt_is_not_taken_as_without_resistance(tmp_path):
    (line,) = faults_of(ROW + "link_mohm = -1\n" + BARE + OTHER_BARE, tmp_path)
    assert "wiring.link_mohm = -1" in line


@pytest.mark.parametrize(
    "text",
    [BARE, BARE + LFP, TABLE_ONLY + OTHER_BARE, ROW + "link_mohm = 0.1\n" + BARE + OTHER_BARE],
)
def test_chains_without_resistance_that_do_not_meet_are_fine(text, tmp_path):
    bank = read(text, tmp_path).bank
    assert any(battery.cells[0].ohmic_ohm(0.5) == 0.0 for battery in bank.batteries)


def test_one_chemistry_needs_one_number_of_cells(tmp_path):
    eight = LFP.replace("house", "big").replace("= 4", "= 8")
    (line,) = faults_of(LFP + eight, tmp_path)
    assert line == (
        "bank.toml:11: battery[2].cells_in_series = 8; expected the same as battery[1], which has "
        "4: batteries of the same chemistry in parallel need the same voltage "
        '(battery "big")'
    )


def test_the_battery_that_stands_alone_with_its_cells_is_blamed(tmp_path):
    four, eight = LFP.replace("house", "odd"), LFP.replace("= 4", "= 8")
    (line,) = faults_of(TABLE_ONLY + four + eight + eight.replace("house", "more"), tmp_path)
    assert "battery[2].cells_in_series = 4; expected the same as battery[3], which has 8" in line


def test_number_of_cells_of_a_table_is_free(tmp_path):
    bank = read(LFP + TABLE_ONLY, tmp_path).bank
    assert [len(battery.cells) for battery in bank.batteries] == [4, 2]


def test_too_long_a_timeline_is_refused(tmp_path):
    text = "[simulation]\nduration_h = 87600\noutput_every_s = 1\n" + LFP
    (line,) = faults_of(text, tmp_path)
    assert line.startswith("bank.toml:3: simulation.output_every_s = 1.0; expected 158 s or more")


@pytest.mark.parametrize(
    "name",
    ["", " x", "x ", "a\nb", "a\tb", "\u001b[31m", "\u202eabc", "\u0000", "x" * 61, "\u2028"],
)
def test_hostile_names_are_refused(name, tmp_path):
    escaped = "".join(f"\\u{ord(letter):04x}" for letter in name)
    (line,) = faults_of(LFP.replace("house", escaped), tmp_path)
    assert line.startswith("bank.toml:3: battery[1].name = ")
    assert "1 to 60 characters" in line
    assert line.isprintable()


def test_names_must_differ(tmp_path):
    (line,) = faults_of(LFP + LFP, tmp_path)
    assert line.startswith(
        'bank.toml:9: battery[2].name = "house"; expected a name that battery[1]'
    )
    (line,) = faults_of(
        LFP.replace("house", "battery 2") + LFP.replace('name = "house"', ""), tmp_path
    )
    assert "battery[2].name" in line
    (line,) = faults_of(LFP + (LOAD + "power_W = 1\n") * 2, tmp_path)
    assert "load[2].name" in line
    (line,) = faults_of(LFP.replace("house", "bank"), tmp_path)
    assert "another name" in line


def test_names_that_differ_by_case_only_are_fine(tmp_path):
    lines = faults_of(LFP + LFP.replace("house", "House") + "mass_kg = 0", tmp_path)
    assert len(lines) == 1


def test_hostile_keys_stay_on_one_line(tmp_path):
    key = '"' + "\\n[31mx" * 50 + '"'
    lines = faults_of(LFP + f"{key} = 1\n", tmp_path)
    assert len(lines) == 1
    assert lines[0].isprintable()
    assert len(lines[0]) < 600


def test_many_faults_are_told_quickly(tmp_path):
    text = LFP + "".join(f"wrong_key_{number} = 1\n" for number in range(3000))
    with within(2.0):
        lines = faults_of(text, tmp_path)
    assert len(lines) == 101
    assert lines[-1] == "bank.toml: and 2900 more faults"
    few = LFP + "".join(f"wrong_key_{number} = 1\n" for number in range(101))
    assert faults_of(few, tmp_path)[-1] == "bank.toml: and 1 more fault"


def test_every_quantity_says_unit_and_range():
    for name, quantity in QUANTITIES.items():
        assert quantity.unit in quantity.allowed
        assert quantity.lowest < quantity.highest
        assert quantity.meaning, name
