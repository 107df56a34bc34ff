"""What the page says: chances, cautions, choices, events, assumptions, file names."""

import ast
import html
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import bankSim
from bankSim.scenario.draft import Draft
from bankSim.screens.happens.basis import EVERYTHING, assumed_grid, subjects
from bankSim.screens.happens.chances import (
    chances_grid,
    chances_html,
    chances_line,
    unlike_line,
)
from bankSim.screens.happens.files import stem
from bankSim.screens.happens.switchings import cells_grid, choice_words, choices, events_grid
from bankSim.screens.happens.warned import cautions_html, split
from bankSim.screens.happens.wording import PLACES, WORDS, for_screen, on_screen
from bankSim.show.blocks import Section
from bankSim.show.plain_words import PLAIN
from bankSim.sim.result import Caution

EVIL = '<img src=x onerror="alert(1)">'


def test_chances_are_those_of_the_table(weak, weak_spread):
    parts = {"first": (("weak", 0.83), ("good", 0.12)), "together": 0.0, "nobody": 0.05}
    spread = replace(weak_spread, draws=200, **parts)
    line = chances_line(weak.scenario, spread)
    assert line.startswith('In 83 of 100 random cases "weak" cuts out first; "good" in 12; ')
    assert "nobody cuts out in 5 of 100" in line


@pytest.mark.parametrize(
    ("names", "end"), [("abcd", '"c" in 20 and "d" in 20'), ("abcde", "and one of 2 others in 40")]
)
def test_the_last_one_of_several_is_named(names, end, weak, weak_spread):
    first = tuple((name, 0.2) for name in names)
    line = chances_line(weak.scenario, replace(weak_spread, draws=200, first=first, nobody=0.0))
    assert end in line


def test_few_cases_are_told_as_they_were_counted(weak, weak_spread):
    parts = {"first": (("weak", 8 / 11), ("good", 1 / 11)), "together": 0.0, "nobody": 2 / 11}
    line = chances_line(weak.scenario, replace(weak_spread, draws=11, **parts))
    assert line.startswith('In 8 of 11 random cases "weak" cuts out first; "good" in 1; ')
    assert "nobody cuts out in 2 of 11" in line


def test_what_is_neither_sure_nor_impossible_is_not_told_as_such(weak, weak_spread):
    parts = {"first": (("weak", 0.996), ("good", 0.006)), "nobody": 0.0}
    spread = replace(weak_spread, draws=200, **parts)
    line = chances_line(weak.scenario, spread)
    assert "more than 99 of 100" in line
    assert '"good" in less than 1' in line


def test_the_range_is_that_of_the_bank(weak, weak_spread):
    spread = replace(weak_spread, bank_Ah=np.array([171.2, 180.0, 192.4]))
    assert chances_line(weak.scenario, spread).endswith("the bank delivers 171 to 192 Ah.")


def test_a_bank_that_never_cuts_out_says_so(weak, weak_spread):
    spread = replace(weak_spread, first=(), nobody=1.0, together=0.0)
    assert chances_line(weak.scenario, spread).startswith("In none of 40 random cases")


def test_charge_that_is_blocked_is_no_calm(weak, weak_spread):
    fan = replace(weak_spread.fan, draws=40)
    calm = replace(weak_spread, first=(), nobody=1.0, together=0.0, fan=fan)
    line = chances_line(weak.scenario, replace(calm, blocks_charge=1.0, loses_takers=0.95))
    assert line.startswith("In none of 40 random cases does a battery block its discharge; charge ")
    assert "charge is blocked in all of 40 cases; in 38 of 40 cases chargers give much as" in line
    assert "load dump" in line
    assert "cut out" not in line
    assert "charge" not in chances_line(weak.scenario, calm)


def test_cases_of_another_count_are_told_as_what_they_are(weak, weak_spread):
    fan = replace(weak_spread.fan, draws=19)
    few = replace(weak_spread, draws=21, fan=fan, blocks_charge=10 / 19)
    line = chances_line(weak.scenario, few)
    assert " of 21 random cases" in line
    assert "charge is blocked in 10 of the 19 cases that were followed over time" in line


@pytest.mark.parametrize(
    ("first", "nobody", "has_out", "words"),
    [
        ((("weak", 0.9),), 0.0, True, ""),
        ((("good", 0.9),), 0.0, True, "has another one first than most cases."),
        ((("good", 0.4), ("weak", 0.3)), 0.3, True, ""),
        ((), 0.9, True, "has a cut-out; most cases have none."),
        ((("weak", 0.9),), 0.1, False, "has no cut-out; most cases have one."),
        ((), 1.0, False, ""),
    ],
)
def test_a_run_that_goes_another_way_than_most_is_told(
    first, nobody, has_out, words, weak, weak_spread
):
    spread = replace(weak_spread, first=first, nobody=nobody)
    calm = tuple(replace(one, first_cut_out=None) for one in weak.batteries)
    told = unlike_line(weak if has_out else replace(weak, batteries=calm), spread)
    assert told.removeprefix("The run above, with every value in the middle, ") == words


def test_names_are_escaped_in_the_line_of_chances(weak, weak_spread):
    spread = replace(weak_spread, first=((EVIL, 0.9),), nobody=0.0, together=0.0)
    told = chances_html(weak.scenario, spread, weak)
    assert "<img" not in told
    assert html.escape(EVIL[:30]) in told


def test_the_table_of_chances_has_every_battery(weak_spread):
    grid = chances_grid(weak_spread)
    assert [row[0] for row in grid.rows] == list(weak_spread.cuts_out)
    assert all(len(row) == len(grid.columns) for row in grid.rows)


def _caution(severity, topic="t", text="x"):
    return Caution(topic, severity, None, None, "", text, "do this")


def test_dangers_stand_before_warnings_and_notes_apart(weak):
    found = (_caution("note"), _caution("warning"), _caution("danger"))
    pressing, notes, more = split(replace(weak, cautions=found))
    assert [one.severity for one in pressing] == ["danger", "warning"]
    assert [one.severity for one in notes] == ["note"]
    assert more == 0


def test_of_many_alike_the_first_are_shown_and_all_counted(weak):
    found = (*[_caution("warning")] * 20, _caution("danger"))
    pressing, _, more = split(replace(weak, cautions=found))
    assert pressing[0].severity == "danger"
    assert len(pressing) + more == len(found)
    assert len(pressing) < 10


def test_a_severity_unknown_here_counts_as_the_worst(weak):
    pressing, _, _ = split(replace(weak, cautions=(_caution("warning"), _caution("catastrophe"))))
    assert pressing[0].severity == "catastrophe"
    assert '<li class="danger">' in cautions_html(pressing)


def test_cautions_carry_word_and_advice_escaped():
    told = cautions_html([_caution("danger", text=EVIL)])
    assert "Danger." in told
    assert "What to do:" in told
    assert "<img" not in told


def test_every_cut_out_can_be_chosen_and_says_why(weak):
    found = choices(weak)
    assert [event.battery for event in found] == ["weak", "good"]
    words = choice_words(weak, found[0])
    assert words.startswith('After 11.8 h: "weak" cuts out, its cell 3')


def test_of_very_many_cut_outs_the_first_of_each_kind_remain(weak):
    many = replace(weak, events=weak.events * 500)
    assert len(choices(many)) == 2


def test_the_deciding_cell_is_marked(weak):
    grid = cells_grid(choices(weak)[0])
    assert [row[1] for row in grid.rows] == ["", "", "decides", ""]


def test_thousands_of_events_are_cut_and_counted(weak):
    grid, note = events_grid(replace(weak, events=weak.events * 2000))
    assert len(grid.rows) == 500
    assert re.search(r"500 of 4,000 events", note)


def test_a_run_without_events_says_so(weak):
    grid, note = events_grid(replace(weak, events=()))
    assert grid is None
    assert "Nothing switched" in note


def test_assumptions_are_all_there_and_can_be_narrowed(weak):
    _, count = assumed_grid(weak)
    parts = [assumed_grid(weak, subject)[1] for subject in subjects(weak) if subject != EVERYTHING]
    assert sum(parts) == count > 0
    grid, fewer = assumed_grid(weak, EVERYTHING, "HYSTERESIS")
    assert 0 < fewer < count
    assert all("hysteresis" in " ".join(row).lower() for row in grid.rows)
    assert assumed_grid(weak, EVERYTHING, "no such word")[1] == 0


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("bank.toml", "bank"),
        ("../../etc/x.toml", "etc-x"),
        ("<b>", "b"),
        ("", "bank"),
        ("ä", "bank"),
    ],
)
def test_file_names_hold_plain_letters_only(name, told):
    assert stem(Draft("", name=name)) == told


def test_words_for_the_command_line_are_still_said_there_and_replaced_here():
    from inspect import getsource

    from bankSim.show import fed_words, spread_story, stops, unknowns_table

    told_by = (unknowns_table, spread_story, stops, fed_words)
    said = re.sub(r'"\s+f?"', "", "".join(map(getsource, told_by)))
    for ours, theirs in WORDS.items():
        assert ours in said, ours
        assert for_screen(Section("t", (f"a {ours} b",))).lines == (f"a {theirs} b",)


def test_screen_and_report_have_words_for_the_same_sentences():
    assert {*WORDS, *PLACES} == set(PLAIN)
    assert not any(re.search(r"--[a-z]|duration_h|stop =", theirs) for theirs in WORDS.values())


def advice_texts():
    """All texts that the cautions are made of, as the program holds them."""
    files = [*(Path(bankSim.__file__).parent / "sim" / "cautions").glob("*.py")]
    files.append(Path(bankSim.__file__).parent / "show" / "beware.py")
    nodes = [node for one in files for node in ast.walk(ast.parse(one.read_text("utf-8")))]
    return [one.value for one in nodes if isinstance(one, ast.Constant) and type(one.value) is str]


def test_every_place_on_the_screen_answers_an_advice_that_is_given():
    texts = advice_texts()
    assert [ours for ours in PLACES if not any(ours in text for text in texts)] == []


def test_no_advice_on_the_screen_speaks_of_the_file():
    told = [on_screen(text) for text in advice_texts()]
    assert [text for text in told if re.search(r"the file|as \w+_A\b|= \{", text)] == []


@pytest.mark.parametrize(("cells", "first"), [(16, "cell 1"), (17, "cell 15")])
def test_the_deciding_cell_is_in_sight_however_many_there_are(weak, cells, first):
    event = replace(
        choices(weak)[0], cell=15, cell_voltages_V=(2.9,) * 14 + (2.5,) + (2.9,) * (cells - 15)
    )
    grid = cells_grid(event)
    assert grid.rows[0][0] == first
    assert ("cell 15", "decides", "2.500 V") in grid.rows
    assert sorted(row[0] for row in grid.rows) == sorted(f"cell {n}" for n in range(1, cells + 1))
