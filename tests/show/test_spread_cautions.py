"""Cautions of a spread with their chances, on draws written by hand."""

import told_studies as made

from bankSim.show.spread_cautions import cautions_section, danger_lines
from bankSim.sim.cautions.cells import BELOW_EMPTY
from bankSim.sim.cautions.fuses import WOULD_BLOW
from bankSim.study.traced import MiddleRun


def spread(*cautions):
    return made.spread(traced=made.traced(*cautions))


def lines(*cautions, briefly=False):
    """All lines but the last, which says where chances are from."""
    *told, last = cautions_section(spread(*cautions), briefly=briefly).lines
    assert last == (
        "Chances of cautions are from 100 draws run in full; the numbers are those of one draw "
        "that raised it."
    )
    return told


NOTE = made.caution("fuse", "note", 0.5, draw=7)
WARNING = made.caution("cold", "warning", 1.0, draw=0, advice="")
DANGER = made.caution("surge", "danger", 0.2)
# by hand, of 100 draws none: p with (1 - p)^100 = 0.025 is 3.6 %; Wilson's bound z^2 / (n + z^2)
# is 3.7 %
NONE = "No danger in 100 draws run in full; it may be in up to 4 of 100 cases."


def test_each_caution_has_its_chance_an_example_and_what_to_do():
    assert lines(DANGER, WARNING, NOTE) == [
        "DANGER: in 20 of 100 cases (13 to 29): (draw 3) The surge is not what it should be. What "
        "to do: Think twice.",
        "WARNING: in all cases (at least 96 of 100): (draw 0) The cold is not what it should be.",
        "Note: in 50 of 100 cases (40 to 60): (draw 7) The fuse is not what it should be. What to "
        "do: Think twice.",
    ]


def test_without_any_danger_that_comes_first_with_what_it_is_worth():
    assert lines() == [NONE]
    told = lines(WARNING, NOTE)
    assert (told[0], len(told)) == (NONE, 3)


def test_briefly_notes_are_left_out():
    assert len(lines(DANGER, WARNING, NOTE, briefly=True)) == 2
    assert lines(NOTE, briefly=True) == [NONE]


def test_the_headline_names_dangers_and_what_they_make_of_the_ah():
    empty = made.caution(BELOW_EMPTY, "danger", 0.5)
    rare = made.caution(WOULD_BLOW, "danger", 0.1)  # in one case of ten or fewer Ah are not doubted
    told = danger_lines(spread(empty, rare, WARNING, NOTE))
    assert told == [
        f"DANGER in 50 of 100 cases (40 to 60): {BELOW_EMPTY}.",
        f"DANGER in 10 of 100 cases (6 to 17): {WOULD_BLOW}.",
        "Ah and hours are then on paper only: in truth cells driven below empty are ruined (in 50 "
        "of 100 cases).",
        "Warnings: cold.",
    ]
    assert danger_lines(spread(NOTE)) == []


def test_many_warnings_are_counted():
    found = [made.caution(topic, "warning", 0.5) for topic in "abcde"]
    assert danger_lines(spread(*found)) == ["Warnings: a, b, c and 2 others."]


def unlike(middle, *drawn):
    """What is said of the run in the middle, whose cautions are these topics and severities."""
    raised = tuple(made.caution(topic, severity).example for topic, severity in middle)
    traced = made.traced(*drawn)
    told = danger_lines(made.spread(traced=made.replace(traced, middle=MiddleRun(raised, ()))))
    return [line for line in told if line.startswith("A single run")]


def test_dangers_that_the_run_in_the_middle_hides():
    start = "A single run with every value in the middle shows "
    other = made.caution("fire", "danger", 0.1)
    assert unlike([("surge", "danger")], DANGER) == []
    assert unlike([], DANGER, other) == [f"{start}none of this."]
    assert unlike([("surge", "danger")], DANGER, other) == [f"{start}no fire."]
    assert unlike([("surge", "note")], DANGER) == [f"{start}surge as less than a danger."]
    assert unlike([("mud", "danger"), ("surge", "warning")], DANGER) == [
        f"{start}surge as less than a danger.",
        f"{start}a danger that no draw run in full has: mud.",
    ]
