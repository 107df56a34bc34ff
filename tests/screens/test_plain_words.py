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
    return html.unescape(re.sub(r"</?p>", "", page)).replace("\u2060", "")


@pytest.mark.parametrize("text", NASTY)
@pytest.mark.parametrize("reader", READERS, ids=["commonmark", "gfm"])
def test_markup_in_words_is_shown_as_written(reader, text):
    # CommonMark 0.31, section 2.4: a backslash before ASCII punctuation makes it literal
    assert _shown(reader, text) == clean(text)


@given(st.text(max_size=60))
def test_any_words_are_shown_as_written(text):
    wanted = " ".join(clean(text).replace("\u2060", "").split())
    for reader in READERS:
        assert " ".join(_shown(reader, text).split()) == wanted


@pytest.mark.parametrize("mark", [":material/home:", ":red[x]", ":smile:", "$x$", "www.a.example"])
def test_marks_of_the_screen_library_lose_their_opening(mark):
    # its extras beside CommonMark open with a colon, a dollar or a point: each stands escaped
    assert re.search(r"(?<!\\)[:$.\[]", plain(mark)) is None


# What finds addresses in words after all escapes are read: the rules of GitHub's autolink
# extension (GFM 0.29, section 6.9; from memory), and the signs that become arrows and dashes.
LOOSE = [r"https?://", r"www\.", r"[-.\w+]+@[-\w]+", r"<->|->|<-|--|>=|<=|~="]


@pytest.mark.parametrize(
    "text",
    ["http://a.example/p.png", "HTTPS://A.example", "www.a.example", "me@a.example", "a -> b -- c",
     "a <-> b >= c <= d ~= e <- f"],
)  # fmt: skip
def test_addresses_and_signs_are_left_alone(text):
    shown = html.unescape(re.sub(r"</?p>", "", READERS[0].render(plain(text)).strip()))
    assert [rule for rule in LOOSE if re.search(rule, shown, re.IGNORECASE)] == []
    assert shown.replace("\u2060", "") == text
