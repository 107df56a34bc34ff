"""Texts that fit into a figure."""

import pytest

from bankSim.show.fitting import fitted, fold, text_in


def test_texts_are_measured_by_their_letters():
    assert text_in("WWWW", 10.0) > 3.0 * text_in("iiii", 10.0)
    assert text_in("a" * 8, 10.0) == pytest.approx(2.0 * text_in("aaaa", 10.0), rel=0.05)


def test_lines_are_broken_where_they_are_full():
    lines = fold("one two " + "W" * 40, 1.5, 10.0)
    assert all(text_in(line, 10.0) <= 1.5 for line in lines)
    assert "".join(lines).replace(" ", "") == "onetwo" + "W" * 40


def test_a_text_that_does_not_fit_loses_its_middle():
    short = fitted("first " + "W" * 60 + " last", 1.0, lines=2)
    assert len(short.split("\n")) <= 2
    assert short.startswith("first")
    assert short.endswith("last")
    assert "..." in short
    assert fitted("short", 1.0) == "short"
