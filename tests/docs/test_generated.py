"""What docs/make.py makes is up to date."""

import re
from pathlib import Path

import pytest
from docs_pages import DOCS, load_make, tokens_of

import bankSim
from bankSim.scenario.glossary import QUANTITIES
from bankSim.scenario.keys_battery import CHEMISTRIES


@pytest.fixture(scope="module")
def make():
    return load_make()


def test_pages_are_up_to_date(make):
    assert make.old_pages() == [], "run: python docs/make.py"


def test_figures_show_the_numbers_of_the_program(make):
    assert make.old_figures() == [], "run: python docs/make.py"


def test_a_figure_of_other_numbers_is_seen(make, tmp_path):
    old = tmp_path / "lfp.svg"
    text = (DOCS / "chemistries" / "lfp.svg").read_text(encoding="utf-8")
    old.write_text(re.sub(r"numbers [0-9a-f]{16}", "numbers 0123456789abcdef", text))
    assert not make.figures.is_fresh(old)


def test_a_block_of_other_words_is_made_anew(make):
    page = "a\n<!-- made by docs/make.py: scenario keys -->\nwords of yore\n<!-- end -->\nb\n"
    made = make.blocks.filled(page, make.makers())
    assert "words of yore" not in made
    assert made.startswith("a\n<!-- made")
    assert made.endswith("\n<!-- end -->\nb\n")
    assert all(f"`{key}`" in made for key in QUANTITIES)


def test_every_public_name_has_its_entry():
    tokens = tokens_of(DOCS / "api.md")
    heads = {
        tokens[place + 1].content
        for place, token in enumerate(tokens)
        if token.type == "heading_open" and token.tag == "h2"
    }
    assert set(bankSim.__all__) == heads - {"Records that these hand out"}


def test_nothing_of_this_machine_is_printed():
    for path in DOCS.rglob("*.md"):
        text = path.read_text(encoding="utf-8")
        assert str(Path.home()) not in text
        assert not re.search(r"0x[0-9a-f]{6}|/work/", text), path


@pytest.mark.parametrize("word", CHEMISTRIES)
def test_every_chemistry_has_a_page_with_all_parts(word):
    text = (DOCS / "chemistries" / f"{word.lower()}.md").read_text(encoding="utf-8")
    assert f'`chemistry = "{word}"`' in text
    for part in ("Numbers", "Usual rules", "What is assumed", "What is weak about it"):
        assert f"\n## {part}\n" in text
    assert re.search(r"!\[[^\]]{40,}\]\([\w-]+\.svg\)", text)
