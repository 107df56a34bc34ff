from dataclasses import replace

import made_up

from bankSim.scenario.record import Assumed
from bankSim.show.printing import story_text
from bankSim.show.story import tell
from bankSim.sim.result import ALL_OVER
from bankSim.sim.summary import SAFETY_TEXT


def squeezed(text):
    return " ".join(text.split())


def test_table_has_one_rounded_row_a_battery():
    lines = story_text(tell(made_up.pair())).splitlines()
    assert [line.split() for line in lines if line.startswith(("old ", "new "))][:2] == [
        ["old", "100", "84.2", "1.2", "0.0", "7.12", "31", "%"],
        ["new", "140", "146.8", "0.4", "0.0", "7.12", "69", "%"],
    ]


def test_cut_out_tells_every_cell_marks_one_and_what_the_others_carry():
    text = squeezed(story_text(tell(made_up.pair())))
    assert '"old" cut out after 41.0 h: its cell 3 fell to 2.50 V' in text
    assert "cell 1: 2.800 V cell 2: 2.850 V >> cell 3: 2.500 V << cell 4: 2.950 V" in text
    assert "Just before: 11.46 V at the battery, 11.43 V at the bus." in text
    assert 'The others, before and after: "new" 2.00 -> 4.00 A.' in text


def test_share_at_start_stands_beside_the_labels():
    text = squeezed(story_text(tell(made_up.pair())))
    assert 'Of the bank current "new" 69 % and "old" 31 %.' in text
    assert 'By their labels it would be "new" 58 % and "old" 42 %.' in text


def test_worst_caution_comes_first_and_before_the_tables():
    text = story_text(tell(made_up.pair()))
    assert text.index("DANGER: 900 A") < text.index("NOTE: The fuse") < text.index("Label")


def test_assumed_values_are_told_once_with_their_source():
    text = squeezed(story_text(tell(made_up.pair()), 200))
    assert text.count("internal_mohm = 1.2 mohm") == 1
    assert 'cell.ohmic_mohm = 0.45 mohm ("old") and 0.3214 mohm ("new")' in text
    assert text.count("J. Example 12 (2018) 34") == 1
    assert "surroundings.temperature_C = 25 degC" in text


def test_many_different_assumed_values_are_counted():
    many = tuple(
        Assumed(f"battery[{k + 1}].lead_mohm", 1.0 + k, "mohm", "a source") for k in range(9)
    )
    result = made_up.result([made_up.outcome(f"b{k}") for k in range(9)], assumed=many)
    assert "lead_mohm: 9 different values for 9 batteries" in story_text(tell(result), 120)


def test_safety_text_remarks_and_work_are_there():
    text = squeezed(story_text(tell(made_up.pair())))
    assert squeezed(SAFETY_TEXT) in text
    assert "wiring.link_mohm has no effect with equal leads." in text
    assert "612 steps over 54.2 h (34 repeated, 0 forced)" in text


def test_quiet_run_says_that_nothing_switched():
    text = story_text(tell(made_up.result([made_up.outcome("a")], end_reason=ALL_OVER)))
    assert "Nothing: no rule acted during this run." in text
    assert "How the current was shared" not in text


def test_narrow_page_breaks_no_number_and_keeps_to_its_width():
    text = story_text(tell(made_up.pair()), 60)
    assert max(len(line) for line in text.splitlines()) <= 60
    assert "146.8" in text
    assert "Stranded" in text


def test_64_batteries_have_a_row_each_and_few_cell_lists():
    text = story_text(tell(made_up.crowd(64)))
    assert text.count("cell 1: 2.800 V") == 8
    assert "56 more, cell by cell, are in events.csv." in text
    assert "cut out: its cell 3" in text
    assert max(len(line) for line in text.splitlines()) <= 100


def test_names_are_neither_markup_nor_control_codes():
    name = "[bold]a[/bold] :smile: \x1b[2J"
    cut = made_up.trip(name, 1.0, [name])
    result = made_up.result([made_up.outcome(name, cut=cut)], [cut])
    result = replace(result, scenario=replace(result.scenario, title="[red]t\x07"))
    text = story_text(tell(result))
    assert "[bold]a[/bold] :smile: ?[2J" in text
    assert text.startswith("[red]t?\n")
    assert text.isascii()
    assert "\x1b" not in text


def test_charge_column_appears_only_when_something_was_charged():
    assert "Taken" not in story_text(tell(made_up.pair()))
    charged = made_up.result([made_up.outcome("a", charged_Ah=12.0), made_up.outcome("b")])
    assert "Taken" in story_text(tell(charged))


def test_negative_share_is_explained():
    two = [made_up.outcome("a", share_at_start=1.3), made_up.outcome("b", share_at_start=-0.3)]
    assert 'the current of "b" ran the other way' in squeezed(story_text(tell(made_up.result(two))))
