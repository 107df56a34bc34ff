"""What stories say of loads that cut themselves off, of charge, and of runs that are too short."""

from dataclasses import replace

import numpy as np
import pytest
import told_studies as made

from bankSim.show.matters_story import matters_headline
from bankSim.show.printing import story_text
from bankSim.show.spread_story import spread_headline, tell_spread
from bankSim.show.sweep_headline import sweep_headline
from bankSim.show.sweep_story import tell_sweep
from bankSim.show.versus_story import versus_headline
from bankSim.study.answers import CHARGED, RUNTIME, answers
from bankSim.study.happenings import FirstTimes, Happenings
from bankSim.study.versus import CHARGING

LONGER = "give a longer duration_h"


def times(name, count, first_h=10.0, last_h=19.9, of=100):
    """So many of the draws, evenly between two hours."""
    hours = np.full(of, np.nan)
    hours[:count] = np.linspace(first_h, last_h, count)
    return FirstTimes(name, hours)


def traced(**happenings):
    return replace(made.traced(), happenings=Happenings(**happenings))


def spread_of_charge(**happenings):
    charged = made.band(160.0, 170.0, 180.0, central=171.0, half=0.7, text="takes in")
    batteries = tuple(
        made.battery(name, first=0.0, at_all=0.0, charged=made.band(70.0, 80.0, 90.0))
        for name in ("old", "new")
    )
    return made.spread(
        of_draws=made.draws(loads=False), bank=made.FLAT, charged=charged, fed=made.of(1.0),
        batteries=batteries, nobody=made.of(1.0), traced=traced(**happenings),
    )  # fmt: skip


def test_a_load_that_cuts_itself_off_is_told_with_chance_and_hours():
    off = (times("radio", 95), times("fridge", 0))
    result = made.spread(traced=traced(own_cut_offs=off))
    told = " ".join(spread_headline(result))
    low, high = np.percentile(np.linspace(10.0, 19.9, 95), [5.0, 95.0])
    assert (
        f'"radio" cuts itself off in 95 of 100 cases (89 to 98), first after {low:.1f} to '
        f"{high:.1f} h (of 100 draws run in full)." in told
    )
    assert "where one that cuts itself off counts as fed." in told
    assert "fridge" not in told
    assert "so it counts as fed" in story_text(tell_spread(result), 300)


def test_without_such_a_load_nothing_is_said_of_it():
    result = made.spread()
    assert "cuts itself off" not in story_text(tell_spread(result), 300)


@pytest.mark.parametrize(
    ("count", "others"),
    [(4, "1 more load cuts itself off"), (5, "2 more loads cut themselves off")],
)
def test_a_crowd_of_loads_is_counted(count, others):
    off = tuple(times(f"load {n}", 50 + n) for n in range(count))
    told = " ".join(spread_headline(made.spread(traced=traced(own_cut_offs=off))))
    assert f'"load {count - 1}" cuts itself off in 5{count - 1}' in told
    assert f"{others} in some cases." in told


@pytest.mark.parametrize(
    ("fed", "off", "gives", "advised"),
    [(1.0, 0, True, True), (0.6, 0, True, True), (0.4, 0, True, False), (1.0, 95, True, False),
     (1.0, 5, True, True), (1.0, 0, False, False)],
)  # fmt: skip
def test_a_spread_of_a_short_run_asks_for_a_longer_one(fed, off, gives, advised):
    more = {} if gives else {"bank": made.FLAT}
    off = (times("radio", off),)
    result = made.spread(fed=made.of(fed), traced=traced(own_cut_offs=off), **more)
    assert (LONGER in " ".join(spread_headline(result))) == advised


def test_where_nothing_is_delivered_there_is_no_single_run_to_compare():
    flat = made.band(0.0, 0.0, 0.0, central=-1e-9)
    told = " ".join(spread_headline(made.spread(bank=flat)))
    assert "gives nothing" in told
    assert "A single run" not in told


def test_what_batteries_take_in_and_when_they_block_it():
    result = spread_of_charge(charge_blocks=(times("old", 80), times("new", 0)))
    told = " ".join(spread_headline(result))
    assert '"old" blocks its charge in 80 of 100 cases (71 to 87), first after' in told
    assert '"new"' not in told
    assert "cuts out" not in told
    text = story_text(tell_spread(result), 100)
    rows = {" ".join(line.split()) for line in text.splitlines()}
    assert "new 100 70.0 80.0 90.0 0 -" in rows
    assert "bank 200 160 170 180 - -" in rows
    assert any(row.startswith("old 100 70.0 80.0 90.0 80 ") for row in rows)
    assert "known to within 0.70 Ah" in " ".join(text.split())


def test_nobody_blocks_its_charge():
    result = spread_of_charge(
        charge_blocks=(times("old", 0), times("new", 0)), still_charging=made.of(1.0)
    )
    told = " ".join(spread_headline(result))
    assert "No battery blocks its charge in 100 draws run in full. In all cases the run" in told
    assert LONGER in told


def test_the_single_run_of_charge_is_not_called_the_best_case():
    result = spread_of_charge()
    result = replace(result, charged=made.band(160.0, 170.0, 180.0, central=178.0))
    told = " ".join(spread_headline(result))
    assert "says 178 Ah, more than most cases." in told


def test_what_is_locked_in_stands_in_the_table_within_the_page():
    text = story_text(tell_spread(made.spread()), 100)
    assert any("0.20" in line for line in text.splitlines() if line.startswith("old "))
    assert max(len(line) for line in text.splitlines()) <= 100


def test_a_sweep_says_where_the_run_is_too_short():
    points = tuple(
        made.point((value,), 150.0 + value, fed=made.of(fed))
        for value, fed in zip((1.0, 2.0, 3.0), (1.0, 0.7, 0.1), strict=True)
    )
    told = " ".join(sweep_headline(made.sweep(points=points)))
    assert "In most cases the loads are still fed when the run ends, from 1 mohm to 2" in told
    assert LONGER in told
    assert LONGER not in " ".join(sweep_headline(made.sweep()))


def test_a_sweep_of_loads_that_are_off_asks_for_nothing_longer():
    off = Happenings(own_cut_offs=(times("radio", 20, of=20),))
    points = tuple(
        made.point((value,), 150.0, fed=made.of(1.0), happenings=off) for value in (1.0, 2.0, 3.0)
    )
    assert LONGER not in " ".join(sweep_headline(made.sweep(points=points)))


def test_a_sweep_of_charge_has_no_hours_of_loads():
    on = Happenings(still_charging=made.of(1.0))
    points = tuple(
        made.point((value,), 150.0, first=(0.0, 0.0), fed=made.of(1.0), happenings=on)
        for value in (1.0, 2.0, 3.0)
    )
    result = made.sweep(points=points, answer=CHARGED)
    told = " ".join(sweep_headline(result))
    assert "the bank still takes in charge when the run ends, at all values" in told
    text = story_text(tell_sweep(result), 100)
    assert "hours" not in text
    assert "hardest" not in text
    assert "cuts out" not in text


def test_matters_says_when_loads_are_off_for_good_and_asks_for_no_longer_run():
    off = Happenings(off_for_good=(FirstTimes("lamps", np.array([8.0, 9.0, 10.0])),))
    for result in (made.matters(fed=1.0), made.still()):
        told = " ".join(matters_headline(replace(result, fed=1.0, happenings=off)))
        assert '"lamps" cuts itself off and stays off after 9.00 h (median, in all cases' in told
        assert "counts as fed" in told
        assert "duration_h" not in told


@pytest.mark.parametrize(("fed", "answer", "told"), [(0.98, None, True), (0.3, None, False),
                                                     (0.98, CHARGED, False)])  # fmt: skip
def test_matters_says_that_the_run_is_too_short(fed, answer, told):
    result = made.matters(fed=fed) if answer is None else made.matters(answer, fed=fed)
    headline = " ".join(matters_headline(result))
    assert (LONGER in headline) == told
    assert ("In 98 of 100 draws the loads are still fed" in headline) == told
    assert LONGER in " ".join(matters_headline(replace(made.still(), fed=1.0)))


def test_without_a_load_there_are_no_hours_to_ask_for():
    assert RUNTIME not in answers(made.plan(loads=False).scenario.bank)
    assert RUNTIME in answers(made.plan().scenario.bank)


def charging(part=0.0):
    """The other bank takes in as much, and is done 2 h sooner."""
    sooner = made.difference(CHARGING, (-3.0, -2.0, -1.0), mean=(-2.1, -2.0, -1.9), larger=0.0,
                             at=8.0)  # fmt: skip
    charge = made.charged()
    both = (traced(still_charging=made.of(part)), traced(still_charging=made.of(0.0)))
    return replace(charge, differences=(*charge.differences, sooner), traced=both)


def test_who_is_charged_sooner_is_the_one_to_choose():
    told = " ".join(versus_headline(charging()))
    assert "has 95 % of its charge in 2.00 h sooner than" in told
    assert 'for hours of charging "With a third".' in told.partition("Which to choose: ")[2]


def test_hours_of_charging_are_left_out_where_the_run_is_too_short():
    told = " ".join(versus_headline(charging(0.9)))
    assert "95 % of its charge" not in told
    assert "Charge still flows in at the end of the run with" in told
