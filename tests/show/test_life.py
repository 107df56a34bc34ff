from dataclasses import replace

import hybrids
import made_up
import numpy as np
import pytest
from simple_banks import affine, bank_of, run, steady

from bankSim.model.load import CutOff, Load
from bankSim.model.rule import Blocks, Rule, Watch
from bankSim.model.upkeep import Heater
from bankSim.show.causes import cause
from bankSim.show.course import changes, course_of, stretches
from bankSim.show.energy import energy_section
from bankSim.show.episodes import FEW, clusters, episodes
from bankSim.show.headline import headline
from bankSim.show.life import life
from bankSim.show.printing import story_text
from bankSim.show.story import tell, tell_briefly
from bankSim.sim.balancing_result import BalancerGain
from bankSim.sim.cascades import cascades
from bankSim.sim.result import RELEASE, TRIP


def told(result):
    return " ".join(life(result).lines)


def test_one_that_holds_back_is_followed_to_its_surge():
    result = hybrids.holds_back()
    trip, release = (e for e in result.events if e.what in (TRIP, RELEASE))
    own, other = release.currents_after_A
    text = told(result)
    assert '"small" blocks charge after 12.3 min: its cell 1 stayed above 13.40 V for 2 s' in text
    assert f'"small" allows charge again after {release.time_s / 3600:.2f} h' in text
    assert f"it gives {own:.1f} A at once (3.42 A before)" in text
    assert f'"large" takes {-other:.1f} A' in text
    assert trip.time_s < release.time_s


def test_sitting_out_and_the_diode_are_named():
    text = told(hybrids.holds_back())
    assert '"small" sits at 68 % from 12.3 min to' in text
    assert "only through the body diode, once the bus is 0.70 V below its own voltage" in text
    assert '"small" gives 5.19 Ah so, in ' in text


def test_a_cascade_is_one_sentence_with_its_amperes():
    result = hybrids.cascade()
    (chain,) = cascades(result)
    # 250 A over three equal batteries, then over two, then over one
    assert [link.to_A for link in chain] == pytest.approx([125.0, 250.0], rel=1e-3)
    assert [link.before.battery for link in chain] == ["left", "middle"]
    text = told(result)
    assert 'A cascade: "left" trips after 10.1 min with 83.3 A' in text
    assert '"middle" rises from 83.3 A to 125 A and trips 1.00 s after it' in text
    assert text.count("trips") == 3
    assert '"left", "middle" and "right" allow discharge again after 20.5 min' in text


def test_trips_by_chance_in_a_row_are_no_cascade():
    assert cascades(made_up.pair()) == []


def test_hiccups_by_the_hundred_are_one_sentence():
    result = hybrids.hiccups()
    section = life(result)
    assert len(result.events) > 200
    assert len(section.lines) < 6
    assert '"old" blocks discharge and comes back 100 times between 2.00 s and 36.7' in told(result)
    assert "out for 20.0 s as a rule" in told(result)
    assert "then it stays out" in told(result)
    said = " ".join(headline(result))
    assert '"old" comes back 100 times. After 100 returns in vain "old" stays out; the Ah' in said


def test_a_charger_tells_ampere_hours_and_time_at_its_hold():
    result = hybrids.holds_back()
    (charger,) = result.chargers
    text = told(result)
    assert f'The charger "mains" gives {charger.delivered_Ah:.1f} Ah' in text
    assert "it holds 13.60 V for 1.35 h" in text


def test_short_story_of_a_long_run_stays_short_and_complete_files_are_named():
    result = hybrids.sunny(30)
    assert len(result.events) > 100
    lines = life(result, briefly=True).lines
    assert len(lines) <= 12
    text = story_text(tell_briefly(result))
    section = text[text.index("The life of the bank") : text.index("What each battery gave")]
    assert len(section.splitlines()) <= 40
    assert '"one" blocks charge and comes back 30 times' in " ".join(section.split())


def test_the_clock_is_told_where_the_scenario_tells_it():
    assert "(day 2, " in told(hybrids.sunny())
    assert "(day " not in told(hybrids.holds_back())


def test_returns_are_in_the_headline():
    said = " ".join(headline(hybrids.holds_back()))
    assert "No battery cuts out." in said
    assert '"small" blocks charge, the first time after 12.3 min, for 8.69 h in all.' in said
    assert 'The largest surge at a come-back, after 8.90 h: "small" gives' in said
    assert "The charger gives 57.4 Ah." in said
    assert "stay locked" not in " ".join(headline(hybrids.sunny()))


def test_of_several_that_block_charge_the_longest_is_named():
    # 50 A into 12.8 + 0.6 z and 2 mohm: "a" is at 13.15 V before "b" is at 13.25 V
    stops = [
        [Rule(Watch.BATTERY_VOLTAGE, False, volts, 0.0, Blocks.CHARGE)] for volts in (13.15, 13.25)
    ]
    pair = [affine(n, 2e-3, 50.0, 0.3, rules=r) for n, r in zip("ab", stops, strict=True)]
    result = run(bank_of(*pair, load=steady(-50.0), duration_s=3600, stop_when_empty=False))
    (line,) = [one for one in headline(result) if "block charge" in one]
    assert line.startswith('"a" and "b" block charge, the first time after ')
    assert ', "a" the longest, for ' in line
    assert line.endswith(" in all.")


def test_a_small_surge_is_no_news_for_the_headline():
    result = hybrids.holds_back()
    large = tuple(replace(one, rated_Ah=1e4) for one in result.batteries)
    assert "The largest surge" not in " ".join(headline(replace(result, batteries=large)))


def test_energy_is_told_from_the_ledger():
    result = hybrids.holds_back()
    ledger = result.bank.energy
    text = " ".join(energy_section(result).lines)
    assert (
        f"From chargers {ledger.chargers_Wh:.0f} Wh and the cells {ledger.cells_Wh:.0f} Wh" in text
    )
    assert f"body diodes {ledger.diodes_Wh:.2f} Wh" in text
    assert f"{100 * result.bank.efficiency:.0f} % is given back or still in them" in text


def test_heaters_are_named_only_where_there_is_one():
    result = hybrids.holds_back()
    assert "heater" not in " ".join(energy_section(result).lines)
    bank = result.scenario.bank
    first = replace(bank.batteries[0], heater=Heater(20.0, 278.0, 281.0))
    warm = replace(bank, batteries=(first, *bank.batteries[1:]))
    heated = replace(result, scenario=replace(result.scenario, bank=warm))
    assert ": loads and heaters " in " ".join(energy_section(heated).lines)


@pytest.mark.parametrize(
    ("without_s", "words"), [(3600.0, "for 1.00 h less."), (10_800.0, "for 1.00 h more.")]
)
def test_what_a_balancer_wins_in_time(without_s, words):
    gain = BalancerGain(("a",), 90.0, 80.0, 7200.0, without_s)
    text = " ".join(energy_section(replace(hybrids.holds_back(), balancing=gain)).lines)
    start = 'Without the balancer of "a" the bank delivers 10.0 Ah less and feeds its loads'
    assert f"{start} {words}" in text


def test_where_nothing_is_drawn_a_balancer_wins_nothing_to_tell():
    gain = BalancerGain(("a",), 0.0, 0.0, 7200.0, 7200.0)
    for one in (gain, replace(gain, without_Ah=None, given_up="given up")):
        lines = energy_section(replace(hybrids.holds_back(), balancing=one)).lines
        assert "balancer of" not in " ".join(lines)


def test_states_of_charge_are_told_where_nothing_is_drawn():
    # by hand: 60 and 100 Ah even out at (0.9 x 60 + 0.5 x 100) / 160 = 65 %
    pair = [affine("a", Ah=60.0, z=0.9), affine("b", Ah=100.0, z=0.5)]
    text = told(run(bank_of(*pair, duration_s=86_400.0, stop_when_empty=False)))
    assert (
        'State of charge: "a" (65 % to 90 %, 65 % at the end) and "b" (50 % to 65 %, 65 % at the '
        "end)." in text
    )


def test_temperatures_are_told_beyond_three_kelvin():
    pair = made_up.pair()
    assert energy_section(pair) is None
    old, new = pair.batteries
    warm = replace(pair, batteries=(replace(old, warmest_C=28.1), replace(new, warmest_C=28.0)))
    assert energy_section(warm).lines == ('Temperatures: "old" 25.0 to 28.1 degC.',)


def test_a_load_that_cuts_itself_off_is_told():
    load = replace(steady(20.0), name="fridge", cut_off=CutOff(12.9, 5.0))
    result = run(bank_of(affine(z=0.5, Ah=10.0), load=load, stop_when_empty=False))
    assert 'The load "fridge" cuts itself off after' in told(result)
    assert "(below 12.90 V); in the end it stays off" in told(result)


def test_what_happens_within_seconds_after_an_hour_is_told_by_the_seconds():
    # 13.34 V less 600 A and 2 mohm is below 12.5 V; without it the voltage is back at once (Ohm)
    pump = Load(
        "pump", 1.0, np.array([0.0, 3600.0, 3604.0]), np.array([0.0, 600.0, 0.0]),
        cut_off=CutOff(12.5, 1.0, 13.0),
    )  # fmt: skip
    text = told(run(bank_of(affine(ohm=2e-3), load=pump, duration_s=7200)))
    assert "cuts itself off after 1.00 h (below 12.50 V), 4 times within 3.00 s; it " in text
    assert "it restarts at once (the first of 4 times), at 13.00 V" in text


def test_everything_switched_is_in_the_full_story():
    text = " ".join(story_text(tell(hybrids.holds_back())).split())
    assert "allows charge again: its cell 1 stayed below 13.20 V for 60 s" in text
    assert "The life of the bank" in text


def test_spans_are_the_run_and_close_the_charge():
    result = hybrids.holds_back()
    course = course_of(result)
    assert course.length_s.sum() == pytest.approx(result.end_time_s, rel=1e-12)
    given = np.maximum(course.current_A, 0.0) @ course.length_s / 3600.0
    # means of the ends of a span: the error is that of the trapezium rule on one-minute rows
    assert given == pytest.approx([b.delivered_Ah for b in result.batteries], rel=2e-3)


def test_stretches_bridge_short_breaks_only():
    course = course_of(hybrids.holds_back())
    where = np.ones(course.start_s.size, dtype=bool)
    where[3] = False
    assert len(stretches(course, where)) == 2
    assert stretches(course, where, gap_s=1e9) == [(0.0, pytest.approx(9 * 3600.0))]
    assert stretches(course, ~where) == [(course.start_s[3], course.end_s[3])]


def test_changes_of_one_direction():
    times, modes = np.arange(6.0), np.array([2.0, 2.0, 0.0, 3.0, 1.0, 3.0])
    assert changes(times, modes, 2) == [(0.0, 2.0), (3.0, 4.0), (5.0, None)]
    assert changes(times, modes, 1) == [(3.0, None)]
    assert changes(times, 0.0 * modes, 1) == []


def test_episodes_know_their_events_and_gather():
    result = hybrids.hiccups()
    found = episodes(result)
    assert len(found) == 101
    assert all(one.shut.what == TRIP for one in found)
    assert all(one.opened.what == RELEASE for one in found[:-1])
    assert found[-1].end_s is None
    assert [len(row) for row in clusters(found)] == [101]
    assert [len(row) for row in clusters(found[:FEW])] == [1] * FEW


def test_a_run_that_ended_at_once_has_no_life():
    cut = made_up.trip("a", 0.0, ["a"])
    result = made_up.result([made_up.outcome("a", cut=cut)], [cut], end_h=0.0)
    assert life(result) is None


def alternating(stint_h):
    """Two batteries that carry all of the discharge one after the other."""
    result = made_up.result([made_up.outcome("a"), made_up.outcome("b")], end_h=40.0)
    trace = result.trace.copy()
    first = (trace[:, 0] // (stint_h * 3600.0)) % 2 == 0
    trace[:, 3], trace[:, 5], trace[:, 10] = (
        4.0,
        np.where(first, 4.0, 0.0),
        np.where(first, 0.0, 4.0),
    )
    return replace(result, trace=trace)


def test_taking_turns_is_named_and_counted():
    text = told(alternating(8.0))
    assert 'They take turns: "a" and "b" change places 4 times' in text
    assert "They take turns" not in told(alternating(20.0))
    assert '"a" does most of its work first: it gives 100 %' in told(alternating(20.0))


def test_come_backs_of_a_rule_that_blocks_both_ways_are_counted_once():
    result = hybrids.hiccups_both_ways()
    said = " ".join(headline(result))
    assert '"old" comes back 100 times.' in said
    (lost,) = [event for event in result.events if event.what == "stays out"]
    assert "charge and discharge stay blocked" in cause(result, lost)
