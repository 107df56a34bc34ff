"""The spread of a bank in sentences: one case after the other, every number as in the result."""

from dataclasses import replace

import pytest
import told_studies as made

from bankSim.show.printing import story_text
from bankSim.show.spread_story import spread_headline, tell_spread
from bankSim.study.spread import OrderChance
from bankSim.study.traced import MiddleRun
from bankSim.study.unknown import Kind

EIGHT = tuple(f"b{number}" for number in range(1, 9))


def said(result):
    return " ".join(spread_headline(result))


def section(result, title, **more):
    """The text of one section, on one line; empty when it is not told."""
    text = story_text(tell_spread(result, **more), 300)
    _, found, rest = text.partition(f"{title}\n{'-' * len(title)}\n")
    return " ".join(rest.partition("\n\n")[0].split()) if found else ""


def test_what_it_gives_with_the_numbers_of_the_result():
    told = said(made.spread())
    assert told.startswith(
        "In 9 of 10 cases the bank delivers 164 to 176 Ah of the 200 Ah on the labels; half of the "
        "cases lie above 170 Ah. The loads are fed for 14.0 to 16.0 h. "
        '"old" cuts out first in 80 of 100 cases (77 to 82) and "new" in 20.'
    )


def test_a_single_battery_has_one_label():
    told = said(made.spread(("alone",)))
    assert "of the 100 Ah on the label;" in told
    assert "The battery cuts out in all cases." in told


def test_nothing_delivered():
    told = said(made.spread(bank=made.FLAT, nobody=made.of(1.0), fed=made.of(1.0)))
    assert told.startswith("In 9 of 10 cases the bank gives nothing. ")


def test_only_charged():
    result = made.spread(bank=made.FLAT, charged=made.band(10.0, 11.0, 12.0))
    assert said(result).startswith(
        "In 9 of 10 cases the bank takes in 10.0 to 12.0 Ah, beside the 200 Ah on the labels. "
    )


def test_charged_and_delivered():
    told = said(made.spread(charged=made.band(10.0, 11.0, 12.0)))
    assert "delivers 164 to 176 Ah and takes in 10.0 to 12.0 Ah, beside the 200 Ah on" in told


def test_nothing_that_was_drawn_changes_anything():
    told = said(made.spread(bank=made.band(170.0, 170.0, 170.0)))
    assert "delivers 170 Ah of the 200 Ah on the labels: nothing that was drawn changes" in told
    assert "half of the cases" not in told


def test_where_nothing_was_drawn_nothing_is_said_of_it():
    nothing = made.draws(unknowns=())
    told = said(made.spread(bank=made.band(170.0, 170.0, 170.0), of_draws=nothing))
    assert "nothing that was drawn" not in told


@pytest.mark.parametrize(
    ("part", "words"),
    [
        (1.0, "The loads are fed to the end of the run in all cases."),
        (0.6, "The loads are fed to the end of the run in 60 of 100 cases (57 to 63)."),
        (0.2, "fed for 14.0 to 16.0 h, to the end of the run in 20 of 100 cases (18 to 23)."),
        (0.003, "The loads are fed for 14.0 to 16.0 h. "),
        (0.0, "The loads are fed for 14.0 to 16.0 h. "),
    ],
)
def test_for_how_long_the_loads_are_fed(part, words):
    assert words in said(made.spread(fed=made.of(part)))


def test_without_loads_nobody_is_fed():
    result = made.spread(of_draws=made.draws(loads=False), fed=made.of(1.0))
    assert "fed" not in said(result)


@pytest.mark.parametrize(
    ("nobody", "firsts", "words"),
    [
        (1.0, (0.0, 0.0), "No battery cuts out in any case."),
        (0.998, (0.001, 0.001), "Nobody cuts out in 99.8 of 100 cases (99.3 to 99.95)."),
        (
            0.3,
            (0.6, 0.1),
            'in 60 of 100 cases (57 to 63) and "new" in 10; nobody cuts out in 30 of 100',
        ),
        (0.0, (0.52, 0.48), '(49 to 55) and "new" in 48: who is first is open.'),
        (0.0, (0.0, 1.0), '"new" cuts out first in all cases.'),
    ],
)
def test_who_cuts_out_first(nobody, firsts, words):
    batteries = tuple(
        made.battery(name, first=first, at_all=1.0 - nobody)
        for name, first in zip(("old", "new"), firsts, strict=True)
    )
    assert words in said(made.spread(batteries=batteries, nobody=made.of(nobody)))


def test_who_is_first_is_open_also_where_sometimes_nobody_is():
    batteries = tuple(made.battery(name, first=0.45) for name in ("old", "new"))
    assert "open" in said(made.spread(batteries=batteries, nobody=made.of(0.1)))


@pytest.mark.parametrize(("first_out", "told"), [("new", True), ("old new", False), ("", False)])
def test_a_single_run_that_has_another_one_first_is_told(first_out, told):
    traced = replace(made.traced(), middle=MiddleRun((), (), tuple(first_out.split())))
    words = 'and "new" in 20. In a single run with every value in the middle it is "new".'
    assert (words in said(made.spread(traced=traced))) is told


def test_several_at_the_same_instant():
    batteries = tuple(made.battery(name, first=0.2) for name in ("old", "new"))
    told = said(made.spread(batteries=batteries, together=made.of(0.6)))
    assert "; several cut out first, all at once, in 60 of 100 cases (57 to 63)" in told
    batteries = tuple(made.battery(name, first=0.0) for name in ("old", "new"))
    told = said(made.spread(batteries=batteries, together=made.of(1.0)))
    assert "Several cut out first, all at once, in all cases." in told
    same = (OrderChance((("old", "new"), ("third",)), made.of(1.0)),)
    told = section(made.spread(orders=same), "In which order they cut out")
    assert told == '"old" with "new" - "third": all cases'


def test_of_five_the_last_one_is_named():
    names = EIGHT[:5]
    batteries = tuple(made.battery(name, first=0.2) for name in names)
    assert '"b4" in 20 and "b5" in 20' in said(made.spread(names, batteries=batteries))


def test_of_eight_none_is_forgotten():
    batteries = tuple(made.battery(name, first=0.125) for name in EIGHT)
    told = said(made.spread(EIGHT, batteries=batteries))
    assert "other" in told.partition("cuts out first")[2].partition(".")[0]


@pytest.mark.parametrize(
    ("central", "words"),
    [
        (170.0, ""),
        (174.0, "A single run with every value in the middle says 174 Ah, more than most cases: "),
        (160.0, "A single run with every value in the middle says 160 Ah, less than most cases."),
    ],
)
def test_where_the_single_run_stands(central, words):
    cells = made.draws(unknowns=(made.unknown("balance", Kind.CELL_CHARGE),))
    result = made.spread(bank=made.band(164.0, 170.0, 176.0, central=central), of_draws=cells)
    told = said(result)
    assert words in told
    assert ("A single run" in told) == bool(words)


def test_the_single_run_is_explained_only_by_what_was_drawn():
    load = made.unknown("power", Kind.LOAD, "lamp")
    result = made.spread(
        bank=made.band(164.0, 170.0, 176.0, central=174.0), of_draws=made.draws(unknowns=(load,))
    )
    assert "more than most cases." in said(result)


@pytest.mark.parametrize(
    ("middle", "at_all", "told"), [(4.0, 1.0, True), (1.0, 1.0, False), (4.0, 0.4, False)]
)
def test_what_stays_locked_in(middle, at_all, told):
    stranded = made.band(0.5 * middle, middle, 2.0 * middle)
    batteries = (
        made.battery("old", stranded=stranded, at_all=at_all),
        made.battery("new"),
    )
    words = '2.00 to 8.00 Ah stay locked in "old" behind its weakest cell.'
    assert (words in said(made.spread(batteries=batteries))) is told


def test_dangers_stand_in_front_and_warnings_are_counted():
    cautions = [made.caution("surge", "danger", 0.02), made.caution("fire", "danger", 1.0)]
    cautions += [made.caution(f"w{number}", "warning") for number in range(5)]
    told = said(made.spread(traced=made.traced(*cautions)))
    assert "DANGER in 2 of 100 cases (0.6 to 7): surge." in told
    assert "DANGER in all cases (at least 96 of 100): fire." in told
    assert told.endswith("Warnings: w0, w1, w2 and 2 others.")
    told = said(made.spread(traced=made.traced(*cautions[:-1])))
    assert told.endswith("Warnings: w0, w1, w2 and w3.")


SINGLE = "A single run with every value in the middle shows"


def beside_the_middle(drawn, single):
    """What is said where draws raise some dangers and the run in the middle others."""
    traced = made.traced(*(made.caution(topic, "danger") for topic in drawn))
    own = tuple(made.caution(topic, severity).example for topic, severity in single)
    traced = replace(traced, middle=MiddleRun(own, ()))
    return said(made.spread(traced=traced))


@pytest.mark.parametrize(
    ("drawn", "single", "words"),
    [
        (["fire"], [("fire", "danger")], None),
        (["fire"], [], " none of this."),
        (["fire"], [("fire", "warning")], " fire as less than a danger."),
        (["fire", "surge"], [("fire", "danger")], " no surge."),
        (["fire"], [("fire", "danger"), ("hum", "danger")], " a danger that no draw run in full"),
        ([], [("hum", "danger")], " a danger that no draw run in full has: hum."),
    ],
)
def test_dangers_that_the_single_run_has_not_or_has_alone(drawn, single, words):
    told = beside_the_middle(drawn, single)
    assert (f"{SINGLE}{words}" in told) if words else (SINGLE not in told)


@pytest.mark.parametrize(
    ("count", "words"), [(1, "Only 1 draw: "), (19, "Only 19 draws: "), (20, "")]
)
def test_a_handful_of_draws_are_examples(count, words):
    told = said(made.spread(of_draws=made.draws(count=count)))
    assert told.startswith(words or "In 9 of 10 cases")


def test_cautions_name_the_draw_that_has_them_and_what_to_do():
    cautions = (
        made.caution("surge", "danger", 0.02, 17),
        made.caution("hum", "note", 0.9, advice=""),
    )
    result = made.spread(traced=made.traced(*cautions))
    full, brief = (section(result, "Cautions", briefly=short) for short in (False, True))
    assert "DANGER: in 2 of 100 cases (0.6 to 7): (draw 17) The surge is not what" in full
    assert "What to do: Think twice." in full
    assert "Note: in 90 of 100 cases" in full
    assert "Note" not in brief
    assert "from 100 draws run in full" in brief
    quiet = made.spread(traced=made.traced(made.caution("hum", "note")))
    assert "hum" not in section(quiet, "Cautions", briefly=True)
    assert "The hum is not" in section(quiet, "Cautions")


def test_how_sure_it_is_that_there_is_no_danger():
    # Wilson (1927): none of 100 leaves up to 3.7 of 100
    none, warned = made.spread(), made.spread(traced=made.traced(made.caution()))
    for result in (none, warned):
        told = section(result, "Cautions")
        assert "No danger in 100 draws run in full; it may be in up to 4 of 100 cases." in told
    danger = made.spread(traced=made.traced(made.caution("surge", "danger")))
    assert "No danger" not in section(danger, "Cautions")


def test_one_row_a_battery_and_one_of_the_bank():
    rows = section(made.spread(), "What each battery does")
    assert "old 100 80.0 85.0 90.0 0.200 80 100 9.0-11.0 10.00-11.00" in rows
    assert "new 100 80.0 85.0 90.0 0.200 20 100 9.0-11.0 10.00-11.00" in rows
    assert "bank 200 164 170 176 - - - -" in rows


def test_a_battery_that_never_cuts_out_has_no_hours_and_volts():
    batteries = (made.battery("old"), made.battery("new", first=0.0, at_all=0.0))
    rows = section(made.spread(batteries=batteries), "What each battery does")
    assert "new 100 80.0 85.0 90.0 0.200 0 0 - -" in rows


def test_orders_with_their_chances():
    told = section(made.spread(), "In which order they cut out")
    assert (
        told
        == '"old" - "new": 80 of 100 cases (77 to 82) "new" - "old": 20 of 100 cases (18 to 23)'
    )
    some = (made.order((), 0.3), made.order(EIGHT, 0.7))
    told = section(made.spread(orders=some), "In which order they cut out")
    assert told.startswith("nobody: 30 of 100 cases")
    assert '"b6" - and 2 more: 70 of 100 cases' in told
    seven = made.spread(orders=(made.order(EIGHT[:7], 1.0),))
    seven = section(seven, "In which order they cut out")
    assert '"b6" - "b7": ' in seven


@pytest.mark.parametrize(
    "result", [made.spread(("alone",)), made.spread(nobody=made.of(1.0))], ids=["one", "none"]
)
def test_no_orders_of_one_or_of_nobody(result):
    assert section(result, "In which order they cut out") == ""


def test_which_cell_decides():
    batteries = (
        made.battery("old", cells=(0.05, 0.9, 0.05, 0.0)),
        made.battery("new", cells=(0.26, 0.25, 0.24, 0.25)),
    )
    told = section(made.spread(batteries=batteries), "Which cell decides")
    assert '"old": cell 2 in 90, cell 1 in 5 and cell 3 in 5 of 100 cases.' in told
    assert '"new": any of its cells, none more than the others.' in told
    idle = (made.battery("old", cells=(0.0,) * 4), made.battery("new", cells=(1.0,)))
    assert section(made.spread(batteries=idle), "Which cell decides") == ""


def test_cells_that_seldom_decide_make_no_empty_sentence():
    # own count of 10,000 draws: three cells in 40 each, the fourth in none
    cells = tuple(made.of(part, 10_000) for part in (0.004, 0.004, 0.004, 0.0))
    batteries = (replace(made.battery("old"), cells=cells), made.battery("new"))
    told = section(made.spread(batteries=batteries), "Which cell decides")
    assert '"old": of 100' not in told
    assert '"old": cell' in told


def test_how_sure():
    told = section(made.spread(), "How sure this is")
    assert told.startswith(
        "1,000 draws, seed 7. The ends of the bank's range are known to within 0.80"
    )
    assert "not reached" not in told
    assert "evenly" not in told


def test_precision_that_was_not_reached():
    told = section(made.spread(reached=False), "How sure this is")
    assert "So many draws did not reach the precision wanted; ask for more" in told
    assert "--draws" in told


def test_even_draws():
    told = section(made.spread(of_draws=made.draws(even=True)), "How sure this is")
    assert "1,000 draws, seed 7, spread evenly (Sobol points)." in told
    assert "these errors are too large" in told


def test_briefly_the_unknowns_are_counted():
    full, brief = (section(made.spread(), "What was drawn", briefly=b) for b in (False, True))
    assert 'capacity ("old") +- 3 % (standard deviation) somebody measured it' in full
    assert "story.txt" in brief
    assert "somebody" not in brief
