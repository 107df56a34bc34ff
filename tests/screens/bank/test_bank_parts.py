"""Ready banks, words, choices and short spellings of the page Your bank."""

import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bankSim.scenario.glossary import QUANTITIES
from bankSim.scenario.keys import ChargerKeys, LoadKeys, ScenarioKeys
from bankSim.scenario.keys_battery import CHEMISTRIES, BatteryKeys
from bankSim.scenario.unknown_keys import fields_of
from bankSim.screens import ready
from bankSim.screens.answers import checked
from bankSim.screens.bank import chargers, choices, loads, spellings, sureness
from bankSim.screens.bank.battery_details import DETAILS
from bankSim.screens.bank.board import mend_words
from bankSim.screens.bank.labels import LABELS, place_words
from bankSim.screens.bank.state import HOME

SCENARIOS = Path(__file__).parents[3] / "scenarios"


def test_the_ready_files_are_those_of_the_project():
    # copy them again after a change: cp scenarios/*.toml scenarios/*.csv <this folder>
    folder = Path(ready.__file__).parent / "ready_files"
    own = {file.name: file.read_bytes() for file in folder.iterdir()}
    shipped = [*SCENARIOS.glob("*.toml"), *SCENARIOS.glob("*.csv")]
    assert own == {file.name: file.read_bytes() for file in shipped}
    assert {f"{word}.toml" for word in ready.SHOWS} == {one for one in own if one.endswith(".toml")}


@pytest.mark.parametrize("word", ready.SHOWS)
def test_every_ready_bank_is_sound(word):
    assert checked(ready.ready_draft(word)).faults == ()


@pytest.mark.parametrize("chemistry", choices.CHEMISTRIES)
@pytest.mark.parametrize("volts", [12, 24, 48])
def test_a_new_battery_is_sound_but_for_its_curve(chemistry, volts):
    battery = choices.new_battery("new", chemistry, volts)
    found = checked(ready.draft_with(battery))
    places = [path for path, _ in found.places]
    assert places == ([("battery", 0, "chemistry")] if chemistry == "sodium-ion" else [])
    assert choices.volts_of(battery) == volts


def test_every_chemistry_of_the_file_can_be_chosen():
    assert set(choices.CHEMISTRIES) == set(CHEMISTRIES) == set(choices.USUAL_CELLS)


def test_every_key_of_the_file_has_a_home_and_a_label():
    assert set(fields_of(ScenarioKeys)) == set(HOME)
    assert set(fields_of(LoadKeys)) == set(loads.KNOWN)
    assert set(fields_of(ChargerKeys)) == set(chargers.KNOWN)
    label = {
        "name", "chemistry", "cells_in_series", "rated_capacity_Ah", "state_of_charge",
        "capacity_fraction", "resistance_factor",
    }  # fmt: skip
    detailed = {key for keys in DETAILS.values() for key in keys}
    assert label | detailed == set(fields_of(BatteryKeys))

    def keys_below(table):
        for key, inner in fields_of(table).items():
            yield key
            for one in inner:
                yield from keys_below(one)

    assert set(keys_below(ScenarioKeys)) <= set(LABELS)


def test_gauges_lie_near_their_areas():
    # ASTM B258 from memory: 2 AWG 33.6 mm2, 4/0 AWG 107 mm2, 10 AWG 5.26 mm2
    assert choices.gauge_near(33.6) == "2"
    assert choices.gauge_near(107.2) == "4/0"
    assert choices.gauge_near(5.26) == "10"
    assert choices.gauge_near(53.5) == "1/0"
    assert choices.gauge_near(300.0) == ""
    assert choices.gauge_near(-1.0) == choices.gauge_near(math.nan) == ""


def test_free_names():
    assert choices.free_name("old", []) == "old"
    assert choices.free_name("old", ["old"]) == "old 2"
    assert choices.free_name("old 2", ["old 2"]) == "old 3"
    assert choices.free_name("7", ["7"]) == "7 2"
    assert len(choices.free_name("x" * 60, ["x" * 60])) <= 60


CLOCK = st.tuples(st.integers(0, 23), st.integers(0, 59)).map(lambda t: f"{t[0]:02d}:{t[1]:02d}")


@given(st.lists(st.fixed_dictionaries({"from": CLOCK, "to": CLOCK}), min_size=1))
def test_times_of_day_survive_their_spelling(windows):
    assert spellings.read_daily(spellings.write_daily(windows)) == windows


@given(
    st.lists(
        st.lists(st.floats(0, 9e4).map(lambda x: round(x, 3)), min_size=2, max_size=2), min_size=1
    )
)
def test_hours_survive_their_spelling(windows):
    assert spellings.read_hours(spellings.write_hours(windows)) == windows


def test_times_of_day_may_be_told_by_halves():
    # 12 am is midnight, 12 pm is noon
    read = spellings.read_daily("6 pm-9:30PM; 12am to 12 pm")
    assert read == [{"from": "18:00", "to": "21:30"}, {"from": "00:00", "to": "12:00"}]


@pytest.mark.parametrize(
    "text", ["18-22", "6-9 pm", "13 pm-2 pm", "now", "18:00", "18:00-22:00 and more", ";"]
)
def test_other_spellings_of_times_are_refused(text):
    with pytest.raises(ValueError, match="expected times"):
        spellings.read_daily(text)


def test_hours_take_a_decimal_comma():
    assert spellings.read_hours("2,5-3; 4 to 5") == [[2.5, 3.0], [4.0, 5.0]]
    with pytest.raises(ValueError, match="expected hours"):
        spellings.read_hours("morning")


@pytest.mark.parametrize("form", sureness.FORMS)
@pytest.mark.parametrize("key", sureness.ABOUT)
@pytest.mark.parametrize(
    "value", [None, 0.85, {"low": 0.8, "high": 0.9}, {"value": 0.9, "sd": 0.1}]
)
def test_every_form_of_a_spread_is_sound_and_keeps_the_middle(form, key, value):
    made = sureness.in_form(value, form, key)
    number = QUANTITIES[key].check(made)
    middle = {None: 1.0}.get(value) if value is None else None
    if isinstance(value, float):
        assert float(number) == pytest.approx(value, rel=1e-6)
    if middle is not None and form != sureness.BETWEEN:
        assert float(number) == middle
    assert sureness.form_of(made) == form
    assert sureness.in_form(made, sureness.ALONE, key) == pytest.approx(float(number), rel=1e-5)


def test_places_in_words():
    data = {"battery": [{"name": "old", "cells": [{}, {}]}]}
    path = ("battery", 0, "cells", 1, "capacity_Ah")
    assert place_words(path, data) == 'Battery 1 "old", Cell 2, Capacity of the cell (Ah)'
    assert place_words(("battery", 4), data) == "Battery 5"


def test_messages_become_sentences():
    assert mend_words("= -5; expected 0 to 1 Ah") == "Now -5; expected 0 to 1 Ah."
    assert mend_words("is missing") == "Is missing."
    told = mend_words("= 11; expected more than cut_off_V = 12 V")
    assert told == 'Now 11; expected more than "Its own cut-off" = 12 V.'
    assert mend_words(" needs cut_off_V; expected both or none").startswith('Needs "Its own')
    assert "the same as battery 1, which" in mend_words(
        "= 8; expected the same as battery[1], which"
    )
    text = f"= 2; expected {QUANTITIES['state_of_charge'].allowed}"
    assert mend_words(text, ("battery", 0, "state_of_charge")) == "Expected 0 to 100 %."
