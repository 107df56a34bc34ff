"""What holds for the story of any study."""

import re

import pytest
import told_studies as made

from bankSim.show.matters_story import tell_matters
from bankSim.show.printing import story_text
from bankSim.show.spread_story import tell_spread
from bankSim.show.study_words import SAFETY_OF_CHANCES
from bankSim.show.sums_story import tell_sums
from bankSim.show.sweep_story import tell_sweep
from bankSim.show.versus_story import tell_versus
from bankSim.sim.numbers import clean
from bankSim.sim.summary import SAFETY_TEXT
from bankSim.study.answers import Answer
from bankSim.study.versus import BatteryDifference

EIGHT = made.HOSTILE
NO_WORDS = re.compile(
    r"\b(nan|inf|None|True|False|Estimate|Band)\b|\[\]|\(\)|\{'|  +[.,;]|\.\.(?!\.)"
)


def hostile_versus():
    rows = tuple(
        BatteryDifference(name, (made.of(0.2), None), (made.band(1.0, 2.0, 3.0), None),
                          (made.FLAT, None), (None, made.band(1.0, 2.0, 3.0, "A")))
        for name in EIGHT
    )  # fmt: skip
    return made.versus(batteries=rows, one=made.draws(EIGHT, title="x" * 200))


def hostile_matters():
    groups = [made.group(f'capacity of "{name}"', subject=name) for name in EIGHT]
    return made.matters(
        Answer("Ah:x", f'Ah that "{EIGHT[0]}" delivers', "Ah", "x"),
        matters=tuple(made.matter(name=one.name) for one in groups),
        to_measure=made.to_measure(*groups),
    )


SPREADS = {
    "usual": made.spread(),
    "one": made.spread(("alone",)),
    "nothing": made.spread(bank=made.FLAT, nobody=made.of(1.0), fed=made.of(1.0)),
    "charged": made.spread(bank=made.FLAT, charged=made.band(10.0, 11.0, 12.0)),
    "same": made.spread(bank=made.band(170.0, 170.0, 170.0)),
    "dangers": made.spread(
        traced=made.traced(
            made.caution("surge", "danger"), made.caution(), made.caution("x", "note")
        )
    ),
    "not reached": made.spread(reached=False),
    "even": made.spread(of_draws=made.draws(even=True)),
    "exact": made.spread(of_draws=made.draws(unknowns=())),
    "no single run": made.spread(bank=made.band(1.0, 2.0, 3.0)),
    "eight": made.spread(EIGHT, orders=(made.order(EIGHT, 1.0),)),
}
SWEEPS = {
    "usual": made.sweep(),
    "words": made.sweep((1.0, 2.0), key=made.swept_key("wiring.layout", ("a", "b"), "")),
    "two keys": made.sweep_of_two((1.0, 2.0, 3.0, 4.0)),
    "nothing there": made.sweep(given=(None,)),
    "nothing": made.sweep((0.0, 0.0, 0.0)),
    "eight": made.sweep(names=EIGHT, firsts=[(0.9,) + (0.01,) * 7] * 3),
}
VERSUS = {
    "usual": made.versus(),
    "same": made.versus(made.difference(**made.SAME)),
    "cautions": made.versus(
        cautions=((made.caution("surge", "danger"),), (made.caution("fuse", part=0.9),))
    ),
    "nothing shared": made.versus(shared=0, reached=False),
    "eight": hostile_versus(),
}
SUMS = {
    "usual": made.sums(),
    "gain": made.sums((200.0, 210.0, 209.0, 208.0, 212.0, 211.0)),
    "nothing lost": made.sums((200.0,) * 6),
    "eight": made.sums(names=EIGHT),
}
MATTERS = {
    "usual": made.matters(),
    "chance": made.matters(made.FIRST_OF_OLD),
    "still": made.still(),
    "no middle": made.matters(central=None),
    "eight": hostile_matters(),
}
STORIES = {
    f"{question}, {case}": tell(result)
    for question, tell, cases in (
        ("spread", tell_spread, SPREADS),
        ("spread briefly", lambda one: tell_spread(one, briefly=True), SPREADS),
        ("sweep", tell_sweep, SWEEPS),
        ("sweep briefly", lambda one: tell_sweep(one, briefly=True), SWEEPS),
        ("versus", tell_versus, VERSUS),
        ("sums", tell_sums, SUMS),
        ("matters", tell_matters, MATTERS),
    )
    for case, result in cases.items()
}

every_story = pytest.mark.parametrize("story", STORIES.values(), ids=STORIES)


def titles(story):
    return [section.title for section in story.sections]


@every_story
def test_no_innards_are_told(story):
    found = NO_WORDS.search(story_text(story, 300).replace("...", ""))
    assert found is None, found


@every_story
def test_nothing_hides_in_a_text(story):
    assert story_text(story).replace("\n", "").isprintable()


@every_story
def test_lines_keep_to_their_width(story):
    for width in (80, 100, 110):
        assert max(len(line) for line in story_text(story, width).splitlines()) <= width


@every_story
def test_safety_is_always_the_last_word(story):
    assert titles(story)[-1] == "Safety"
    assert story.sections[-1].lines[-1] == SAFETY_TEXT


@every_story
def test_chances_are_no_permission(story):
    told = " ".join(line for section in story.sections for line in section.lines)
    chances = "of 100 cases" in told
    if chances:
        assert SAFETY_OF_CHANCES in story.sections[-1].lines


@every_story
def test_titles_and_first_sentences(story):
    assert story.title == clean(story.title)
    assert len(set(titles(story))) == len(story.sections)
    assert story.headline
    for sentence in story.headline:
        assert sentence == clean(sentence)
        assert sentence.endswith(".")
        assert sentence[0].isupper() or sentence[0] in '"0123456789' or "." in sentence.split()[0]


@every_story
def test_rows_have_as_many_texts_as_columns(story):
    for section in story.sections:
        if section.grid is not None:
            wide = len(section.grid.columns)
            assert all(len(row) == wide for row in section.grid.rows), section.title
            assert all(cell == clean(cell) for row in section.grid.rows for cell in row)


@pytest.mark.parametrize(
    ("question", "expected"),
    [
        ("spread", ["Cautions", "What each battery does", "In which order they cut out",
                    "Which cell decides", "How sure this is", "What was drawn", "Safety"]),
        ("sweep", ["Point by point", "Who cuts out first", "How they share the current",
                   "Cautions", "How sure this is", "What was drawn", "Safety"]),
        ("versus", ["Which is which", "In numbers", "Battery by battery", "How sure this is",
                    "What was drawn", "Safety"]),
        ("sums", ["From the labels to the bank", "Battery by battery", "What is compared",
                  "What was drawn", "Safety"]),
        ("matters", ["What to measure next, and how", "What moves the answer",
                     "What matters little here", "How sure this is", "What was drawn", "Safety"]),
    ],
)  # fmt: skip
def test_sections(question, expected):
    assert titles(STORIES[f"{question}, usual"]) == expected
