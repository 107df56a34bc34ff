"""Lead-acid that its chargers do not get full for days."""

import numpy as np
import pytest
from pytest import approx
from simple_banks import bank_of, run, steady
from test_cautions_life import typical

from bankSim.model.charger import Charger, Stage
from bankSim.model.runs import longest_run

DAY_S = 86_400.0
TOPIC = "lead-acid not full for days"


def found(word, *, z=0.6, days=4.0, hold_V=12.4, chargers=True, load_A=1.0):
    """A battery held between: the charger holds so little that it never gets full."""
    feeds = (Charger("roof", (Stage(hold_V),), limit_A=10.0),) if chargers else ()
    bank = bank_of(
        typical(word, "a", z), load=steady(load_A), chargers=feeds, duration_s=days * DAY_S
    )
    return [one for one in run(bank).cautions if one.topic == TOPIC]


# once in a few days it should be full (common practice, no source)
def test_days_short_of_full_are_noted():
    (note,) = found("flooded")
    assert note.severity == "note"
    assert note.value == approx(4.0)
    assert note.text.startswith('"a" is short of full for 96.0 h on end (')
    assert "sulphates" in note.text


@pytest.mark.parametrize(
    "other",
    [{"days": 2.5}, {"hold_V": 14.4}, {"chargers": False, "load_A": 0.2}],
    ids=["too short", "gets full", "no charger"],
)
def test_what_gets_full_or_has_no_charger_or_no_days_is_not_noted(other):
    assert found("flooded", **other) == []


def test_lithium_may_stay_short_of_full():
    assert found("LFP", hold_V=13.1) == []


def test_days_after_it_was_full_count_too():
    time_s, level = np.arange(8.0), np.array([1.0, 0.9, 0.8, 0.96, 0.5, 0.6, 0.7, 0.8])
    assert longest_run(time_s, level < 0.95) == (4, 7)
    assert longest_run(time_s[:1], level[:1] < 0.95) == (0, 0)


def test_what_lies_just_below_empty_is_told_as_empty():
    (note,) = found("flooded", z=0.01, load_A=0.03, hold_V=11.0)
    assert "on end (0 to " in note.text


LOW_TOPIC = "charge voltage too low for lead-acid"


# float of AGM: 2.25 to 2.30 V a cell at 25 degrees C (common practice, from memory)
def test_who_is_charged_with_too_few_volts_is_told_to_raise_them():
    (note,) = found("AGM", hold_V=12.6)
    assert note.advice.startswith('Set "roof" higher')
    assert "13.5 to 13.8 V are usual as float" in note.advice
    assert "larger charger" not in note.advice
    (other,) = found("AGM", hold_V=14.4, load_A=11.0)  # its charger gives 10 A
    assert "larger charger" in other.advice


@pytest.mark.parametrize(
    ("word", "hold_V", "kelvin", "told"),
    [
        ("AGM", 13.0, 298.15, True),
        ("AGM", 13.4, 298.15, False),
        ("AGM", 13.0, 318.15, False),  # 20 K warmer it wants 6 x 80 mV less
        ("flooded", 13.0, 298.15, True),
        ("flooded", 13.2, 298.15, False),
        ("LFP", 13.0, 298.15, False),
        ("AGM", 11.0, 298.15, False),  # gives nothing: told elsewhere
    ],
)
def test_a_charger_below_float_is_noted_though_the_model_gets_full(word, hold_V, kelvin, told):
    bank = bank_of(
        typical(word, "a", 0.9), duration_s=2.5 * DAY_S, temperature_K=kelvin,
        chargers=(Charger("roof", (Stage(hold_V),), limit_A=10.0),), stop_when_empty=False,
    )  # fmt: skip
    notes = [one for one in run(bank).cautions if one.topic == LOW_TOPIC]
    assert bool(notes) == told
    for note in notes:
        assert note.severity == "note"
        assert note.value == approx(hold_V)
