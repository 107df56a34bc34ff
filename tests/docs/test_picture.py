"""The picture at the top of README.md shows what the program says today."""

import importlib.util
import re

from docs_pages import DOCS, ROOT

from bankSim import read_scenario, simulate


def drawing():
    spec = importlib.util.spec_from_file_location("draw", DOCS / "pictures" / "draw.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_picture_and_its_words_are_of_this_program():
    draw = drawing()
    told = draw.told(simulate(read_scenario(draw.SCENARIO)).summary())
    assert told in draw.PICTURE.read_text(encoding="utf-8")
    (words,) = re.findall(r"!\[([^]]+)\]", (ROOT / "README.md").read_text(encoding="utf-8"))
    numbers = re.compile(r"\d+(?:\.\d+)?").findall
    assert set(numbers(told)) <= set(numbers(words))


def test_the_picture_is_small():
    assert drawing().PICTURE.stat().st_size < 80_000
