"""Ah and hours that exist on paper only win nothing, and are told to be on paper."""

from dataclasses import replace
from pathlib import Path

import made_up
import pytest
import told_studies as made
from simple_banks import bank_of, run

from bankSim.model.battery import Battery
from bankSim.model.cell import Cell
from bankSim.model.charger import Charger, Stage
from bankSim.model.curve import Curve
from bankSim.scenario.read import parse_scenario
from bankSim.show.headline import headline
from bankSim.show.spread_story import spread_headline
from bankSim.show.sweep_headline import sweep_headline
from bankSim.show.versus_story import versus_headline
from bankSim.sim.result import Caution
from bankSim.study.answers import RUNTIME
from bankSim.study.blocks import threads
from bankSim.study.versus import HARDEST, study_versus

BELOW, BLOWN, OVER = "cell driven below empty", "fuse would blow", "cell charged beyond full"
ENDS = {
    BELOW: "in truth cells driven below empty are ruined",
    BLOWN: "in truth a fuse blows first",
    OVER: "in truth cells charged beyond full are harmed",
}
BARE = ("no low-voltage cut-out", "warning", 1.0)
LONGER = made.difference(RUNTIME, (0.5, 1.0, 1.5), mean=(0.9, 1.0, 1.1), at=15.0)
KEY = "battery[old].lead_mohm"


def said(one=(), other=(), study=made.versus, **more):
    """The headline where each side raises these cautions: topic, severity, part of the draws."""
    sides = tuple(tuple(made.caution(*own) for own in side) for side in (one, other))
    return " ".join(versus_headline(study(cautions=sides, **more)))


def choice(told):
    return told.partition("Which to choose: ")[2].partition("No choice")[0]


# --- versus, by hand -------------------------------------------------------------------------


@pytest.mark.parametrize("topic", ENDS)
def test_more_on_paper_wins_nothing_and_says_why(topic):
    told = said(other=[(topic, "danger", 1.0)], hours=LONGER)
    assert 'On paper, "With a third" delivers 10.0 Ah more than "As it is"' in told
    assert 'On paper, "With a third" feeds its loads 1.00 h longer' in told
    assert choice(told) == 'for fewer dangers "As it is". See to the dangers first. '
    assert told.endswith(
        f'No choice for Ah and for hours: on paper only with "With a third", {ENDS[topic]} (in all '
        "cases)."
    )


def test_charge_beyond_full_is_no_more_charge():
    told = said(other=[(OVER, "danger", 0.6)], study=made.charged)
    assert "for Ah taken in" not in choice(told)
    assert 'No choice for Ah taken in: on paper only with "With a third", in truth' in told
    assert told.endswith("are harmed (in 60 of 100 cases).")


def test_less_on_paper_leaves_the_choice_to_the_other():
    told = said([(BELOW, "danger", 1.0)], hours=LONGER)
    assert 'for Ah, for hours and for fewer dangers "With a third"' in choice(told)
    assert "No choice" not in told


@pytest.mark.parametrize(
    ("severity", "part", "wins"),
    [("danger", 0.1, True), ("danger", 0.11, False), ("warning", 1.0, True)],
)
def test_a_few_cases_or_less_than_a_danger_take_nothing_away(severity, part, wins):
    told = said(other=[(BELOW, severity, part)], hours=LONGER)
    assert ("for Ah and for hours" in choice(told)) is wins
    assert ("On paper" in told) is not wins


def test_other_dangers_leave_the_ah_as_they_are():
    told = said(other=[("cable overloaded", "danger", 1.0)], hours=LONGER)
    assert 'for Ah and for hours "With a third"' in choice(told)
    assert "paper" not in told


def test_both_on_paper_by_the_same_or_by_different_ends():
    ruined, blown = [(BELOW, "danger", 1.0)], [(BLOWN, "danger", 0.5)]
    told = said(ruined, ruined, hours=LONGER)
    assert "Which to choose" not in told
    both = 'on paper only with "As it is" and with "With a third", in truth cells driven'
    assert f"No choice for Ah and for hours: {both}" in told
    told = said(ruined, blown, hours=LONGER)
    assert 'only with "As it is", in truth cells driven below empty are ruined (in all' in told
    assert '; on paper only with "With a third", in truth a fuse blows first (in 50 of' in told


def test_no_difference_on_paper_is_no_choice_either():
    ruined = [(BELOW, "danger", 1.0)]
    told = said(ruined, ruined, Ah=made.difference(**made.SAME))
    assert told.startswith("On paper, for Ah and hours it makes no practical difference")
    assert "No choice for Ah and for hours: on paper only" in told


def test_cells_ruined_without_a_cut_out_are_not_safer_than_a_bank_that_cuts_out():
    ruined, left = (BELOW, "danger", 1.0), ("overload after a cut-out", "danger", 1.0)
    assert "fewer dangers" not in said([ruined, left], [ruined, BARE])
    assert "fewer dangers" not in said([ruined, BARE], [ruined, left])
    # both unguarded, or none ruined: then the dangers count as they are
    assert 'for fewer dangers "With a third"' in said([ruined, left, BARE], [ruined, BARE])
    assert 'for fewer dangers "With a third"' in said([left], [BARE])


def test_a_side_whose_fuse_would_blow_has_no_fewer_dangers():
    surge = ("surge", "danger", 1.0)
    blown, few = (BLOWN, "danger", 1.0), (BLOWN, "danger", 0.1)
    assert "fewer dangers" not in said([surge, blown], [blown])
    assert "fewer dangers" not in said([blown], [surge, blown])
    assert 'for fewer dangers "With a third"' in said([surge, blown], [few])
    assert 'for fewer dangers "With a third"' in said([surge, (OVER, "danger", 1.0)], [])


@pytest.mark.parametrize("topic", ENDS)
def test_less_current_on_paper_is_no_choice(topic):
    hardest = made.difference(HARDEST, (-2.0,) * 3, mean=(-2.0,) * 3, at=6.0)
    less = "less current from the most loaded battery"
    ends = [(topic, "danger", 1.0)]
    told = said(other=ends, hardest=hardest)
    assert less not in choice(told)
    why = f'on paper only with "With a third", {ENDS[topic]}'
    assert f"No choice for Ah, for hours and for {less}: {why}" in told
    # the other way round it is the side in truth that has less
    assert f'for {less} and for fewer dangers "With a third"' in choice(said(ends, hardest=hardest))


# --- versus, with draws of its own -----------------------------------------------------------

PAIR = """
title = "{title}"
[simulation]
duration_h = 14.0
[[battery]]
name = "only"
chemistry = "LFP"
cells_in_series = 4
rated_capacity_Ah = 20.0
{rules}
[[load]]
name = "pump"
power_W = 30.0
"""


def test_a_bank_without_electronics_is_not_chosen_for_what_ruins_it(monkeypatch):
    monkeypatch.setattr("bankSim.study.versus.TRACED_DRAWS", 4)
    one, other = (
        parse_scenario(PAIR.format(title=title, rules=rules), Path.cwd(), "made.toml")
        for title, rules in (("guarded", ""), ("bare", "protection = []"))
    )
    with threads(1) as workers:
        told = " ".join(versus_headline(study_versus(one, other, workers, most=20)))
    assert 'On paper, "bare" delivers ' in told
    assert " Ah more than " in told
    assert "for Ah" not in choice(told)
    assert '"bare"' not in choice(told)
    assert 'on paper only with "bare", in truth cells driven below empty are ruined' in told


# --- run and spread ------------------------------------------------------------------------------


@pytest.mark.parametrize("topic", ENDS)
def test_a_run_says_first_that_its_ah_are_on_paper(topic):
    danger = Caution(topic, "danger", 4.0, 3.6, "V", "It is so.", "Mend it.")
    bare = made_up.pair()
    charged = replace(bare.bank, delivered_Ah=0.0, charged_Ah=45.0)
    for bank, words in ((bare.bank, "delivers"), (charged, "takes in 45.0 Ah in")):
        told = " ".join(headline(replace(bare, bank=bank, cautions=(danger,))))
        assert told.startswith("Danger: It is so. ")
        assert f"On paper the bank {words}" in told
        mild = replace(danger, severity="warning")
        told = " ".join(headline(replace(bare, bank=bank, cautions=(mild,))))
        assert told.startswith(f"The bank {words}")
        assert "paper" not in told


def test_a_cell_charged_beyond_full_takes_in_more_than_it_can():
    cell = Cell(Curve.linear([0.0, 1.0], [3.2, 3.4]), Curve.constant(1e-3), 3600.0 * 10.0, 0.5)
    one = Battery("a", (cell,) * 4, 0.0, 0.0, (), 3600.0 * 10.0, chemistry="LFP")
    mains = Charger("mains", (Stage(15.5),), limit_A=5.0)
    told = " ".join(headline(run(bank_of(one, chargers=(mains,), duration_s=6 * 3600.0))))
    assert told.startswith('Danger: A cell of "a" is driven up to 3.88 V and ')
    assert "So the Ah told here are more than cells can give or take and live." in told
    assert "On paper the bank takes in" in told


@pytest.mark.parametrize("topic", ENDS)
@pytest.mark.parametrize(("part", "paper"), [(0.1, False), (0.11, True)])
def test_a_spread_says_that_its_ah_and_hours_are_on_paper(topic, part, paper):
    own = made.traced(made.caution(topic, "danger", part))
    told = " ".join(spread_headline(made.spread(traced=own)))
    assert told.startswith("On paper, in 9 of 10" if paper else "In 9 of 10")
    assert ("On paper, the loads are fed for" in told) is paper
    cases = f"{100.0 * part:.0f} of 100 cases"
    assert (f"Ah and hours are then on paper only: {ENDS[topic]} (in {cases}" in told) is paper


# --- sweep -----------------------------------------------------------------------------------


def with_dangers(result, *topics):
    """The sweep with a danger, or None, at each point."""
    points = tuple(
        replace(point, cautions=(made.caution(topic, "danger", 1.0),) if topic else ())
        for point, topic in zip(result.points, topics, strict=True)
    )
    return " ".join(sweep_headline(replace(result, points=points)))


def test_the_most_of_two_keys_carries_the_words_and_the_most_beside_it_is_told():
    told = with_dangers(made.sweep_of_two((150.0, 170.0, 160.0, 180.0)), None, BELOW, None, BELOW)
    assert told.startswith("The bank delivers most, 180 Ah (median, on paper only), at ")
    assert "and least, 150 Ah, at" in told
    assert (
        f"On paper only is what it delivers at 60 W of load[lamp].power_W: {ENDS[BELOW]} (in all "
        f"cases). Of what is not on paper only it delivers most at {KEY} = 2 mohm and "
        "load[lamp].power_W = 40 W: 160 Ah (median)." in told
    )


def test_one_key_of_numbers_or_words():
    told = with_dangers(made.sweep((150.0, 160.0, 170.0)), None, None, BLOWN)
    assert (
        "from 150 to 170 Ah (on paper only). On paper only is what it delivers at 3 mohm: in truth "
        "a fuse blows first (in all cases). Of what is not on paper only it delivers "
        "most at 2 mohm: 160"
    ) in told
    told = with_dangers(made.sweep((150.0, 160.0, 170.0)), BLOWN, None, None)
    assert "from 150 Ah (on paper only) to 170 Ah. On paper only is what" in told
    words = made.swept_key("wiring.layout", ("same end", "opposite ends"), "")
    told = with_dangers(made.sweep((150.0, 160.0), key=words), None, BELOW)
    assert '"opposite ends": 160 Ah (median, on paper only); least with "same end": 150' in told
    told = with_dangers(made.sweep((150.0, 160.0), key=words), BELOW, None)
    assert '160 Ah (median); least with "same end": 150 Ah (on paper only).' in told


def test_all_on_paper_or_none():
    told = with_dangers(made.sweep(), OVER, OVER, BELOW)
    assert "On paper only is what it delivers at all values: in truth cells driven" in told
    assert "Of what is not" not in told
    assert "paper" not in with_dangers(made.sweep(), None, "cable overloaded", None)
