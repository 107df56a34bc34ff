from dataclasses import replace

import made_up
import pytest

from bankSim.model.curve import Curve
from bankSim.scenario.record import Assumed
from bankSim.show.basis import alike_cells
from bankSim.show.printing import story_text
from bankSim.show.story import tell, tell_briefly
from bankSim.sim.result import ALL_OVER, Caution
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
    assert "56 more switchings, cell by cell, are in events.csv." in text
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


def test_a_caution_says_what_to_do():
    wise = Caution("fuse", "danger", 80.0, 50.0, "A", "The fuse of old blows.", "Use less power.")
    text = squeezed(story_text(tell(made_up.result([made_up.outcome("old")], cautions=(wise,)))))
    assert "DANGER: The fuse of old blows. What to do: Use less power." in text


def test_many_cautions_of_a_kind_are_counted():
    many = tuple(Caution("fuse", "note", k, 1.0, "A", f"Fuse {k} is warm.") for k in range(9))
    text = squeezed(story_text(tell(made_up.result([made_up.outcome("old")], cautions=many))))
    assert text.count("is warm.") == 6
    assert "And 3 more of the kind: fuse." in text


def test_what_was_looked_at_is_told_with_or_without_cautions():
    for result in (made_up.pair(), made_up.result([made_up.outcome("a")])):
        text = squeezed(story_text(tell(result)))
        assert "Checked: rest voltages against each other; what flows at the first" in text
        assert "Not checked: what the file does not say" in text
    assert "None. Checked" in text


def test_peaks_stand_apart_by_direction():
    pair = [
        made_up.outcome("a", peak_discharge_A=36.4),
        made_up.outcome("b", peak_discharge_A=0.8, peak_charge_A=34.9),
    ]
    text = story_text(tell(made_up.result(pair)))
    rows = [line.split() for line in text.splitlines() if line.startswith(("a ", "b "))]
    assert rows[0][5:7] == ["36.4", "0"]
    assert rows[1][5:7] == ["0.800", "34.9"]


def test_amperes_at_the_start_where_batteries_even_out():
    pair = [
        made_up.outcome("a", share_at_start=24.5),
        made_up.outcome("b", share_at_start=-23.5),
    ]
    result = made_up.result(pair, end_reason=ALL_OVER)
    trace = result.trace.copy()
    trace[0, 3], trace[0, 5], trace[0, 10] = 1.49, 36.4, -34.91
    text = squeezed(story_text(tell(replace(result, trace=trace))))
    assert '"a" gives 36.4 A and "b" takes 34.9 A' in text
    assert "even each other out" in text
    assert "2450 %" not in text
    rows = [line.split() for line in story_text(tell(replace(result, trace=trace))).splitlines()]
    assert next(row for row in rows if row[:1] == ["b"])[-1] == "-34.9"


def test_the_event_table_tells_the_clock_where_the_scenario_does():
    result = made_up.pair()
    assert "41.00 h (" not in story_text(tell(result))
    bank = replace(result.scenario.bank, starts_at_s=6.5 * 3600.0 + 60.0)
    early = replace(result, scenario=replace(result.scenario, bank=bank))
    assert "41.00 h (day 2, 23:31)" in story_text(tell(early))


def test_the_short_story_keeps_what_was_assumed_short_and_near_the_end():
    many = tuple(
        Assumed(f"battery[{k}].{key}", 1.0 + k, "mohm", f"a source of {key}")
        for k in (1, 2)
        for key in ("state_of_charge", *(f"cell.value_{n}" for n in range(40)), "lead_mohm", "x")
    )
    result = made_up.result([made_up.outcome("a"), made_up.outcome("b")], assumed=many)
    brief, full = (story_text(story(result)) for story in (tell_briefly, tell))
    lines = brief[brief.index("What was assumed") : brief.index("Safety")].strip().splitlines()
    assert len(lines[2:]) <= 8
    assert "story.txt" in lines[-1]
    assert "more" in lines[3]
    assert full.count("cell.value_") == 2 * 40  # the key and its source
    assert brief.index("How it was solved") < brief.index("What was assumed")


@pytest.mark.parametrize(
    "changes",
    [{"charge_C": 1.0}, {"state_of_charge": 0.5}, {"ohmic_ohm": Curve.constant(1.0)}, None],
)
def test_cells_that_are_all_alike_are_told(changes):
    result = made_up.result([made_up.outcome("a"), made_up.outcome("b")])
    one, other = result.scenario.bank.batteries
    if changes:
        unlike = (replace(one.cells[0], **changes), *one.cells[1:])
        bank = replace(result.scenario.bank, batteries=(replace(one, cells=unlike), other))
        result = replace(result, scenario=replace(result.scenario, bank=bank))
    (told,) = alike_cells(result)
    assert told.startswith('All cells of "b" are' if changes else 'All cells of "a" and')


def test_single_cells_are_like_no_other():
    assert alike_cells(made_up.result([made_up.outcome("a")], cells=1)) == []


def test_stranded_is_a_mean_over_all_cells():
    text = squeezed(story_text(tell(made_up.pair())))
    assert "what each cell holds above the weakest one, the mean over all its cells" in text
