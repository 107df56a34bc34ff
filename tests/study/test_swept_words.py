"""What the words of a sweep mean, and what is refused."""

import pytest
from straight_banks import battery, load, scenario

from bankSim.errors import SimulationError
from bankSim.study.blocks import threads
from bankSim.study.sweep import study_sweep
from bankSim.study.swept_keys import read_swept


@pytest.fixture(scope="module")
def two(tmp_path_factory):
    """Two batteries and a lamp."""
    return scenario(tmp_path_factory.mktemp("two"), battery("a"), battery("b c"), load())


def swept(bank, *words):
    """Read the words and march."""
    keys = read_swept(words, bank)
    with threads(1) as workers:
        return study_sweep(bank, keys, workers, draws=4)


@pytest.mark.parametrize(
    ("word", "values"),
    [
        ("battery[1].lead_mohm=1:2:3", (1.0, 1.5, 2.0)),
        ("battery[1].lead_mohm = 2:1:2", (2.0, 1.0)),
        ("battery[1].lead_mohm=-1e1: 0 :2", (-10.0, 0.0)),
        ("battery[1].lead_mohm=1,2.5,3e1", (1, 2.5, 30.0)),
        ("battery[1].cells_in_series=3,4", (3, 4)),
        ("wiring.layout=same end, opposite ends", ("same end", "opposite ends")),
        ("wiring.layout=\"same end\",'opposite ends'", ("same end", "opposite ends")),
        ("some.key=true,false", (True, False)),
        ("simulation.starts_at=06:00,08:00,10:00", ("06:00", "08:00", "10:00")),
    ],
)
def test_values_are_what_toml_would_make_of_them(two, word, values):
    (key,) = read_swept([word], two)
    assert key.values == values
    assert [type(one) for one in key.values] == [type(one) for one in values]


def test_a_range_has_the_decimals_that_people_write(two):
    # own count: a straight line of floats would read 0.9700000000000001
    (key,) = read_swept(["battery[a].cells[1].state_of_charge=1.0:0.9:11"], two)
    assert key.values == (1.0, 0.99, 0.98, 0.97, 0.96, 0.95, 0.94, 0.93, 0.92, 0.91, 0.9)


def test_two_times_of_day(two):
    (key,) = read_swept(["simulation.starts_at=06:00,08:00"], two)
    assert key.values == ("06:00", "08:00")


@pytest.mark.parametrize(
    ("word", "path"),
    [
        ("battery[2].lead_mohm", ("battery", 1, "lead_mohm")),
        ("battery[b c].lead_mohm", ("battery", 1, "lead_mohm")),
        ('battery["b c"].lead_mohm', ("battery", 1, "lead_mohm")),
        ("load[lamp].current_A", ("load", 0, "current_A")),
        ("battery[a].cells[1].state_of_charge", ("battery", 0, "cells", 0, "state_of_charge")),
        ("simulation.duration_h", ("simulation", "duration_h")),
    ],
)
def test_names_stand_for_numbers(two, word, path):
    (key,) = read_swept([f"{word}=1,2"], two)
    assert (key.key, key.path) == (word, path)


@pytest.mark.parametrize(
    ("word", "unit"),
    [
        ("battery[1].lead_mohm", "mohm"),
        ("load[1].current_A", "A"),
        ("battery[1].state_of_charge", ""),
        ("wiring.layout", ""),
    ],
)
def test_a_key_brings_its_unit(two, word, unit):
    assert read_swept([f"{word}=1,2"], two)[0].unit == unit


WARM = """
[[battery.protection]]
watches = "temperature"
trips_above = 60.0
blocks = "both"
[[battery.protection]]
watches = "charge current"
trips_above = 50.0
blocks = "charge"
"""


@pytest.mark.parametrize(
    ("word", "unit"),
    [
        ("battery[1].protection[1].trips_below", "V"),  # was told in "V, A or degC"
        ("battery[1].protection[1].releases_above", "V"),
        ("battery[1].protection[1].after_s", "s"),
        ("battery[hot].protection[2].trips_above", "degC"),
        ("battery[2].protection[3].trips_above", "A"),
        ("some.trips_above", ""),
    ],
)
def test_a_limit_has_the_unit_of_what_its_rule_watches(tmp_path, word, unit):
    bank = scenario(tmp_path, battery("a"), battery("hot", below=WARM), load())
    assert read_swept([f"{word}=1,2"], bank)[0].unit == unit


def test_numbers_have_an_axis_and_words_have_none(two):
    words = ("battery[1].lead_mohm=1:2:2", "battery[1].lead_mohm=1,two", "a.key=true,false")
    assert [read_swept([word], two)[0].is_numbers for word in words] == [True, False, False]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([], "0 keys"),
        (["a.b=1:2:3"] * 3, "3 keys"),
        (["battery[1].lead_mohm=1:2:3", "battery[a].lead_mohm=1:2:3"], "is given twice"),
        (["battery[1].lead_mohm"], "expected KEY=FROM:TO:COUNT"),
        (["battery[1].lead_mohm="], "expected KEY=FROM:TO:COUNT"),
        (["battery[1].lead_mohm= "], "expected KEY=FROM:TO:COUNT"),
        (["=1:2:3"], "expected a key as in the file"),
        (["battery[1]=1,2"], "expected a key as in the file"),
        (["..=1,2"], "expected a key as in the file"),
        (["battery[3].lead_mohm=1,2"], "expected a number from 1 to 2 or a name in battery"),
        (["battery[0].lead_mohm=1,2"], "expected a number from 1 to 2 or a name in battery"),
        (["battery[c].lead_mohm=1,2"], "expected a number from 1 to 2 or a name in battery"),
        (["battery[1].cells[2].state_of_charge=1,0.9"], "expected a number from 1 to 1"),
        (["battery[1].balancer[1].kind=a,b"], "the file has no battery[1].balancer"),
        (["charger[1].limit_A=1,2"], "the file has no charger"),
        (["battery[1].lead_mohm=7"], "at least two values"),
        (["battery[1].lead_mohm=7,7"], "at least two values"),
        (["battery[1].lead_mohm=1:2:x"], "expected KEY=FROM:TO:COUNT"),
        (["battery[1].lead_mohm=1:2:2.5"], "expected KEY=FROM:TO:COUNT"),
        (["battery[1].lead_mohm=1:2:1"], "expected 2 to 200 values"),
        (["battery[1].lead_mohm=1:2:201"], "expected 2 to 200 values"),
        (["battery[1].lead_mohm=1:inf:3"], "expected two finite numbers"),
        (["battery[1].lead_mohm=20:00:23:00:4"], "clock times as in 06:00,08:30"),
        (["battery[1].lead_mohm=1:2:50", "load[1].current_A=1:2:50"], "more than 2000 points"),
        (["battery[1].lead_mohm=nan,1"], "lead_mohm = nan; expected 0 to 100000 mohm"),
        (["battery[1].lead_mohm=1,,2"], 'lead_mohm = ""; expected 0 to 100000 mohm'),
        (["battery[1].lead_mohm=1,wide"], 'lead_mohm = "wide"; expected 0 to 100000 mohm'),
        (["battery[1].lead_mhom=1,2"], "lead_mhom is not a known key"),
        (["battery[1].lead_mohm.x=1,2"], "battery[1].lead_mohm = a table"),
        (["battery[1].cell.ocv_table=none.csv,curve.csv"], 'ocv_table = "none.csv": no such file'),
        (["battery[1].name=b c,d"], "name only names things; expected another key"),
        (["wiring.layout=same end,in a ring"], "wiring.layout"),
    ],
)
def test_what_is_wrong_is_told_in_one_line(two, words, said):
    with pytest.raises(SimulationError) as told:
        swept(two, *words)
    assert said in str(told.value)
    assert len(str(told.value).splitlines()) == 1


@pytest.mark.parametrize("key", ["load.current_A", "battery.lead_mohm"])
def test_a_table_of_several_needs_a_number(two, key):
    with pytest.raises(SimulationError, match=r"load|battery"):
        swept(two, f"{key}=1,2")


def test_a_range_of_no_width_is_refused(two):
    with pytest.raises(SimulationError, match="lead_mohm"):
        read_swept(["battery[1].lead_mohm=1:1:3"], two)


def test_a_range_of_whole_numbers_suits_a_key_of_whole_numbers(two):
    swept(two, "battery[1].cells_in_series=1:3:3")


BY_LENGTH = "lead = { length_m = 1.0, area_mm2 = 35 }\n"
ROW = """
[wiring]
layout = "same end"
link = { length_m = 0.2, area_mm2 = 35 }
main_mohm = 0.5
"""


@pytest.fixture(scope="module")
def by_length(tmp_path_factory):
    """The first battery and the links by length, the second and the main cable by mohm."""
    folder = tmp_path_factory.mktemp("by length")
    return scenario(folder, battery("a.b", more=BY_LENGTH), battery("c"), load(), ROW)


@pytest.mark.parametrize(
    ("word", "given", "wanted"),
    [
        ("battery[a.b].lead_mohm=1,2", "lead", "battery[a.b].lead.length_m"),
        ("battery[1].lead_mohm=1:2:3", "lead", "battery[1].lead.length_m"),
        ("battery[c].lead.length_m=1,2", "lead_mohm", "battery[c].lead_mohm"),
        ("battery[c].lead.area_mm2=16,35", "lead_mohm", "battery[c].lead_mohm"),
        ("wiring.link_mohm=0.1,0.2", "link", "wiring.link.length_m"),
        ("wiring.main.length_m=1,2", "main_mohm", "wiring.main_mohm"),
        ("load[lamp].power_W=50,60", "current_A", "load[lamp].current_A"),
    ],
)
def test_a_key_that_another_one_stands_for_is_pointed_to_that(by_length, word, given, wanted):
    with pytest.raises(SimulationError) as told:
        read_swept([word], by_length)
    assert str(told.value) == f"sweep {word!r}: the file gives {given} there; expected {wanted}"


@pytest.mark.parametrize(
    "word",
    ["battery[a.b].lead.length_m=1,2", "battery[a.b].lead.area_mm2=16,35",
     "battery[c].lead_mohm=1,2", "wiring.link.length_m=0.2,0.4", "wiring.main_mohm=0.5,1",
     "load[1].current_A=5,6"],
)  # fmt: skip
def test_what_the_pointer_names_can_be_swept(by_length, word):
    assert len(swept(by_length, word).points) == 2
