"""Spreads that are absurdly wide, and words or lists in the place of numbers."""

import re

import pytest
from pytest import approx
from scenario_texts import LFP, faults_of, read
from scipy import stats

from bankSim.scenario.given_spreads import given_spreads
from bankSim.scenario.glossary import QUANTITIES
from bankSim.scenario.uncertain import SPREAD_FORMS

# (key, value, widest sd that is taken, why)
WIDEST = [
    ("lead_mohm", 84.0, 84.0, "as much as the value itself"),
    ("lead_mohm", 0.25, 0.25, "as much as the value itself"),
    ("mass_kg", 11.0, 11.0, "as much as the value itself"),
    ("capacity_fraction", 0.85, None, "the whole range is 0.01 to 2"),
    ("capacity_fraction", 0.4, 0.4, "as much as the value itself"),
    ("state_of_charge", 1.0, None, "the whole range is 0 to 1"),
    ("resistance_factor", 1.5, 1.5, "as much as the value itself"),
]


def of_the_range(key):
    """The sd of a number that may lie anywhere in the range of a key."""
    quantity = QUANTITIES[key]
    return stats.uniform(quantity.lowest, quantity.highest - quantity.lowest).std().item()


def line_of(key, words, folder):
    (line,) = faults_of(f"{LFP}{key} = {words}\n", folder)
    assert line.startswith(f"bank.toml:7: battery[1].{key} = {words}; expected ")
    assert line.endswith('(battery "house")')
    return line


@pytest.mark.parametrize(("key", "value", "widest", "why"), WIDEST)
def test_the_widest_sd(key, value, widest, why, tmp_path):
    widest = of_the_range(key) if widest is None else widest
    for just in (0.5 * widest, widest * (1.0 - 1e-12)):
        (given,) = given_spreads(read(f"{LFP}{key} = {{ value = {value}, sd = {just!r} }}\n",
                                      tmp_path).keys)  # fmt: skip
        assert given.spread.sd == just
    line = line_of(key, f"{{ value = {value}, sd = {widest * 1.01:.12g} }}", tmp_path)
    told = float(re.search(r"an sd of (\S+) or less", line)[1])
    assert told <= widest
    assert told == approx(widest, rel=0.01)
    assert f"({why}), or {{ low, high }}" in line
    read(f"{LFP}{key} = {{ value = {value}, sd = {told} }}\n", tmp_path)


# (key, what is written, what is meant)
MEANT = [
    ("capacity_fraction", "{ value = 0.85, sd = 5 }", "sd_percent = 5"),
    ("lead_mohm", "{ value = 2.0, sd = 30 }", "sd_percent = 30"),
    ("mass_kg", "{ value = 2000, sd_percent = 150 }", "sd = 150"),
]


@pytest.mark.parametrize(("key", "words", "meant"), MEANT, ids=[row[0] for row in MEANT])
def test_a_percentage_written_as_an_sd_and_the_other_way(key, words, meant, tmp_path):
    assert f"; did you mean {meant}? (battery" in line_of(key, words, tmp_path)
    mended = re.sub(r"sd\w* = \S+", meant, words)
    read(f"{LFP}{key} = {mended}\n", tmp_path)


@pytest.mark.parametrize(
    ("key", "words"),
    [("lead_mohm", "{ value = 84.0, sd = 20000 }"),
     ("capacity_fraction", "{ value = 0.85, sd_percent = 500 }")],
)  # fmt: skip
def test_no_hint_that_would_be_refused_too(key, words, tmp_path):
    assert "did you mean" not in line_of(key, words, tmp_path)


@pytest.mark.parametrize("value", [10, -10, 0])
def test_a_temperature(value, tmp_path):
    head = "[surroundings]\ntemperature_C = {{ value = {}, sd = {} }}\n"
    (line,) = faults_of(head.format(value, 50) + LFP, tmp_path)
    assert line.startswith(f"bank.toml:2: surroundings.temperature_C = {{ value = {value}, sd =")
    assert "expected an sd of 34.6 or less in its table (the whole range is -40 to 80)" in line
    assert "did you mean" not in line
    read(head.format(value, 34) + LFP, tmp_path)


FORMS = f", or {SPREAD_FORMS}"
NO_NUMBERS = [
    ("lead_mohm", '"2 +- 1"', "expected 0 to 100000 mohm (write the number alone, without quotes"),
    ("lead_mohm", '"2,5"', "(write a decimal point and no quotes)"),
    ("lead_mohm", "[1, 2]", "(write the number alone, without brackets; the unit is mohm)"),
    ("lead_mohm", "[]", "without brackets"),
    ("state_of_charge", '"full"', "expected 0 to 1 (write the number alone, without quotes)"),
]


@pytest.mark.parametrize(("key", "words", "told"), NO_NUMBERS)
def test_words_and_lists_are_told_the_forms(key, words, told, tmp_path):
    line = line_of(key, words, tmp_path)
    assert told in line
    assert FORMS in line


def test_whole_and_exact_numbers_take_no_spread(tmp_path):
    for words in ('"4"', "[4]"):
        (line,) = faults_of(LFP.replace("= 4", f"= {words}"), tmp_path)
        assert "a whole number, 1 to 100 (write the number alone" in line
        assert "sd" not in line
    (line,) = faults_of(LFP.replace("= 4", "= { value = 4, sd = 1 }"), tmp_path)
    assert "; this key takes a number without a spread" in line


SPREAD = "{ value = 2, sd = 1 }"
WORDS = [
    (LFP.replace('"house"', SPREAD), "name"),
    (LFP.replace('"LFP"', SPREAD), "chemistry"),
    (f"{LFP}[battery.cell]\nocv_table = {SPREAD}", "cell.ocv_table"),
    (f"{LFP}[[load]]\npower_W = 3\ndaily = [{{ from = {SPREAD}, to = '10:00' }}]", "from"),
    (f"{LFP}balancer = {{ kind = 'transfer', current_A = 1, always = {SPREAD} }}", "always"),
]


@pytest.mark.parametrize(("text", "key"), WORDS, ids=[row[1] for row in WORDS])
def test_only_numbers_have_a_spread(text, key, tmp_path):
    (line,) = (one for one in faults_of(text, tmp_path) if f"{key} = {SPREAD}" in one)
    assert "; only numbers may have a spread" in line
