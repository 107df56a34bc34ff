"""Values as TOML text: what a standard reader makes of it is what went in."""

import datetime
import math
import tomllib

import pytest

from bankSim.errors import ScenarioError
from bankSim.scenario.draft_shape import dotted, key_word, literal, stands_alone, table_text
from bankSim.scenario.draft_tables import check_table, is_plain_name, named_tables


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (True, "true"), (False, "false"), (3, "3"), (-3, "-3"), (3.0, "3.0"), (0.1, "0.1"),
        (1e-9, "1e-09"), (math.inf, "inf"), (-math.inf, "-inf"), (math.nan, "nan"),
        ("", '""'), ('a "b" \\ c', '"a \\"b\\" \\\\ c"'),
        ("é\n\t\x7f\x00", '"é\\n\\t\\u007f\\u0000"'),
        ([], "[]"), ([1, [2.5, "x"]], '[1, [2.5, "x"]]'), ((1, 2), "[1, 2]"), ({}, "{}"),
        ({"a": 1, "b c": {"d": False}}, '{ a = 1, "b c" = { d = false } }'),
        (datetime.date(2026, 5, 1), "2026-05-01"), (datetime.time(6, 30), "06:30:00"),
    ],
)  # fmt: skip
def test_one_line(value, text):
    assert literal(value) == text
    found = tomllib.loads(f"x = {text}")["x"]
    plain = list(value) if isinstance(value, tuple) else value
    assert repr(found) == repr(plain)


def test_what_toml_does_not_have():
    with pytest.raises(TypeError, match="TOML has no NoneType"):
        literal(None)


def test_keys():
    assert [key_word(key) for key in ("a-b_1", "a b", "", "é")] == ["a-b_1", '"a b"', '""', '"é"']
    assert dotted(["battery", "x y", "cell"]) == 'battery."x y".cell'


@pytest.mark.parametrize(
    ("key", "value", "alone"),
    [
        ("cell", {}, True), ("cell", 5, False), ("duty", {"on_min": 1}, False),
        ("battery", [{}], True), ("battery", [], False), ("battery", [1], False),
        ("battery", {"a": 1}, False), ("stages", [{"hold_V": 14}], False),
    ],
)  # fmt: skip
def test_what_has_a_header_of_its_own(key, value, alone):
    assert stands_alone(key, value) is alone


def test_a_whole_document():
    document = {
        "title": "x", "battery": [{"cell": {"ohmic_mohm": 0.5}, "name": "a", "cells": [{}, {}]},
                                  {"name": "b"}],
        "wiring": {"link_mohm": 1.0}, "load": [{"duty": {"on_min": 1.0}}],
    }  # fmt: skip
    text = table_text((), document)
    assert tomllib.loads(text) == document
    # what has no header comes first, or it would belong to the table before it
    assert text == (
        'title = "x"\n\n[[battery]]\nname = "a"\n[battery.cell]\nohmic_mohm = 0.5\n'
        '[[battery.cells]]\n[[battery.cells]]\n\n[[battery]]\nname = "b"\n\n'
        "[wiring]\nlink_mohm = 1.0\n\n[[load]]\nduty = { on_min = 1.0 }\n"
    )


@pytest.mark.parametrize(
    ("name", "plain"),
    [
        ("curve.csv", True), ("tables/curve.csv", True), ("a b.csv", True), ("x" * 200, True),
        ("x" * 201, False), ("é" * 101, False), ("", False), (".", False), ("..", False),
        ("../curve.csv", False), ("a/../b.csv", False), ("/etc/passwd", False), ("./a.csv", False),
        ("a//b.csv", False), ("a/", False), ("C:x.csv", False), ("a\\b.csv", False),
        ("a\nb.csv", False), ("a*.csv", False), ("a?.csv", False), ('a".csv', False),
        ("a|b", False), ("a<b", False), ("a>b", False),
    ],
)  # fmt: skip
def test_names_that_stay_in_their_folder(name, plain):
    assert is_plain_name(name) is plain
    if plain:
        check_table(name, b"")
    else:
        with pytest.raises(ScenarioError, match="expected a plain file name, such as curve"):
            check_table(name, b"")


def test_a_table_that_is_too_large():
    check_table("t.csv", bytes(20_000_000))
    with pytest.raises(ScenarioError, match=r"t\.csv: larger than 20 MB"):
        check_table("t.csv", bytes(20_000_001))


def test_where_a_document_names_tables():
    document = {
        "battery": [{"cell": {"ocv_table": "a.csv"}, "cells": [{}, {"ocv_table": "b.csv"}]}],
        "load": [{"profile": "c.csv"}, {"profile": 5}], "ocv_tables": "no.csv",
    }  # fmt: skip
    assert named_tables(document) == [
        (("battery", 0, "cell", "ocv_table"), "a.csv"),
        (("battery", 0, "cells", 1, "ocv_table"), "b.csv"),
        (("load", 0, "profile"), "c.csv"),
    ]
