"""Edits at the edges of a draft's text: what is written is said by hand, letter by letter."""

import hashlib

import pytest

from bankSim.errors import ScenarioError
from bankSim.scenario import draft_edit
from bankSim.scenario.draft import Draft, draft_of, holds_anything
from bankSim.scenario.draft_places import Places
from bankSim.scenario.draft_shape import literal, table_text
from bankSim.scenario.draft_tables import LARGEST_TABLE_BYTES, MOST_TABLES, is_plain_name
from bankSim.scenario.syntax import LARGEST_BYTES

IN_LINES = """battery = [  # both
  # the old one
  { name = "a" },  # tested in May
  { name = "b" }, # new
  # the spare
  { name = "c" }
]
"""


@pytest.mark.parametrize(
    ("place", "gone"),
    [
        (0, '  # the old one\n  { name = "a" },  # tested in May\n'),
        (1, '  { name = "b" }, # new\n'),
        (2, '  # the spare\n  { name = "c" }\n'),
    ],
)
def test_an_item_on_lines_of_its_own_takes_its_comments_and_no_others(place, gone):
    # taken from the last comma, "b" took "tested in May" along and left its own comment to "a"
    draft = Draft(IN_LINES).without_item(("battery",), place)
    assert draft.text == IN_LINES.replace(gone, "")
    assert [one["name"] for one in draft.data["battery"]] == [
        name for name in "abc" if name != "abc"[place]
    ]


@pytest.mark.parametrize(
    ("text", "place", "left"),
    [
        ("load = [{ a = 1 }, { a = 2 }, { a = 3 }]\n", 0, "load = [{ a = 2 }, { a = 3 }]\n"),
        ("load = [{ a = 1 }, { a = 2 }, { a = 3 }]\n", 1, "load = [{ a = 1 }, { a = 3 }]\n"),
        ("load = [{ a = 1 }, { a = 2 }, { a = 3 }]\n", 2, "load = [{ a = 1 }, { a = 2 }]\n"),
        ("load = [\n  { a = 1 }, { a = 2 },\n]\n", 0, "load = [\n  { a = 2 },\n]\n"),
        ("load = [\n  { a = 1 }, { a = 2 },\n]\n", 1, "load = [\n  { a = 1 },\n]\n"),
        ("x = 1\nload = [{ a = 1 }]\n", 0, "x = 1\n"),
    ],
)
def test_items_that_share_a_line_leave_the_rest_of_it(text, place, left):
    assert Draft(text).without_item(("load",), place).text == left


def test_an_item_is_put_into_brackets_at_each_place():
    text = "load = [{ a = 1 }, { a = 2 }]\n"
    added = [Draft(text).with_item(("load",), place, {"a": 9}).text for place in range(3)]
    assert added == [
        "load = [{ a = 9 }, { a = 1 }, { a = 2 }]\n",
        "load = [{ a = 1 }, { a = 9 }, { a = 2 }]\n",
        "load = [{ a = 1 }, { a = 2 }, { a = 9 }]\n",
    ]


def test_a_rule_of_a_battery_in_braces_stays_inside_them():
    # a header of its own, [[battery.protection]], could not follow an array in brackets
    text = "battery = [{ name = 'a' }] # keep\n"
    draft = Draft(text).with_item(("battery", 0, "protection"), 0, {"trips_above": 60})
    assert draft.text == (
        'battery = [{ name = "a", protection = [{ trips_above = 60 }] }] # keep\n'
    )


def test_a_rule_of_a_battery_with_a_header_gets_one_too():
    text = "[[battery]]\nname = 'a'\n\n[[load]]\npower_W = 5\n"
    draft = Draft(text).with_item(("battery", 0, "protection"), 0, {"trips_above": 60})
    assert draft.text == (
        "[[battery]]\nname = 'a'\n[[battery.protection]]\ntrips_above = 60\n\n"
        "[[load]]\npower_W = 5\n"
    )


def test_an_only_item_moves_nowhere():
    draft = Draft("[[battery]]\nname = 'a' # mine\n")
    assert draft.with_item_moved(("battery",), 0, 0) is draft
    assert draft.with_item_moved(("battery",), 0, 1).data == draft.data


@pytest.mark.parametrize(
    "text", ["", "\n\n", "# only this\n", "  # and this\n\n# too", "# a\u2028b"]
)
def test_comments_and_blanks_say_nothing(text):
    assert not holds_anything(text)
    assert Draft(text).data == {}
    assert Draft(text).with_values({("title",): "x"}).data == {"title": "x"}


def test_one_line_among_comments_is_something():
    assert holds_anything("# a\n\n  x = 1 # b\n")


@pytest.mark.parametrize(
    ("text", "end"),
    [
        ("a = 1\r\nb = 2\r\nc = 3\n", "\r\n"),  # most lines decide
        ("a = 1\r\nb = 2\nc = 3\n", "\n"),
        ("a = 1\r\nb = 2\n", "\n"),  # as many of each: plain ones
    ],
)
def test_mixed_line_ends_become_those_of_most_lines(text, end):
    changed = Draft(text).with_values({("a",): 5}).text
    assert changed == text.replace("\r\n", "\n").replace("a = 1", "a = 5").replace("\n", end)


def test_a_written_item_that_does_not_fit_gives_way_to_what_it_says():
    # the comment of a header item cannot stand in brackets: the numbers must still come back
    draft = Draft("battery = [{ name = 'a' }]\n")
    back = draft.with_item_text(("battery",), 1, "[[battery]]\nname = 'b'\n", {"name": "b"})
    assert back.text == "battery = [{ name = 'a' }, { name = \"b\" }]\n"
    lying = Draft("[[battery]]\nname = 'a'\n").with_item_text(
        ("battery",), 1, "[[battery]]\nname = 'c'\n", {"name": "b"}
    )
    assert [one["name"] for one in lying.data["battery"]] == ["a", "b"]


@pytest.mark.parametrize("wrong", [None, "title = 'c'\n", "title = ", ValueError("no such place")])
def test_whatever_goes_wrong_in_place_the_values_are_written(monkeypatch, wrong):
    def change(*_):
        if isinstance(wrong, Exception):
            raise wrong
        return wrong

    monkeypatch.setattr(draft_edit, "set_text", change)
    assert Draft("# c\ntitle = 'a'\nx = 1\n").with_values({("title",): "b"}).text == (
        'title = "b"\nx = 1\n'
    )


def test_a_whole_number_in_place_of_a_decimal_one_is_another_value():
    draft = Draft("a = 1.0\nb = true\n")
    assert draft.with_values({("a",): 1}).text == "a = 1\nb = true\n"
    assert draft.with_values({("b",): 1}).text == "a = 1.0\nb = 1\n"
    assert draft.with_values({("a",): 1.0, ("c",): None}) is draft


def test_what_is_not_there_is_told_as_nothing():
    draft = Draft("a = 5\nb = { c = 1 }\n")
    assert draft.at(("a", "c")) is None
    assert draft.at(("b", 0)) is None
    assert draft.count(("load",)) == 0
    assert draft.count(("b",)) == 0  # a table has no items
    assert draft.with_values({("a", "c", "d"): None}) is draft


def test_the_digest_tells_all_drafts_apart():
    drafts = [
        Draft("a = 1"), Draft("a = 2"), Draft("a = 1", name="b.toml"),
        Draft("a = 1", (("x", b"1"),)), Draft("a = 1", (("x", b"2"),)),
        Draft("a = 1", (("y", b"1"),)), Draft("a = 1", (("x", b"1"), ("y", b""))),
        Draft("1", name="ba ="), Draft("= 1", name="ba "),
    ]  # fmt: skip
    assert len({draft.digest for draft in drafts}) == len(drafts)
    assert Draft("a = 1", (("x", b"1"),)).digest == drafts[3].digest
    assert len(drafts[0].digest) == len(hashlib.sha256().hexdigest())


def test_the_largest_scenario_is_taken_and_one_byte_more_is_not():
    head = b"a = 1\n"
    assert draft_of(head + b"#" * (LARGEST_BYTES - len(head)), "a.toml").data == {"a": 1}
    with pytest.raises(ScenarioError) as caught:
        draft_of(head + b"#" * (LARGEST_BYTES - len(head) + 1), "a.toml")
    assert str(caught.value) == f"a.toml: larger than {LARGEST_BYTES // 10**6} MB"


def test_so_many_tables_and_no_more():
    draft = Draft("a = 1", tuple((f"{number:02}.csv", b"") for number in range(MOST_TABLES - 1)))
    full = draft.with_table("last.csv", b"1")
    assert len(full.tables) == MOST_TABLES == 40
    assert dict(full.with_table("last.csv", b"2").tables)["last.csv"] == b"2"  # replaced
    with pytest.raises(ScenarioError) as caught:
        full.with_table("more.csv", b"")
    assert str(caught.value) == "more.csv: more than 40 tables"


def test_all_tables_together_are_bounded(monkeypatch):
    monkeypatch.setattr("bankSim.scenario.draft.MOST_TABLE_BYTES", 3_000_000)
    draft = Draft("a = 1", (("a.csv", b"1" * 2_000_000),)).with_table("b.csv", b"1" * 1_000_000)
    with pytest.raises(ScenarioError) as caught:
        draft.with_table("c.csv", b"1")
    assert str(caught.value) == "c.csv: all tables together are larger than 3 MB"


@pytest.mark.parametrize("content", [b"", b"# nothing\n", b"title = ", b"a = 1\na = 2\n", b"\xff"])
def test_what_is_no_toml_makes_no_draft(content):
    with pytest.raises(ScenarioError, match=r"^a\.toml:"):
        draft_of(content, "a.toml")


def test_a_copy_stands_right_behind_what_it_was_made_of():
    text = "[[load]]\nname = 'a'\npower_W = 1\n\n[[load]]\nname = 'b'\npower_W = 2\n"
    copied = Draft(text).with_item_copied(("load",), 0, "c").data["load"]
    assert [(one["name"], one["power_W"]) for one in copied] == [("a", 1), ("c", 1), ("b", 2)]


def test_tables_that_are_named_but_not_there():
    text = "[[battery]]\nocv_table = 'own.csv'\n[[load]]\nprofile = 'day.csv'\n"
    draft = Draft(text, (("own.csv", b""),))
    assert draft.missing_tables() == [(("load", 0, "profile"), "day.csv")]


def test_a_table_is_refused_by_name_or_size():
    draft = Draft("a = 1")
    with pytest.raises(ScenarioError, match=r"'\.\./a\.csv': expected a plain file name"):
        draft.with_table("../a.csv", b"")
    content = bytes(LARGEST_TABLE_BYTES)
    assert draft.with_table("a.csv", content).tables == (("a.csv", content),)
    with pytest.raises(ScenarioError, match=r"a\.csv: larger than 20 MB"):
        draft.with_table("a.csv", content + b"1")


@pytest.mark.parametrize(
    ("name", "plain"),
    [("", False), ("a", True), ("a" * 200, True), ("a" * 201, False), (f"a/{'b' * 198}", True),
     (f"a/{'b' * 199}", False), ("é" * 100, True), ("é" * 101, False)],
)  # fmt: skip
def test_names_are_as_long_as_file_systems_allow(name, plain):
    # at most 255 bytes a part on common file systems; 200 leave room for endings
    assert is_plain_name(name) is plain


def test_a_new_table_gets_empty_lines_around_it():
    text = "title = 'x'\n[[load]]\npower_W = 5\n"
    assert Draft(text).with_values({("wiring", "link_mohm"): 1.0}).text == (
        "title = 'x'\n\n[wiring]\nlink_mohm = 1.0\n\n[[load]]\npower_W = 5\n"
    )
    assert Draft("title = 'x'").with_values({("wiring", "link_mohm"): 1.0}).text == (
        "title = 'x'\n\n[wiring]\nlink_mohm = 1.0\n"
    )


def test_blocks_are_the_whole_text_and_comments_go_with_what_follows():
    text = "a = 1\n# below a\n\n# above w\n[wiring]\nb = 2 # c\n# below b\n\n\n[cell]\n"
    places = Places(text)
    assert [text[one.start : one.end] for one in places.blocks] == [
        "a = 1\n# below a\n\n", "# above w\n[wiring]\nb = 2 # c\n# below b\n\n\n", "[cell]\n",
    ]  # fmt: skip
    assert [text[one.start : one.last] for one in places.blocks] == [
        "a = 1\n# below a\n", "# above w\n[wiring]\nb = 2 # c\n# below b\n", "[cell]\n",
    ]  # fmt: skip
    assert [text[one.inside :][:5] for one in places.blocks[1:]] == ["b = 2", ""]


def test_a_comment_at_the_very_top_belongs_to_the_header_below_it():
    text = "# mine\n[wiring]\nb = 2\n"
    assert [text[one.start : one.end] for one in Places(text).blocks] == ["", text]


def test_numbers_that_toml_writes_in_words():
    written = [literal(one) for one in (float("inf"), float("-inf"), float("nan"), -0.0, True)]
    assert written == ["inf", "-inf", "nan", "-0.0", "true"]


def test_an_item_of_many_has_double_brackets_and_a_single_table_has_none():
    assert table_text(["load"], {"a": 1}) == "[load]\na = 1\n"
    assert table_text(["load"], {"a": 1}, many=True) == "[[load]]\na = 1\n"


def test_a_table_taken_away_leaves_one_empty_line_between_its_neighbours():
    one, two, three = ("[[load]]\na = 1\n", "[[load]]\na = 2\n", "[[load]]\na = 3\n")
    draft = Draft(f"{one}\n{two}\n{three}")
    assert draft.without_item(("load",), 0).text == f"{two}\n{three}"
    assert draft.without_item(("load",), 1).text == f"{one}\n{three}"
    assert Draft(f"x = 1\n{one}{two}").without_item(("load",), 0).text == f"x = 1\n{two}"


def test_what_belongs_to_an_item_elsewhere_goes_with_it_and_the_rest_stays():
    text = (
        "[[battery]]\nname = 'a'\n\n[[load]]\nb = 1\n\n[battery.cell]\nc = 2\n[battery.heater]\n"
        "d = 3\n\n# end\n"
    )
    written = Draft(text).item_text(("battery",), 0)
    assert written == "[[battery]]\nname = 'a'\n[battery.cell]\nc = 2\n[battery.heater]\nd = 3\n"
    assert Draft(text).without_item(("battery",), 0).text == "[[load]]\nb = 1\n\n# end\n"


def test_a_new_table_stands_behind_other_tables_and_before_the_first_array():
    text = "[surroundings]\ntemperature_C = 5.0\n\n[[load]]\npower_W = 5\n"
    assert Draft(text).with_values({("wiring", "link_mohm"): 1.0}).text == text.replace(
        "[[load]]", "[wiring]\nlink_mohm = 1.0\n\n[[load]]"
    )


def test_a_new_dotted_key_deeper_down_takes_the_words_of_its_neighbour():
    text = "[[battery]]\nname = 'a'\ncell.ohmic_mohm = 1.0\ncell.charge.x = 2\n"
    draft = Draft(text).with_values({("battery", 0, "cell", "charge", "y"): 3})
    assert draft.text == text + "cell.charge.y = 3\n"
