"""Equations of docs/theory.md and docstrings point to each other, both ways."""

import ast
import re
from collections import defaultdict
from functools import cache

import numpy as np
import pytest
from docs_pages import DOCS, ROOT

from bankSim.model import half_cells

THEORY = (DOCS / "theory.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"^```\n(.*?)^```", THEORY, re.MULTILINE | re.DOTALL)
NUMBER = r"\((\d+\.\d+)\)"
REFERENCE = re.compile(r"docs/theory\.md, eq\.\s((?:\d+\.\d+(?:, )?)+)")


def numbers_in_blocks():
    return [
        found for block in BLOCKS for line in block.splitlines()
        if (found := "".join(re.findall(NUMBER + "$", line)))
    ]  # fmt: skip


def done_by():
    """Return which equations the page says a function does, by (file, function)."""
    found = defaultdict(set)
    for path, rest in re.findall(r"^- `([\w/]+\.py)`: (.+)$", THEORY, re.MULTILINE):
        for name, numbers in re.findall(r"`(\w+)` \(([\d., ]+)\)", rest):
            found[path, name] |= set(numbers.split(", "))
    return found


@cache
def told_by_code():
    """Return which equations docstrings name, by (file, function)."""
    found = defaultdict(set)
    for path in sorted((ROOT / "bankSim").rglob("*.py")):
        text = path.read_text(encoding="utf-8")
        if "docs/theory.md" not in text:
            continue
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.FunctionDef | ast.ClassDef):
                for numbers in REFERENCE.findall(ast.get_docstring(node) or ""):
                    found[str(path.relative_to(ROOT)), node.name] |= set(numbers.split(", "))
        counted = len(REFERENCE.findall(text))
        assert counted == text.count("docs/theory.md"), f"{path}: a reference in another form"
    return found


def test_equations_are_numbered_in_order_within_their_section():
    sections = re.split(r"^## (\d+) ", THEORY, flags=re.MULTILINE)[1:]
    found = []
    for section, body in zip(sections[::2], sections[1::2], strict=True):
        blocks = re.findall(r"^```\n(.*?)^```", body, re.MULTILINE | re.DOTALL)
        own = re.findall(NUMBER + "$", "".join(blocks), re.MULTILINE)
        assert own == [f"{section}.{place + 1}" for place in range(len(own))]
        found += own
    assert found == numbers_in_blocks()
    assert len(found) > 100


def test_every_block_is_numbered():
    unnumbered = [block for block in BLOCKS if not re.search(NUMBER + "$", block, re.MULTILINE)]
    assert unnumbered == []


def test_page_and_code_agree_on_who_does_what():
    assert told_by_code() == done_by()


def test_every_equation_is_done_by_somebody():
    assert set().union(*done_by().values()) == set(numbers_in_blocks())


def test_numbers_named_in_texts_exist():
    known = set(numbers_in_blocks())
    for path in DOCS.rglob("*.md"):
        for named in re.findall(r"\beq\. ([\d., and to]+)", path.read_text(encoding="utf-8")):
            assert set(re.findall(r"\d+\.\d+", named)) <= known, path
    prose = re.sub(r"^```\n.*?^```", "", THEORY, flags=re.MULTILINE | re.DOTALL)
    assert set(re.findall(NUMBER, prose)) <= known


def test_every_section_names_its_source():
    for section in re.split(r"^## ", THEORY, flags=re.MULTILINE)[3:-1]:
        assert re.search(r"^Source: ", section, re.MULTILINE), section.splitlines()[0]


def written(number):
    """Return a function of one variable as the page prints it."""
    (block,) = [block for block in BLOCKS if f"({number})" in block]
    lines = block[: block.index(f"({number})")].splitlines()
    start = max(place for place, line in enumerate(lines) if re.match(r"U[np] = ", line))
    text = " ".join(lines[start:]).partition("=")[2].replace("^", "**")
    text = re.sub(r"([\w.]) (?=[a-z(])", r"\1 * ", " ".join(text.split()))
    code = compile(text, number, "eval")
    names = {"exp": np.exp, "tanh": np.tanh}
    return lambda x: eval(code, names, {"x": x, "y_p": x, "r": np.maximum(1.0 - x, 0.0)})


@pytest.mark.parametrize(
    ("number", "function"),
    [
        ("3.2", half_cells.graphite_voltage),
        ("3.3", half_cells.iron_phosphate_voltage),
        ("3.4", half_cells.silicon_graphite_voltage),
        ("3.5", half_cells.nmc811_voltage),
    ],
)
def test_printed_electrode_curves_are_those_of_the_code(number, function):
    content = np.linspace(0.03, 0.97, 95)
    np.testing.assert_allclose(written(number)(content), function(content), rtol=1e-12)
