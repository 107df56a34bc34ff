"""Releases of protection rules: what is refused, what is built, what is assumed."""

import pytest
from scenario_texts import LFP, TABLE_ONLY, assumed, faults_of, read

from bankSim.model.rule import Needs, Release, Watch

RULE = 'protection = [{{ watches = "{}", {}, blocks = "discharge", after_s = 1 }}]'
LOWEST, HOT, CURRENT = "lowest cell voltage", "temperature", "discharge current"
AT = "bank.toml:7: battery[1].protection[1]"


def rules_of(watches, keys, folder):
    return read(LFP + RULE.format(watches, keys), folder)


@pytest.mark.parametrize(
    ("watches", "keys", "expected"),
    [
        (LOWEST, "trips_below = 2.5, releases_above = 2.9", Release(2.9)),
        (LOWEST, "trips_below = 2.5, releases_above = 2.5", Release(2.5)),
        (
            "battery voltage",
            "trips_above = 14.6, releases_below = 13.8, release_after_s = 30",
            Release(13.8, 30.0),
        ),
        (
            CURRENT,
            "trips_above = 150, releases_below = 0, release_needs = 'load removed'",
            Release(0.0, 0.0, Needs.LOAD_REMOVED),
        ),
        (
            LOWEST,
            "trips_below = 2.5, releases_above = 2.9, release_needs = 'charging'",
            Release(2.9, 0.0, Needs.CHARGING),
        ),
        (
            LOWEST,
            "trips_below = 2.5, releases_above = 2.9, release_needs = 'nothing'",
            Release(2.9),
        ),
        (LOWEST, "trips_below = 2.5", None),
    ],
)
def test_releases(watches, keys, expected, tmp_path):
    scenario = rules_of(watches, keys, tmp_path)
    assert scenario.bank.batteries[0].rules[0].release == expected
    assert scenario.remarks == ()
    wanted = expected is not None and "release_after_s" not in keys
    assert ("battery[1].protection[1].release_after_s" in assumed(scenario)) is wanted


def test_release_of_a_temperature_is_in_kelvin(tmp_path):
    (rule,) = (
        rules_of(HOT, "trips_above = 60, releases_below = 45", tmp_path).bank.batteries[0].rules
    )
    assert rule.watches is Watch.TEMPERATURE
    assert (rule.threshold, rule.release.threshold) == pytest.approx((333.15, 318.15))


@pytest.mark.parametrize(
    ("watches", "keys", "text"),
    [
        (
            LOWEST,
            "trips_below = 2.5, releases_above = 2.4",
            ".releases_above = 2.4; expected 2.5 V (trips_below) or more",
        ),
        (
            HOT,
            "trips_above = 60, releases_below = 61",
            ".releases_below = 61.0; expected 60 degC (trips_above) or less",
        ),
        (
            LOWEST,
            "trips_below = 2.5, releases_below = 2.4",
            ".releases_below does not go with trips_below; expected releases_above",
        ),
        (
            CURRENT,
            "trips_above = 150, releases_above = 200",
            ".releases_above does not go with trips_above; expected releases_below",
        ),
        (
            LOWEST,
            "trips_below = 2.5, releases_above = 3, releases_below = 2",
            ": releases_above and releases_below are both given; expected releases_above alone",
        ),
        (
            CURRENT,
            "trips_above = 150, releases_above = 200, releases_below = 100",
            ": releases_below and releases_above are both given; expected releases_below alone",
        ),
        (
            LOWEST,
            "trips_below = 2.5, releases_above = 12.9",
            ".releases_above = 12.9; expected 0 to 6 V for lowest cell voltage (one cell, not the",
        ),
        (HOT, "trips_below = 0, releases_above = 277", ".releases_above = 277.0; expected -60 to"),
        # one limit at fault: the other is not held against it
        (
            LOWEST,
            "trips_below = 10.5, releases_above = 2.9",
            ".trips_below = 10.5; expected 0 to 6",
        ),
        (LOWEST, "releases_above = 2.9", ": trips_below and trips_above are both missing"),
        (
            LOWEST,
            "trips_below = 2.5, releases_above = 2.9, release_after_s = -1",
            ".release_after_s = -1; expected 0 to 86400 s",
        ),
        (
            LOWEST,
            "trips_below = 2.5, releases_above = 2.9, release_needs = 'charger'",
            '.release_needs = "charger"; expected "nothing", "charging", "load removed" or "hand"',
        ),
    ],
)
def test_releases_that_make_no_sense(watches, keys, text, tmp_path):
    (line,) = faults_of(LFP + RULE.format(watches, keys), tmp_path)
    assert line.startswith(AT + text)


def test_both_limits_out_of_range_are_told(tmp_path):
    keys = "trips_below = 10.5, releases_above = 12.9"
    lines = faults_of(LFP + RULE.format(LOWEST, keys), tmp_path)
    assert [line.split()[1].rpartition(".")[2] for line in lines] == [
        "trips_below",
        "releases_above",
    ]


@pytest.mark.parametrize(
    ("trips", "side"),
    [("trips_below = 2.5", "releases_above"), ("trips_above = 4", "releases_below")],
)
def test_what_a_release_without_threshold_says_is_named(trips, side, tmp_path):
    keys = f"{trips}, release_after_s = 30, release_needs = 'charging'"
    scenario = rules_of(LOWEST, keys, tmp_path)
    assert scenario.bank.batteries[0].rules[0].release is None
    assert scenario.remarks == tuple(
        f"battery[1].protection[1].{key} has no effect because the rule stays tripped without "
        f"{side}."
        for key in ("release_after_s", "release_needs")
    )


@pytest.mark.parametrize(
    ("keys", "named"),
    [
        ("trips_below = 2.5, releases_above = 2.9", "releases_above"),
        ("trips_above = 3.6, releases_below = 3.4", "releases_below"),
    ],
)
def test_a_release_by_hand_never_happens(keys, named, tmp_path):
    scenario = rules_of(LOWEST, f"{keys}, release_needs = 'hand'", tmp_path)
    assert scenario.bank.batteries[0].rules[0].release.needs is Needs.HAND
    assert scenario.remarks == (
        f'battery[1].protection[1].{named} has no effect because release_needs = "hand" never '
        "happens in a run.",
    )
    assert "battery[1].protection[1].release_after_s" not in assumed(scenario)


ONE_WAY = '{ watches = "temperature", trips_below = 0.0, blocks = "charge" }'
BOTH = '{ watches = "temperature", trips_above = 60.0, blocks = "both" }'


@pytest.mark.parametrize(
    ("rules", "matters"),
    [(ONE_WAY, True), (f"{BOTH}, {ONE_WAY}", True), (BOTH, False), ("", False)],
)
def test_drop_of_the_diode_matters_where_one_direction_is_blocked(rules, matters, tmp_path):
    key = "battery[1].diode_drop_V"
    text = TABLE_ONLY.replace("[battery.cell]", f"protection = [{rules}]\n[battery.cell]")
    scenario = read(text, tmp_path)
    assert scenario.bank.batteries[0].diode_drop_V == 0.7
    assert (key in assumed(scenario)) is matters
    scenario = read(text.replace("protection =", "diode_drop_V = 0.4\nprotection ="), tmp_path)
    assert scenario.bank.batteries[0].diode_drop_V == 0.4
    assert key not in assumed(scenario)
    said = f"{key} has no effect because no rule of the battery blocks one direction alone."
    assert scenario.remarks == (() if matters else (said,))


def test_usual_rules_let_go_and_list_the_diode(tmp_path):
    scenario = read(LFP, tmp_path)
    assert all(rule.release for rule in scenario.bank.batteries[0].rules)
    assert assumed(scenario)["battery[1].diode_drop_V"] == 0.7
