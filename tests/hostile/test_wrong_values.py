"""Values of a sort that nobody expects where a number, a word, a list or a table is meant."""

import re

import pytest
from pace import within
from scenario_texts import LFP

from bankSim.errors import ScenarioError
from bankSim.scenario.read import parse_scenario
from tests.hostile.refusals import of_scenario

SOON_S = 1.0
VALUES = {
    "a date": "2026-01-31",
    "a time": "07:30:00",
    "a moment": "1979-05-27T07:32:00Z",
    "a moment without a zone": "1979-05-27T00:32:00.999999",
    "a giant whole number": "9" * 4_000,
    "a giant hexadecimal number": "0x" + "f" * 3_000,
    "more than any float": "1e400",
    "less than any float": "-1e400",
    "no number": "nan",
    "the word infinity": "inf",
    "a giant text": '"' + "x" * 200_000 + '"',
    "a giant literal text": "'''" + "\n" * 100_000 + "'''",
    "nested arrays": "[" * 12 + "1" + "]" * 12,
    "a huge array": "[" + "1, " * 40_000 + "]",
    "a huge array of tables": "[" + "{ a = 1 }, " * 10_000 + "]",
    "a table of many keys": "{ " + ", ".join(f"k{n} = {n}" for n in range(4_000)) + " }",
    "a spread of dates": "{ value = 2026-01-31, sd = 07:30:00 }",
    "a spread of giants": "{ value = 1e308, sd = 1e308 }",
    "a spread of nothing": "{ value = nan, sd = nan }",
}
PLACES = {
    "simulation.duration_h": "[simulation]\nduration_h = {}\n" + LFP,
    "battery[1].lead_mohm": LFP + "lead_mohm = {}\n",
    "battery[1].cell": LFP + "cell = {}\n",
    "load[1].daily": LFP + "[[load]]\npower_W = 5\ndaily = {}\n",
    "charger[1].stages": LFP + "[[charger]]\nlimit_A = 5\nstages = {}\n",
}
DEEP = {  # beyond what any scenario needs: told of the whole file
    "arrays": "x = " + "[" * 900 + "]" * 900,
    "dotted keys": "a" + ".a" * 400 + " = 1",
    "inline tables": "x = " + "{ a = " * 150 + "1" + " }" * 150,
    "arrays of tables": "".join(f"[[{'.'.join('a' * (n + 1))}]]\n" for n in range(60)),
}


@pytest.mark.parametrize("key", PLACES)
@pytest.mark.parametrize("value", VALUES)
def test_each_is_refused_soon_and_in_words(key, value, tmp_path):
    with within(SOON_S), pytest.raises(ScenarioError) as caught:
        parse_scenario(PLACES[key].format(VALUES[value]), tmp_path, "bank.toml")
    assert of_scenario(caught.value.faults, "bank.toml") == []
    assert any(f": {key}" in line for line in caught.value.faults)


@pytest.mark.parametrize("sort", DEEP)
def test_what_is_nested_too_deep_is_refused(sort, tmp_path):
    with pytest.raises(ScenarioError, match=r"bank.toml: a value is nested too deep") as caught:
        parse_scenario(LFP + DEEP[sort], tmp_path, "bank.toml")
    assert of_scenario(caught.value.faults, "bank.toml") == []


@pytest.mark.parametrize("beside", ["", "cut_off_after_s = -20.0\n"])
def test_a_spread_around_a_value_that_no_bank_has(beside, tmp_path):
    load = "[[load]]\npower_W = 5\ncut_off_V = { value = 1.0, sd = 0.1 }\nrestart_V = 13.2\n"
    with pytest.raises(ScenarioError) as caught:
        parse_scenario(LFP + load + beside, tmp_path, "bank.toml")
    assert of_scenario(caught.value.faults, "bank.toml") == []
    assert any(re.search(r"cut_off_V = .*expected", line) for line in caught.value.faults)
