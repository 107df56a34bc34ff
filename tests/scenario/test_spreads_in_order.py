"""No draw breaks an order between two keys, or leaves what is plausible: cut, or refused."""

import itertools
import re

import numpy as np
import pytest
from pytest import approx
from scenario_texts import LFP, faults_of, read
from scipy import stats

from bankSim.errors import ScenarioError
from bankSim.scenario.given_spreads import given_spreads
from bankSim.scenario.variant import Variants

TEXT = (
    "[surroundings.temperature_C]\nmean_C = {MEAN}\nswing_C = {SWING}\n"
    + LFP.replace("{", "{{")
    + """
heater = {{ power_W = 20, on_below_C = {ON}, off_above_C = {OFF} }}
balancer = {{ kind = "bleed", current_A = 0.1, starts_above_V = {START} }}
[[battery.protection]]
watches = "lowest cell voltage"
trips_below = {TRIP}
releases_above = {BACK}
blocks = "discharge"
[[battery.protection]]
watches = "highest cell voltage"
trips_above = {HIGH}
releases_below = {FALL}
blocks = "charge"
[[load]]
power_W = 300
cut_off_V = {CUT}
restart_V = {AGAIN}
[[charger]]
limit_A = {LIMIT}
stages = [{{ hold_V = {HOLD}, until_tail_A = {TAIL} }}]
"""
)
USUAL = {
    "MEAN": 10, "SWING": 5, "TRIP": 2.5, "BACK": 2.9, "HIGH": 3.65, "FALL": 3.4, "ON": 0, "OFF": 5,
    "START": 3.4, "CUT": 11.5, "AGAIN": 12.5, "LIMIT": 20, "HOLD": 14.2, "TAIL": 2,
}  # fmt: skip
KEYS = {
    "MEAN": "mean_C", "SWING": "swing_C", "TRIP": "trips_below", "BACK": "releases_above",
    "HIGH": "trips_above", "FALL": "releases_below", "ON": "on_below_C", "OFF": "off_above_C",
    "CUT": "cut_off_V", "AGAIN": "restart_V", "LIMIT": "limit_A", "TAIL": "until_tail_A",
}  # fmt: skip
# lower one, upper one, the gap between them
PAIRS = [("TRIP", "BACK", 0.4), ("FALL", "HIGH", 0.25), ("ON", "OFF", 5.0), ("CUT", "AGAIN", 1.0),
         ("TAIL", "LIMIT", 18.0), ("MEAN", "SWING", 80.0 - 15.0)]  # fmt: skip
every_pair = pytest.mark.parametrize(("one", "other", "gap"), PAIRS, ids=[row[0] for row in PAIRS])


def text_of(**changes):
    return TEXT.format(**{**USUAL, **changes})


def normal(name, sd):
    return f"{{ value = {USUAL[name]}, sd = {sd!r} }}"


def extremes(scenario):
    """The least and the greatest value that each given spread can take, and one in the middle."""
    chances = np.array([2.0**-54, 0.5, 1.0 - 2.0**-53])
    return {one.path: one.spread.at(chances).tolist() for one in given_spreads(scenario.keys)}


def assert_every_corner_is_sound(scenario):
    """The checks of single values take every combination of the extremes."""
    ends = extremes(scenario)
    variants = Variants(scenario)
    for values in itertools.product(*ends.values()):
        variants.with_values(dict(zip(ends, values, strict=True)))


def test_the_usual_values_are_sound(tmp_path):
    assert given_spreads(read(text_of(), tmp_path).keys) == ()


@every_pair
def test_one_of_two_is_cut(one, other, gap, tmp_path):
    for name in (one, other):
        sd = 0.49 * min(gap, USUAL[name] or gap)
        scenario = read(text_of(**{name: normal(name, sd)}), tmp_path)
        assert_every_corner_is_sound(scenario)
        (given,) = given_spreads(scenario.keys)
        assert given.spread.sd == sd


@every_pair
def test_both_are_cut(one, other, gap, tmp_path):
    for parts in ((0.25, 0.24), (0.05, 0.4), (0.4, 0.05)):
        sds = [min(gap, 12.0) * part for part in parts]
        sds = [min(sd, abs(USUAL[n]) or sd) for n, sd in zip((one, other), sds, strict=True)]
        words = {name: normal(name, sd) for name, sd in zip((one, other), sds, strict=True)}
        assert_every_corner_is_sound(read(text_of(**words), tmp_path))


# not the temperature: half of 65 degC is too wide in the first place
@pytest.mark.parametrize(("one", "other", "gap"), PAIRS[:-1], ids=[row[0] for row in PAIRS[:-1]])
def test_too_near_is_refused_with_what_fits(one, other, gap, tmp_path):
    for name, beside in ((one, other), (other, one)):
        sd = 0.51 * gap
        if USUAL[name] and sd > USUAL[name]:
            continue  # wider than the value itself
        (line,) = faults_of(text_of(**{name: normal(name, sd)}), tmp_path)
        words = f"would pass {KEYS[beside]} = {USUAL[beside]} in some draws; expected an sd of "
        assert f".{KEYS[name]} = {{ value = {USUAL[name]}, sd = {sd:g} }} {words}" in line
        told = float(re.search(r"an sd of (\S+) or less", line)[1])
        assert told == approx(gap / 2.0, rel=0.01)
        assert_every_corner_is_sound(read(text_of(**{name: normal(name, told)}), tmp_path))


def test_both_too_near_are_told_what_fits_together(tmp_path):
    words = {"TRIP": normal("TRIP", 0.15), "BACK": normal("BACK", 0.1)}
    (line,) = faults_of(text_of(**words), tmp_path)
    assert "trips_below = { value = 2.5, sd = 0.15 } would pass releases_above = { value" in line
    assert "expected two sd that together are 0.2 or less, or values further apart" in line


def test_the_warmest_hour(tmp_path):
    words = {"MEAN": "{ value = 60, sd = 10 }", "SWING": "{ value = 4, sd = 1 }"}
    (line,) = faults_of(text_of(**words), tmp_path)
    assert "mean_C = { value = 60, sd = 10 } with swing_C = { value = 4, sd = 1 } would" in line
    assert "leave -40 to 80 degC in some draws; expected two sd that together are 8 or" in line


RANGES = [
    ({"TRIP": "{ low = 2.4, high = 3.0 }"}, "trips_below = { low = 2.4, high = 3 } would pass"),
    ({"TRIP": "{ low = 2.4, high = 2.6 }", "BACK": "{ low = 2.55, high = 3.5 }"},
     "releases_above = { low = 2.55, high = 3.5 } would pass trips_below = { low = 2.4,"),
    ({"CUT": "{ value = 11.5, low = 11, high = 13 }"}, "cut_off_V = { value = 11.5, low = 11,"),
]  # fmt: skip


@pytest.mark.parametrize(("words", "told"), RANGES)
def test_ranges_that_meet_are_refused(words, told, tmp_path):
    (line,) = faults_of(text_of(**words), tmp_path)
    assert told in line
    assert line.partition(" (battery")[0].endswith("expected spreads that do not meet")


def test_ranges_beside_each_other_and_a_normal_one_cut_at_a_range(tmp_path):
    assert_every_corner_is_sound(
        read(text_of(TRIP="{ low = 2.4, high = 2.6 }", BACK=normal("BACK", 0.15)), tmp_path)
    )
    text = text_of(TRIP="{ low = 2.4, high = 2.6 }", BACK="{ low = 2.6, high = 3.0 }")
    assert len(given_spreads(read(text, tmp_path).keys)) == 2


# A normal spread that is cut is SciPy's truncated one: at 5 K from the other limit, 2 sd.
def test_the_cut_one_has_the_stated_distribution(tmp_path):
    (given,) = given_spreads(read(text_of(ON=normal("ON", 2.5)), tmp_path).keys)
    chances = np.linspace(0.01, 0.99, 50)
    exact = stats.truncnorm(-60.0 / 2.5, 2.0, loc=0.0, scale=2.5)
    assert given.spread.at(chances) == approx(exact.ppf(chances), rel=1e-6, abs=1e-6)


# (which, what is written, what is allowed)
BEYOND = [
    ("TRIP", "{ low = 2.0, high = 7.0 }", "low and high from 0 to 6 in its table"),
    ("START", "{ low = 3.0, high = 7.0 }", "low and high from 0 to 6 in its table"),
    ("HOLD", "{ low = 13.0, high = 30.0 }", "low and high from 4 to 24 in its table"),
    ("HOLD", "{ value = 14.2, sd = 6 }", "an sd of 5.77 or less in its table (the whole range is"),
    ("TRIP", "{ value = 2.5, sd = 500 }", "an sd of 1.73 or less in its table (the whole range is"),
]


@pytest.mark.parametrize(("name", "words", "allowed"), BEYOND)
def test_what_no_single_value_may_be(name, words, allowed, tmp_path):
    lines = faults_of(text_of(**{name: words}), tmp_path)
    assert f"; expected {allowed}" in lines[0]


def test_a_normal_one_is_cut_where_single_values_are_refused(tmp_path):
    for name, sd in (("HOLD", 5.7), ("START", 1.7)):
        assert_every_corner_is_sound(read(text_of(**{name: normal(name, sd)}), tmp_path))


def test_values_out_of_order_are_told_once(tmp_path):
    (line,) = faults_of(text_of(TRIP=normal("TRIP", 0.1), BACK=2.4), tmp_path)
    assert "releases_above = 2.4; expected 2.5 V (trips_below) or more" in line


# Two wells appear in the draws even where the central value has one.
def test_wells_of_some_draws_need_a_rate(tmp_path):
    text = f"{LFP}[battery.cell]\navailable_fraction = {{ low = 0.8, high = 1.0, value = 1.0 }}\n"
    (line,) = faults_of(text, tmp_path)
    assert "well_rate_per_h is missing; available_fraction = 0.8 makes two wells" in line
    assert_every_corner_is_sound(read(text + "well_rate_per_h = 1\n", tmp_path))


def test_a_pinned_value_has_nothing_to_keep(tmp_path):
    assert len(given_spreads(read(text_of(TRIP=normal("TRIP", 0)), tmp_path).keys)) == 1
    with pytest.raises(ScenarioError):
        read(text_of(TRIP="{ value = 3.0, sd = 0 }"), tmp_path)
