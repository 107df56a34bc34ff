"""Whatever is thrown at the reader, it answers with a scenario or with clear lines."""

import json
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from bankSim.errors import ScenarioError
from bankSim.scenario.keys import ScenarioKeys
from bankSim.scenario.read import parse_scenario
from bankSim.scenario.unknown_keys import fields_of

NOWHERE = Path("/nonexistent")


def known_keys(table=ScenarioKeys):
    for key, inner in fields_of(table).items():
        yield key
        for part in inner:
            yield from known_keys(part)


KEYS = st.one_of(
    st.sampled_from(sorted(set(known_keys()))),
    st.text(st.characters(codec="utf-8", exclude_characters="\x7f"), max_size=12),
)
WORDS = st.sampled_from(
    [
        "LFP",
        "AGM",
        "18:00",
        "24:00",
        "end",
        "bank",
        "x.csv",
        "discharge",
        "both",
        "temperature",
        "lowest cell voltage",
        "discharge current",
        "equal leads",
        "same end",
        "bleed",
        "transfer",
        "charging",
        "charger",
        "",
    ]
)
NUMBERS = st.one_of(
    st.sampled_from([0, 1, -1, 4, 0.5, 100.0, 1e-9, 1e300]),
    st.integers(-(2**80), 2**80),
    st.floats(allow_nan=True, allow_infinity=True),
)
TEXTS = st.text(st.characters(codec="utf-8", exclude_characters="\x7f"), max_size=20)
SCALARS = st.one_of(NUMBERS, st.booleans(), WORDS, TEXTS)
VALUES = st.recursive(
    SCALARS,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(KEYS, inner, max_size=5),
    max_leaves=12,
)


def table_of(model, depth=3):
    """Make tables whose keys are known and whose values are sometimes of the right shape."""
    choices = {}
    for key, inner in fields_of(model).items():
        right = [table_of(part, depth - 1) for part in inner] if depth else []
        shapes = [option for table in right for option in (table, st.lists(table, max_size=3))]
        choices[key] = st.one_of(*shapes, *shapes, VALUES)
    return st.fixed_dictionaries({}, optional=choices)


def as_toml(value):
    """Write a value as inline TOML."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{json.dumps(k)} = {as_toml(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(as_toml, value)) + "]"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    return str(value).lower() if isinstance(value, bool) else repr(value)


def answer(text):
    faults = None
    try:
        parse_scenario(text, NOWHERE, "bank.toml")
    except ScenarioError as error:
        faults = error.faults
    assert faults != []
    for line in faults or ():
        assert line.startswith("bank.toml")
        assert line.isprintable()


@settings(max_examples=75, deadline=None)
@given(table_of(ScenarioKeys))
def test_random_documents(document):
    answer("".join(f"{json.dumps(key)} = {as_toml(value)}\n" for key, value in document.items()))


@settings(max_examples=150, deadline=None)
@given(st.dictionaries(KEYS, VALUES, max_size=6))
def test_random_keys(document):
    answer("".join(f"{json.dumps(key)} = {as_toml(value)}\n" for key, value in document.items()))


@settings(max_examples=100, deadline=None)
@given(st.text(st.characters(codec="utf-8"), max_size=60))
def test_random_text(text):
    answer(text)


GOOD = """
[[battery]]
name = "house"
chemistry = "LFP"
cells_in_series = 4
rated_capacity_Ah = 100.0
lead = { length_m = 1.0, area_mm2 = 35 }
[[battery.protection]]
watches = "lowest cell voltage"
trips_below = 2.5
blocks = "discharge"
releases_above = 2.9
[battery.balancer]
kind = "bleed"
current_A = 0.1
starts_above_V = 3.4
[battery.heater]
power_W = 40
on_below_C = 3
off_above_C = 8
[[load]]
power_W = 50
daily = [{ from = "18:00", to = "22:00" }]
cut_off_V = 10.8
restart_V = 12.6
[[charger]]
stages = [{ hold_V = 14.2, until_tail_A = 5 }, { hold_V = 13.5 }]
sun = { peak_W = 210, rise = "06:45", set = "19:15" }
"""


@settings(max_examples=150, deadline=None)
@given(st.integers(0, len(GOOD)), st.integers(0, 12), st.text(max_size=4))
def test_a_good_file_with_a_hole_in_it(place, length, patch):
    answer(GOOD[:place] + patch + GOOD[place + length :])
