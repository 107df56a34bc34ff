"""A scenario being worked on: changed in one place, every other letter stays."""

import copy
import itertools
import random
import tomllib
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bankSim.errors import ScenarioError
from bankSim.scenario.draft import Draft, draft_of
from bankSim.scenario.starter import starter_text

SHIPPED = sorted((Path(__file__).parents[2] / "scenarios").glob("*.toml"))
STARTER = starter_text()

INTERLEAVED = """# top
title = "mixed"   # headline

[[battery]]
name = "one"
cells_in_series = 4

# the fridge
[[load]]
name = "fridge"
power_W = 50 # roughly

# the second
[[battery]]
name = "two"
cells_in_series = 4
capacity_fraction = { value = 0.9, sd = 0.02 } # tested
[battery.cell]
ohmic_mohm = 1.0   # measured

[[load]]
name = "lamp"
current_A = 1

# belongs to two
[[battery.protection]]
watches = "temperature"
trips_above = 60
blocks = "both"
"""


@pytest.mark.parametrize("file", SHIPPED, ids=lambda file: file.stem)
@pytest.mark.parametrize("ends", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_unedited_files_come_back_byte_for_byte(file, ends, mark):
    content = mark + file.read_bytes().replace(b"\n", ends.encode())
    assert draft_of(content, file.name).content == content


def test_the_starter_comes_back_byte_for_byte():
    assert draft_of(STARTER.encode(), "a.toml").content == STARTER.encode()


def test_a_new_value_changes_only_its_own_letters():
    draft = Draft(INTERLEAVED).with_values({("battery", 1, "cell", "ohmic_mohm"): 1.5})
    assert draft.text == INTERLEAVED.replace("ohmic_mohm = 1.0 ", "ohmic_mohm = 1.5 ")


def test_a_new_key_stands_below_the_last_one_of_its_table():
    draft = Draft(INTERLEAVED).with_values({("battery", 0, "rated_capacity_Ah"): 100.0})
    assert draft.text == INTERLEAVED.replace(
        'name = "one"\ncells_in_series = 4\n',
        'name = "one"\ncells_in_series = 4\nrated_capacity_Ah = 100.0\n',
    )


def test_a_key_taken_away_takes_its_line():
    draft = Draft(INTERLEAVED).with_values({("battery", 1, "capacity_fraction"): None})
    assert draft.text == INTERLEAVED.replace(
        "capacity_fraction = { value = 0.9, sd = 0.02 } # tested\n", ""
    )


def test_part_of_a_spread_is_changed_in_place():
    draft = Draft(INTERLEAVED).with_values({("battery", 1, "capacity_fraction", "sd"): 0.05})
    assert draft.text == INTERLEAVED.replace("sd = 0.02", "sd = 0.05")


def test_the_last_key_of_a_table_takes_the_table():
    draft = Draft(INTERLEAVED).with_values({("battery", 1, "cell", "ohmic_mohm"): None})
    assert "cell" not in draft.data["battery"][1]
    assert "# belongs to two" in draft.text
    assert "# the fridge" in draft.text


def test_a_moved_item_keeps_its_comments_and_its_scattered_tables():
    draft = Draft(INTERLEAVED).with_item_moved(("battery",), 1, 0)
    assert [one["name"] for one in draft.data["battery"]] == ["two", "one"]
    assert draft.data["battery"][0]["protection"][0]["trips_above"] == 60
    for comment in ("# top", "# headline", "# the second", "# tested", "# measured", "# roughly"):
        assert comment in draft.text
    at = draft.text.index
    assert at("# the second") < at('name = "two"') < at("# belongs to two") < at('name = "one"')


def test_a_removed_item_can_be_put_back_with_its_comments():
    draft = Draft(INTERLEAVED)
    written, item = draft.item_text(("battery",), 1), draft.at(("battery", 1))
    back = draft.without_item(("battery",), 1).with_item_text(("battery",), 1, written, item)
    assert back.data == draft.data
    assert "# tested" in back.text


def test_a_copy_keeps_everything_but_its_name():
    draft = Draft(INTERLEAVED).with_item_copied(("battery",), 1, "two 2")
    first, second = draft.data["battery"][1:]
    assert second == {**first, "name": "two 2"}
    assert draft.text.count("# tested") == 2


def test_windows_line_ends_stay():
    draft = Draft(INTERLEAVED.replace("\n", "\r\n"))
    changed = draft.with_values({("title",): "other"}).with_item(("charger",), 0, {"limit_A": 5.0})
    assert changed.text.count("\r\n") == changed.text.count("\n")
    assert changed.data["charger"] == [{"limit_A": 5.0}]


def test_arrays_in_braces_keep_the_rest_of_their_line():
    text = "battery = [{ name = 'a', cells_in_series = 4 }, # first\n  { name = 'b' }]\n"
    draft = Draft(text)
    assert draft.with_values({("battery", 0, "name"): "c"}).text == text.replace("'a'", '"c"')
    more = draft.with_item(("battery",), 2, {"name": "d"})
    assert more.text == text.replace("{ name = 'b' }", "{ name = 'b' }, { name = \"d\" }")
    assert draft.without_item(("battery",), 1).data == {"battery": [draft.data["battery"][0]]}


def test_dotted_keys_get_a_neighbour():
    text = "[[battery]]\nname = 'a'\ncell.ohmic_mohm = 1.0 # c\n"
    draft = Draft(text).with_values({("battery", 0, "cell", "capacity_Ah"): 80.0})
    assert draft.text == text + "cell.capacity_Ah = 80.0\n"


def test_a_comment_inside_a_long_text_is_no_comment():
    text = 'notes = """\n# not a comment\n[[battery]]\n"""\n[[battery]]\nname = "a"\n'
    draft = Draft(text).without_item(("battery",), 0)
    assert draft.data == {"notes": "# not a comment\n[[battery]]\n"}


def test_text_from_a_form_keeps_windows_line_ends_and_refuses_what_is_no_toml():
    draft = Draft("title = 'a'\r\n")
    assert draft.with_text("title = 'a'\n") is draft
    assert draft.with_text("title = 'b'\n").text == "title = 'b'\r\n"
    with pytest.raises(ScenarioError, match="not valid TOML"):
        draft.with_text("title = ")


# ---- random work on all shipped files: the data are those of plain Python, comments survive

PATHS = [
    (("title",), ["a", None, 'quo"te # no comment', "line [[battery]]"]),
    (("simulation", "duration_h"), [5.0, None, 7]),
    (("wiring", "main"), [{"length_m": 1.0, "area_mm2": 35.0}, None]),
    (("wiring", "main", "joints"), [3, None]),
    (("surroundings", "temperature_C"), [5.0, {"mean_C": 3.0, "swing_C": 2.0}, None]),
    (("battery", 0, "capacity_fraction"), [0.5, {"value": 0.9, "sd": 0.1}, None]),
    (("battery", 0, "lead", "length_m"), [2.0]),
    (("battery", 1, "cell", "capacity_Ah"), [70.0, None]),
    (("battery", 1, "cells", 1, "state_of_charge"), [0.9, None]),
    (("battery", 1, "protection"), [[], None]),
    (("battery", 1, "balancer", "current_A"), [0.1, None]),
    (("load", 0, "daily"), [[{"from": "08:00", "to": "09:00"}], None]),
    (("load", 0, "duty", "on_min"), [5.0, None]),
]
ARRAYS = [
    ("battery",),
    ("load",),
    ("charger",),
    ("battery", 0, "protection"),
    ("battery", 1, "cells"),
]


def put(data, path, value):
    """As a person would say it: set it, or take it away and what is then empty."""
    if value is None:
        trail = [data]
        for part in path[:-1]:
            try:
                trail.append(trail[-1][part])
            except (KeyError, IndexError, TypeError):
                return
        trail[-1].pop(path[-1], None)
        for here, above, part in zip(trail[:0:-1], trail[-2::-1], path[-2::-1], strict=True):
            if isinstance(part, int) or here:
                return
            del above[part]
        return
    here = data
    for part, following in itertools.pairwise(path):
        if isinstance(part, str) and not isinstance(here.get(part), dict | list):
            here[part] = (
                [{} for _ in range(here.get("cells_in_series", following + 1))]
                if isinstance(following, int)
                else {}
            )
        here = here[part]
    here[path[-1]] = value


def act(draft, data, chance):
    array = chance.choice(ARRAYS)
    owner = data
    for part in array[:-1]:
        owner = owner[part]
    items = owner.get(array[-1], [])
    what = chance.choice(["set", "set", "set", "add", "remove", "move", "copy"])
    if what == "set":
        path, values = chance.choice(PATHS)
        if len(path) > 1 and isinstance(path[1], int) and len(data.get(path[0], [])) <= path[1]:
            return draft
        if path[2:3] == ("cells",):
            battery = data["battery"][path[1]]
            if len(battery.get("cells", [{}] * battery.get("cells_in_series", 2))) < 2:
                return draft
        value = chance.choice(values)
        put(data, path, value)
        return draft.with_values({path: value})
    if what == "add" or len(items) < 3:
        place = chance.randint(0, len(items))
        item = {"name": f"new {chance.random()}", "lead": {"length_m": 1.0}, "cell": {"a": 1}}
        owner[array[-1]] = [*items[:place], item, *items[place:]]
        return draft.with_item(array, place, item)
    place, to = chance.randrange(len(items)), chance.randrange(len(items))
    if what == "remove":
        del items[place]
        return draft.without_item(array, place)
    if what == "move":
        items.insert(to, items.pop(place))
        return draft.with_item_moved(array, place, to)
    items.insert(place + 1, {**copy.deepcopy(items[place]), "name": "x"})
    return draft.with_item_copied(array, place, "x")


@pytest.mark.parametrize("name", ["starter", "interleaved", *(file.stem for file in SHIPPED)])
@pytest.mark.parametrize("seed", range(3))
def test_random_work_gives_the_data_of_plain_python(name, seed):
    texts = {file.stem: file.read_text(encoding="utf-8") for file in SHIPPED}
    text = {**texts, "starter": STARTER, "interleaved": INTERLEAVED}[name]
    draft, data, chance = Draft(text), tomllib.loads(text), random.Random(f"{name} {seed}")
    for _ in range(15):
        draft = act(draft, data, chance)
        assert tomllib.loads(draft.text) == data
    head = next((line for line in text.splitlines() if line.startswith("# ")), "")
    assert head in draft.text  # the first comment of a file belongs to nothing that was touched


@pytest.mark.parametrize("name", ["starter", *(file.stem for file in SHIPPED)])
@pytest.mark.parametrize("seed", [0])
def test_moving_copying_adding_and_new_numbers_lose_no_comment(name, seed):
    texts = {file.stem: file.read_text(encoding="utf-8") for file in SHIPPED}
    text = {**texts, "starter": STARTER}[name]
    draft, chance = Draft(text), random.Random(f"{name} {seed}")
    for number in range(12):
        array = chance.choice([("battery",), ("load",)])
        count = draft.count(array)
        place = chance.randrange(count)
        draft = chance.choice(
            [
                lambda d, a, p, c, n: d.with_item_moved(a, p, chance.randrange(c)),
                lambda d, a, p, c, n: d.with_item_copied(a, p, f"copy {n}"),
                lambda d, a, p, c, n: d.with_item(a, p, {"name": f"new {n}"}),
                lambda d, a, p, c, n: d.with_values({(*a, p, "name"): f"named {n}"}),
                lambda d, a, p, c, n: d.with_values({("simulation", "duration_h"): float(n + 1)}),
            ]
        )(draft, array, place, count, number)
    for line in text.splitlines():
        _, mark, comment = line.partition("#")
        assert mark + comment in draft.text


KEYS = st.text(st.characters(codec="utf-8", exclude_categories=["Cs"]), max_size=6)
SCALARS = st.one_of(
    st.booleans(), st.integers(-(2**63), 2**63 - 1), st.floats(allow_nan=False), KEYS
)
VALUES = st.recursive(
    SCALARS,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(KEYS, inner, max_size=3),
    max_leaves=8,
)
ITEMS = st.dictionaries(st.sampled_from(["name", "cell", "protection", "lead", "x y"]), VALUES)


@settings(max_examples=75, deadline=None, suppress_health_check=list(HealthCheck))
@given(
    data=st.fixed_dictionaries(
        {"battery": st.lists(ITEMS, min_size=1, max_size=3)},
        optional={"title": VALUES, "wiring": VALUES, "load": st.lists(ITEMS, max_size=2)},
    ),
    value=VALUES,
    ends=st.sampled_from(["\n", "\r\n"]),
)
def test_any_document_takes_any_value(data, value, ends):
    from bankSim.scenario.draft_shape import table_text

    content = table_text((), data).replace("\n", ends).encode()
    try:
        draft = draft_of(content, "any.toml")
    except ScenarioError:  # nested too deep, or nothing in it
        return
    assert draft.content == content
    assert draft.data == data
    changed = draft.with_values({("battery", 0, "name"): value, ("title",): value})
    expected = {**data, "title": value}
    expected["battery"] = [{**data["battery"][0], "name": value}, *data["battery"][1:]]
    assert changed.data == expected
    moved = changed.with_item(("battery",), 0, {"name": "n"}).with_item_moved(("battery",), 0, 1)
    assert moved.data["battery"][1] == {"name": "n"}
