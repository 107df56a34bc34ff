"""Surroundings that follow the day: what is refused, what is built, what is assumed."""

import pytest
from scenario_texts import LFP, assumed, faults_of, read


def swing(keys, rest=""):
    return f"[surroundings]\ntemperature_C = {{ {keys} }}\n{rest}{LFP}"


def test_a_daily_swing(tmp_path):
    text = swing('mean_C = 12, swing_C = 8, warmest_at = "14:30"')
    scenario = read(text, tmp_path)
    bank = scenario.bank
    assert (bank.temperature_K, bank.swing_K, bank.warmest_s) == (285.15, 8.0, 52_200.0)
    # warmest at the given hour, coldest twelve hours later
    assert bank.ambient_K(52_200.0) == pytest.approx(293.15)
    assert bank.ambient_K(52_200.0 + 43_200.0) == pytest.approx(277.15)
    listed = assumed(scenario)
    assert listed["simulation.starts_at"] == "00:00"
    assert not any(key.startswith("surroundings") for key in listed)
    assert scenario.remarks == ()


def test_the_warmest_hour_is_assumed(tmp_path):
    text = swing("mean_C = 12, swing_C = 8", '[simulation]\nstarts_at = "06:00"\n')
    scenario = read(text, tmp_path)
    assert scenario.bank.warmest_s == 15 * 3600.0
    assert assumed(scenario)["surroundings.temperature_C.warmest_at"] == "15:00"
    assert "simulation.starts_at" not in assumed(scenario)


def test_a_swing_of_nothing(tmp_path):
    scenario = read(swing('mean_C = 12, swing_C = 0, warmest_at = "14:00"'), tmp_path)
    assert (scenario.bank.temperature_K, scenario.bank.swing_K) == (285.15, 0.0)
    assert scenario.remarks == (
        "surroundings.temperature_C.warmest_at has no effect because swing_C is 0.",
    )
    assert "simulation.starts_at" not in assumed(scenario)
    quiet = read(swing("mean_C = 12, swing_C = 0"), tmp_path)
    assert quiet.remarks == ()
    assert "surroundings.temperature_C.warmest_at" not in assumed(quiet)


@pytest.mark.parametrize(
    ("keys", "expected"),
    [
        (
            "mean_C = 70, swing_C = 10.1",
            ".swing_C = 10.1; expected less: the day would go from 59.9",
        ),
        ("mean_C = -30, swing_C = 11", ".swing_C = 11.0; expected less: the day would go from -41"),
        ("mean_C = 10", ".swing_C is missing"),
        ("swing_C = 10", ".mean_C is missing"),
        ("mean_C = 10, swing_C = -1", ".swing_C = -1; expected 0 to 40 degC"),
        ("mean_C = 90, swing_C = 1", ".mean_C = 90; expected -40 to 80 degC"),
        (
            "mean_C = 10, swing_C = 1, warmest_at = '24:00'",
            '.warmest_at = "24:00"; expected a time',
        ),
    ],
)
def test_swings_that_make_no_sense(keys, expected, tmp_path):
    (line,) = faults_of(swing(keys), tmp_path)
    assert line.startswith(f"bank.toml:2: surroundings.temperature_C{expected}")


def test_the_whole_range_may_be_used(tmp_path):
    assert read(swing("mean_C = 40, swing_C = 40"), tmp_path).bank.swing_K == 40.0
    assert read(swing("mean_C = -20, swing_C = 20"), tmp_path).bank.swing_K == 20.0
