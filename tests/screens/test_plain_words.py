"""What a person writes is shown letter for letter, judged by an independent markdown reader."""

import html
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from markdown_it import MarkdownIt

from bankSim.screens.plain import plain
from bankSim.sim.numbers import clean

READERS = [MarkdownIt("commonmark"), MarkdownIt("gfm-like", {"linkify": False})]
NASTY = [
    "**bold** _it_ `code`",
    "<script>alert(1)</script>",
    "![x](http://elsewhere.example/p.png)",
    "[a](javascript:alert(1))",
    "# heading",
    "1. list",
    "- list",
    "> quote",
    "| a | b |",
    "https://elsewhere.example www.elsewhere.example a@b.example",
    "$x^2$ and &amp; &#60;",
    ":material/home: :red[danger] :smile:",
    "~~gone~~ a\\b",
]


def _shown(reader: MarkdownIt, text: str) -> str:
    """Return what stands on the page; fail when anything but a paragraph is there."""
    page = reader.render(plain(text)).strip()
    assert set(re.findall(r"</?([a-zA-Z0-9]+)", page)) <= {"p"}, page
    return html.unescape(re.sub(r"</?p>", "", page))


@pytest.mark.parametrize("text", NASTY)
@pytest.mark.parametrize("reader", READERS, ids=["commonmark", "gfm"])
def test_markup_in_words_is_shown_as_written(reader, text):
    # CommonMark 0.31, section 2.4: a backslash before ASCII punctuation makes it literal
    assert _shown(reader, text) == clean(text)


@given(st.text(max_size=60))
def test_any_words_are_shown_as_written(text):
    wanted = " ".join(clean(text).split())
    for reader in READERS:
        assert " ".join(_shown(reader, text).split()) == wanted


@pytest.mark.parametrize("mark", [":material/home:", ":red[x]", ":smile:", "$x$", "www.a.example"])
def test_marks_of_the_screen_library_lose_their_opening(mark):
    # its extras beside CommonMark open with a colon, a dollar or a point: each stands escaped
    assert re.search(r"(?<!\\)[:$.\[]", plain(mark)) is None
