"""Chargers: what is refused, what is built, what is assumed."""

import pytest
from scenario_texts import LFP, TABLE_ONLY, assumed, faults_of, read

from bankSim.model.charger import Charger, Stage, Sun
from bankSim.model.load import Schedule

CHARGER = '[[charger]]\nname = "mains"\n'


def charger_of(keys, folder):
    return read(LFP + CHARGER + keys, folder).bank.chargers[0]


def test_amperes_and_one_voltage(tmp_path):
    scenario = read(LFP + CHARGER + "limit_A = 30\nhold_V = 14.4\n", tmp_path)
    assert scenario.bank.chargers == (Charger("mains", (Stage(14.4),), limit_A=30.0),)
    assert not any(key.startswith("charger") for key in assumed(scenario))
    assert "simulation.starts_at" not in assumed(scenario)


def test_watts_and_stages(tmp_path):
    keys = """limit_W = 400
stages = [
  { hold_V = 14.4, until_tail_A = 4, at_most_h = 2.5 },
  { hold_V = 14.1, until_tail_A = 0 },
  { hold_V = 13.9, at_most_h = 1 },
  { hold_V = 13.5 },
]
active_h = [[1, 2.5], [30, 40]]
daily = [{ from = "22:00", to = "05:30" }]
"""
    expected = Charger(
        "mains",
        (
            Stage(14.4, 4.0, 9000.0),
            Stage(14.1, 0.0),
            Stage(13.9, None, 3600.0),
            Stage(13.5),
        ),
        limit_W=400.0,
        schedule=Schedule(
            active_s=((3600.0, 9000.0), (108_000.0, 144_000.0)), daily_s=((79_200.0, 19_800.0),)
        ),
    )
    assert charger_of(keys, tmp_path) == expected


def test_the_last_stage_may_end(tmp_path):
    charger = charger_of("limit_A = 9\nstages = [{ hold_V = 14, until_tail_A = 2 }]", tmp_path)
    assert charger.stages == (Stage(14.0, 2.0),)


def test_sun(tmp_path):
    keys = 'hold_V = 14\nsun = { peak_W = 250, rise = "06:15", set = "18:30" }'
    scenario = read(LFP + CHARGER + keys, tmp_path)
    (charger,) = scenario.bank.chargers
    assert charger.sun == Sun(250.0, 22_500.0, 66_600.0)
    assert (charger.limit_A, charger.limit_W) == (None, None)
    assert assumed(scenario)["simulation.starts_at"] == "00:00"


def test_a_daily_charger_needs_the_clock(tmp_path):
    keys = 'limit_A = 9\nhold_V = 14\ndaily = [{ from = "09:00", to = "15:00" }]'
    assert assumed(read(LFP + CHARGER + keys, tmp_path))["simulation.starts_at"] == "00:00"
    given = '[simulation]\nstarts_at = "08:00"\n'
    assert "simulation.starts_at" not in assumed(read(given + LFP + CHARGER + keys, tmp_path))


def test_default_names_of_chargers(tmp_path):
    text = LFP + "[[charger]]\nlimit_A = 3\nhold_V = 14\n" * 2
    assert [one.name for one in read(text, tmp_path).bank.chargers] == ["charger 1", "charger 2"]


def test_a_charger_may_share_its_name_with_a_load(tmp_path):
    text = LFP + CHARGER + "limit_A = 3\nhold_V = 14\n[[load]]\nname = 'mains'\ncurrent_A = 1\n"
    assert read(text, tmp_path).bank.chargers[0].name == "mains"


FULL = "hold_V = 14\nlimit_A = 9\n"


@pytest.mark.parametrize(
    ("keys", "expected"),
    [
        (
            "hold_V = 14",
            "7: charger[1]: how much it gives is missing; expected one of limit_A, limit_W, sun",
        ),
        (FULL + "limit_W = 9", "7: charger[1]: limit_A and limit_W are given together; expected"),
        (
            FULL + "sun = { peak_W = 9, rise = '06:00', set = '18:00' }",
            "7: charger[1]: limit_A and sun are given together; expected one of them",
        ),
        (
            "limit_A = 9",
            "7: charger[1]: the voltage that it holds is missing; expected one of stages, hold_V",
        ),
        (
            FULL + "stages = [{ hold_V = 14 }]",
            "7: charger[1]: stages and hold_V are given together; expected one of them",
        ),
        ("limit_A = 9\nstages = []", "10: charger[1].stages has 0 items; expected at least 1"),
        (
            "limit_A = 9\n[charger.stages]\nhold_V = 14",
            "10: charger[1].stages = a table; expected an array; write [[charger.stages]], with",
        ),
        (
            "limit_A = 9\nstages = [{ hold_V = 14 }, { hold_V = 13.5 }]",
            "10: charger[1].stages[1]: it never ends, so the next stage is never reached; expected "
            "until_tail_A or at_most_h",
        ),
        ("limit_A = 9\nhold_V = 3.6", "10: charger[1].hold_V = 3.6; expected 4 to 24 V (at the"),
        ("limit_A = 9\nhold_V = 24.1", "10: charger[1].hold_V = 24.1; expected 4 to 24 V (at the"),
        (
            "limit_A = 9\nstages = [{ hold_V = 144 }]",
            "10: charger[1].stages[1].hold_V = 144.0; expected 4 to 24 V (at the loads, whole",
        ),
        (
            "hold_V = 14\nsun = { peak_W = 9, rise = '18:00', set = '06:00' }",
            "10: charger[1].sun: set = 06:00 is not after rise = 18:00; expected both on the same",
        ),
        (
            "hold_V = 14\nsun = { peak_W = 9, rise = '06:00', set = '06:00' }",
            "10: charger[1].sun: set = 06:00 is not after rise = 06:00",
        ),
        (
            "hold_V = 14\nsun = { peak_W = 9, rise = '06:00' }",
            "10: charger[1].sun.set is missing",
        ),
        (
            "limit_A = 9\nstages = [{ hold_V = 14, until_tail_A = 9 }]",
            "10: charger[1].stages[1].until_tail_A = 9.0; expected less than limit_A = 9.0 A",
        ),
        (
            FULL + "active_h = [2, 5]",
            "11: charger[1].active_h is not a list of windows; write [[from, to]], such as",
        ),
        (
            FULL + "until_tail_A = 5",
            "11: charger[1].until_tail_A is not a known key; it belongs in a stage of the charger",
        ),
        (FULL + "active_h = [[2, 1]]", "11: charger[1].active_h[1] = [2.0, 1.0]; expected [from,"),
        (
            FULL + "active_h = [[1, 3], [2, 4]]",
            "11: charger[1].active_h[2] = [2.0, 4.0]; expected a start at 3 h or later",
        ),
        (
            FULL + "daily = [{ from = '18:00', to = '18:00' }]",
            "11: charger[1].daily[1]: from and to are equal",
        ),
        (
            "limit_A = 9\nstages = [{ hold_V = 14, until_tail_A = -1 }]",
            "10: charger[1].stages[1].until_tail_A = -1; expected 0 to 100000 A",
        ),
        (
            "limit_A = 9\nstages = [{ hold_V = 14, at_most_h = 0 }]",
            "10: charger[1].stages[1].at_most_h = 0; expected more than 0",
        ),
        (FULL + "duty = { on_min = 1, off_min = 1 }", "11: charger[1].duty is not a known key; "),
        ("limit_A = 0\nhold_V = 14", "9: charger[1].limit_A = 0; expected more than 0"),
    ],
)
def test_chargers_that_make_no_sense(keys, expected, tmp_path):
    (line,) = faults_of(LFP + CHARGER + keys, tmp_path)
    assert line.startswith(f"bank.toml:{expected}")
    assert line.endswith('(charger "mains")')


def test_several_faults_of_a_charger_are_told_at_once(tmp_path):
    keys = "limit_A = 9\nlimit_W = 9\nhold_V = 99\nactive_h = [[2, 1]]\n"
    lines = faults_of(LFP + CHARGER + keys, tmp_path)
    assert [line.split()[1] for line in lines] == [
        "charger[1]:",
        "charger[1].hold_V",
        "charger[1].active_h[1]",
    ]


def test_names_of_chargers_must_differ(tmp_path):
    lines = faults_of(LFP + (CHARGER + FULL) * 2, tmp_path)
    assert lines == [
        'bank.toml:12: charger[2].name = "mains"; expected a name that charger[1] does not have'
    ]


def test_too_many_chargers_are_refused(tmp_path):
    text = LFP + "[[charger]]\nlimit_A = 3\nhold_V = 14\n" * 21
    (line,) = faults_of(text, tmp_path)
    assert "charger has 21 items; expected at most 20" in line


ELEMENT = TABLE_ONLY.replace("cells_in_series = 2", "cells_in_series = 1")


@pytest.mark.parametrize(
    ("batteries", "hold_V", "allowed"),
    [
        (ELEMENT, 59.0, None),  # one element may stand for a whole battery
        (ELEMENT, 61.0, "1 to 60 V"),
        (TABLE_ONLY, 12.0, None),
        (TABLE_ONLY, 12.1, "2 to 12 V"),
        (LFP + ELEMENT, 14.4, None),
        (LFP + ELEMENT, 25.0, "1 to 24 V"),
        (LFP + TABLE_ONLY, 14.4, "2 to 12 V"),
    ],
)
def test_what_a_charger_may_hold_fits_the_batteries(batteries, hold_V, allowed, tmp_path):
    text = batteries + f"[[charger]]\nlimit_A = 3\nhold_V = {hold_V}\n"
    if allowed is None:
        assert read(text, tmp_path).bank.chargers[0].stages == (Stage(hold_V),)
    else:
        (line,) = faults_of(text, tmp_path)
        assert f"hold_V = {hold_V}; expected {allowed}" in line


def test_number_of_cells_in_doubt_does_not_judge_a_charger(tmp_path):
    text = LFP.replace("cells_in_series = 4", "cells_in_series = 0") + CHARGER
    (line,) = faults_of(text + "limit_A = 9\nhold_V = 99\n", tmp_path)
    assert "battery[1].cells_in_series = 0" in line


@pytest.mark.parametrize(
    ("name", "battery", "words"),
    [
        # its column of currents would stand in place of the battery's
        ("house", "house", "a name that battery[1] does not have: both head a column"),
        ("battery 1", None, "a name that battery[1] does not have: both head a column"),
        ("bank", "house", "another name; this one heads the columns of the whole bank"),
        ("battery 1", "house", None), ("House", "house", None),
    ],
)  # fmt: skip
def test_a_charger_has_a_name_of_its_own(name, battery, words, tmp_path):
    own = LFP.replace('name = "house"\n', f'name = "{battery}"\n' if battery else "")
    text = own + f'[[charger]]\nname = "{name}"\n' + FULL
    if words is None:
        columns = read(text, tmp_path).bank
        assert {columns.batteries[0].name, columns.chargers[0].name} == {"house", name}
        return
    (line,) = faults_of(text, tmp_path)
    assert f'charger[1].name = "{name}"; expected {words}' in line


@pytest.mark.parametrize(
    ("limit", "tail_A", "words"),
    [
        ("limit_A = 9", 8.9, None), ("limit_A = 9", 9.0, "less than limit_A = 9.0 A, or it ends"),
        ("sun = { peak_W = 70, rise = '06:00', set = '18:00' }", 9.0, None),
    ],
)  # fmt: skip
def test_a_tail_that_is_there_from_the_start(limit, tail_A, words, tmp_path):
    text = LFP + CHARGER + f"{limit}\nstages = [{{ hold_V = 14, until_tail_A = {tail_A} }}]\n"
    if words is None:
        assert read(text, tmp_path).bank.chargers[0].stages[0].tail_A == tail_A
    else:
        (line,) = faults_of(text, tmp_path)
        assert f"charger[1].stages[1].until_tail_A = {tail_A}; expected {words}" in line
