"""What the sources of a netlist come to, worked out without ngspice from the written laws."""

from dataclasses import replace

import numpy as np
import pytest
from crosscheck_banks import LOWEST_2_5, affine_battery, steady, string
from deck_values import lines_of, source, value

from bankSim.crosscheck.deck import build_deck, saved_vectors
from bankSim.crosscheck.deck_balancer import balancer_lines
from bankSim.crosscheck.deck_charger import charger_lines
from bankSim.crosscheck.deck_dark import dark_lines
from bankSim.crosscheck.deck_extremes import extreme_lines
from bankSim.crosscheck.deck_latch import COUNTER_SCALE, latch_lines, margin_lines
from bankSim.crosscheck.deck_limits import left_out
from bankSim.crosscheck.deck_load import load_lines, steps_line
from bankSim.crosscheck.deck_words import folded
from bankSim.model.bank import Bank, Layout, Wiring
from bankSim.model.charger import Charger, Stage, Sun
from bankSim.model.load import CutOff, Load, Schedule
from bankSim.model.upkeep import Balancer, Balancing

PLAIN = affine_battery("a", 0.01, 10.0, 0.5)  # 13.4 V at rest and full
FULL_V, BENT_V = 13.4, 0.2 * 13.4


def bank(*batteries, loads=(), chargers=(), **more):
    return Bank(batteries or (PLAIN,), Wiring(), tuple(loads), chargers=tuple(chargers), **more)


def test_the_reader_of_expressions_itself():
    assert value("1 + 2 * 3") == 7.0
    assert value("V(a, b) * I(Vb1)", {"a": 3.0, "b": 1.0}, {"Vb1": 4.0}) == 8.0
    assert value("(V(a) < 0 ? (V(a) > -5 ? 1 : 2) : 3) * 2", {"a": -7.0}) == 4.0
    assert value("(1 < 2) && (2 < 1) || (3 > 2)")
    assert value("pwl(2, 0, 0, 1, 5)") == 10.0
    assert value("pwr(-2, 3) + max(min(5, 2), 1)") == 10.0


# ---- loads


@pytest.mark.parametrize("exponent", [0.0, 0.5, 1.0, 2.0])
def test_a_load_follows_its_law_down_to_a_fifth_and_is_a_resistance_below(exponent):
    lines = load_lines(bank(loads=[steady(60.0, exponent)]), "bus", 2.0)
    for volts in (14.0, 12.0, BENT_V):
        amps = source(lines, "Bload1", {"bus": volts, "a1": 60.0})
        assert amps == pytest.approx(60.0 * volts ** (exponent - 1.0))
    below = source(lines, "Bload1", {"bus": 1.0, "a1": 60.0})
    edge = source(lines, "Bload1", {"bus": BENT_V, "a1": 60.0})
    assert below == pytest.approx(edge / BENT_V)


def test_a_fifth_is_that_of_the_battery_with_the_highest_voltage():
    high = affine_battery("b", 0.01, 10.0, 0.5, offset_V=14.0, slope_V=1.0)
    for both in ((PLAIN, high), (high, PLAIN)):
        lines = load_lines(bank(*both, loads=[steady(60.0, 0.0)]), "bus", 2.0)
        assert lines[0] == "* loads behave as resistances below 3 V"
        amps = [source(lines, "Bload1", {"bus": volts, "a1": 60.0}) for volts in (1.5, 3.0)]
        assert amps == pytest.approx([10.0, 20.0])


def test_a_load_that_gives_is_held_where_others_become_resistances():
    # -5 A that charge an empty bus: a resistance at 0 V would never lift it
    lines = load_lines(bank(loads=[steady(-5.0)]), "bus", 2.0)
    assert source(lines, "Bload1", {"bus": 0.0, "a1": -5.0}) == pytest.approx(-5.0)
    assert source(lines, "Bload1", {"bus": 12.0, "a1": -5.0}) == pytest.approx(-5.0)
    assert source(lines, "Bclamp", {"bus": 3.0 * FULL_V}) == 0.0
    assert source(lines, "Bclamp", {"bus": 3.0 * FULL_V + 0.1}) == pytest.approx(10.0)
    assert "Bclamp" not in lines_of(load_lines(bank(loads=[steady(5.0)]), "bus", 2.0))


def test_a_cut_off_load_draws_nothing_and_waits_for_its_restart():
    cut = CutOff(11.0, 5.0, 12.5)
    load = replace(steady(4.0), cut_off=cut)
    lines = load_lines(bank(loads=[load]), "bus", 2.0)
    on = {"bus": 12.0, "a1": 4.0, "lcut1": 0.0}
    assert source(lines, "Bload1", on) == pytest.approx(4.0)
    assert source(lines, "Bload1", {**on, "lcut1": 1.0}) == 0.0
    for node, limit_V in (("Bmcut1", 11.0), ("Bncut1", 12.5)):
        assert source(lines, node, {"bus": limit_V}) == pytest.approx(0.0, abs=1e-9)
        assert source(lines, node, {"bus": limit_V + 0.1}) > 0.0
    # the timer: up in 5 s while the voltage is low, back to 0 otherwise
    open_ = {"lcut1": 0.0, "tcut1": 0.5, "ncut1": -1.0}
    assert source(lines, "Btcut1", {**open_, "mcut1": -1.0}) == pytest.approx(COUNTER_SCALE / 5.0)
    assert source(lines, "Btcut1", {**open_, "mcut1": 1.0}) < 0.0
    shut = {"lcut1": 1.0, "tcut1": 0.5, "mcut1": -1.0}
    assert source(lines, "Btcut1", {**shut, "ncut1": 1.0}) < 0.0
    assert source(lines, "Btcut1", {**shut, "ncut1": -1.0}) > 0.0
    for_good = load_lines(bank(loads=[replace(load, cut_off=CutOff(11.0))]), "bus", 2.0)
    assert "Bncut1" not in lines_of(for_good)


def test_amounts_over_time_are_those_of_the_load():
    load = Load("l", 1.0, np.array([0.0, 100.0, 200.0]), np.array([1.0, 3.0, 2.0]),
                Schedule(duty_s=(30.0, 70.0)))  # fmt: skip
    lines = lines_of(load_lines(bank(loads=[load], duration_s=400.0), "bus", 2.0))
    words = lines["Va1"].split("PWL(")[1].rstrip(")").split()
    times, amounts = np.array(words[0::2], float), np.array(words[1::2], float)
    middle = np.arange(2.5, 400.0, 5.0)
    assert np.interp(middle, times, amounts) == pytest.approx(load.amount(middle, 0.0))
    assert (np.diff(times) > 0.0).all()


def test_ramps_are_short_beside_the_shortest_step():
    assert steps_line("a", np.array([0.0]), np.array([3.0])) == "Va a 0 3"
    long = steps_line("a", np.array([0.0, 10.0]), np.array([1.0, 2.0]))
    assert long == "Va a 0 PWL(0 1 10 1 10.001 2)"
    short = steps_line("a", np.array([0.0, 10.0, 10.002]), np.array([1.0, 2.0, 0.0]))
    assert short == "Va a 0 PWL(0 1 10 1 10.0005 2 10.002 2 10.0025 0)"


# ---- chargers


def given(charger, volts, share, time=0.0, start_s=0.0, on=1.0, **nodes):
    """Current of a charger at a voltage, for the number that holds it."""
    lines = charger_lines(bank(chargers=[charger], starts_at_s=start_s), "bus", 2.0)
    nodes = {"bus": volts, "cho1": on, "chs1": share, **nodes}
    nodes["chl1"] = source(lines, "Bchl1", nodes, time=time)
    return source(lines, "Bch1", nodes)


def test_current_and_power_are_limits():
    hold = (Stage(14.4),)
    ampere, watt = Charger("c", hold, limit_A=20.0), Charger("c", hold, limit_W=240.0)
    assert [given(ampere, 12.0, share) for share in (-3.0, 0.25, 5.0)] == [0.0, 5.0, 20.0]
    assert given(watt, 12.0, 1.0) == pytest.approx(20.0)
    assert given(watt, 0.1, 1.0) == pytest.approx(240.0)  # as at 1 V
    assert given(ampere, 12.0, 1.0, on=0.0) == 0.0


@pytest.mark.parametrize(
    ("clock_h", "part"), [(6.0, 0.0), (9.0, 0.5**0.5), (12.0, 1.0), (20.0, 0.0)]
)
@pytest.mark.parametrize("start_h", [0.0, 8.0])
def test_sun_is_half_a_sine_between_rise_and_set_on_every_day(clock_h, part, start_h):
    sun = Charger("s", (Stage(14.4),), sun=Sun(300.0, 6.0 * 3600.0, 18.0 * 3600.0))
    for day in (1, 3):
        time = (24.0 * day + clock_h - start_h) * 3600.0
        amps = given(sun, 15.0, 1.0, time, start_h * 3600.0)
        assert amps == pytest.approx(20.0 * part, abs=1e-6)


def test_stages_follow_one_another_and_the_last_may_end_it():
    three = Charger("c", (Stage(14.4, tail_A=2.0), Stage(14.0, most_s=60.0), Stage(13.6, 1.0, 9.0)),
                    limit_A=20.0)  # fmt: skip
    lines = charger_lines(bank(chargers=[three]), "bus", 2.0)
    ended = {"lch1s1": 0.0, "lch1m2": 0.0, "lch1s3": 0.0, "lch1m3": 0.0}
    assert source(lines, "Bchh1", ended) == 14.4
    ended["lch1s1"] = 1.0
    assert source(lines, "Bchh1", ended) == 14.0
    ended["lch1m2"] = 1.0
    assert source(lines, "Bchh1", ended) == 13.6
    for one, other, amps in ((0.0, 0.0, 20.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0)):
        nodes = {**ended, "lch1s3": one, "lch1m3": other}
        assert given(three, 13.0, 1.0, **nodes) == pytest.approx(amps)
    # the tail counts only while the voltage is held, and from its own stage on
    tail = {"cho1": 1.0, "lch1s1": 0.0, "tch1s1": 0.5, "mch1s1": -1.0, "bus": 14.3995}
    assert source(lines, "Btch1s1", tail) > 0.0
    for other in ({"bus": 14.39}, {"mch1s1": 1.0}, {"cho1": 0.0}):
        assert source(lines, "Btch1s1", {**tail, **other}) < 0.0
    own = {"cho1": 1.0, "tch1m2": 0.5, "lch1m2": 0.0}
    assert source(lines, "Btch1m2", {**own, "lch1s1": 1.0}) == pytest.approx(COUNTER_SCALE / 60.0)
    assert source(lines, "Btch1m2", {**own, "lch1s1": 0.0}) < 0.0
    at_tail = {"chl1": 20.0, "chs1": 0.1}
    assert source(lines, "Bmch1s1", at_tail) == pytest.approx(0.0)  # 2 A
    assert source(lines, "Bmch1s1", {**at_tail, "chs1": 0.09}) < 0.0


def test_a_charger_is_on_by_its_hours():
    hours = Schedule(daily_s=((3600.0, 7200.0),))
    charger = Charger("c", (Stage(14.4),), limit_A=1.0, schedule=hours)
    lines = charger_lines(
        bank(chargers=[charger], starts_at_s=1800.0, duration_s=90_000.0), "bus", 2.0
    )
    words = lines_of(lines)["Vcho1"].split("PWL(")[1].rstrip(")").split()
    times, on = np.array(words[0::2], float), np.array(words[1::2], float)
    # from 01:00 to 02:00, the run begins at 00:30 and the next day's hour lies at its 24.5th
    for hour, wanted in ((0.25, 0.0), (0.75, 1.0), (1.75, 0.0), (24.25, 0.0), (24.75, 1.0)):
        assert np.interp(hour * 3600.0, times, on) == wanted
    always = charger_lines(bank(chargers=[replace(charger, schedule=Schedule())]), "bus", 2.0)
    assert lines_of(always)["Vcho1"] == "Vcho1 cho1 0 1"
    assert always[0] == "* charger 1 c"


def test_a_tail_lasts_longer_than_a_step():
    # while a battery is cut off, Newton's method passes through voltages where nothing flows
    two = Charger("c", (Stage(14.4, tail_A=2.0), Stage(13.6)), limit_A=20.0)
    nodes = {"cho1": 1.0, "lch1s1": 0.0, "tch1s1": 0.5, "mch1s1": -1.0, "bus": 14.4}
    for step_s in (0.5, 4.0):
        lines = charger_lines(bank(chargers=[two]), "bus", step_s)
        needs_s = COUNTER_SCALE / source(lines, "Btch1s1", nodes)
        assert step_s < needs_s < 2.0 * step_s


def test_what_makes_the_voltage_right():
    # within its limit the hold is met to a hundred-thousandth of a volt; beyond it the rest counts
    lines = charger_lines(bank(chargers=[Charger("c", (Stage(14.4),), limit_A=20.0)]), "bus", 2.0)
    held = {"chh1": 14.4, "bus": 14.4}
    assert source(lines, "Bchs1", {**held, "chs1": 0.5}) == pytest.approx(5e-6)
    assert source(lines, "Bchs1", {**held, "bus": 13.4, "chs1": 2.0}) == pytest.approx(
        1e-5, abs=1e-9
    )
    assert source(lines, "Bchs1", {**held, "bus": 15.4, "chs1": -1.0}) == pytest.approx(0.0)


# ---- balancers


def flows_of(balancer, cells_V):
    battery = replace(string("a", 10.0, 0.5, rules=()), balancer=balancer)
    nodes = {"b1c0": 0.0}
    for place, volts in enumerate(cells_V, start=1):
        nodes[f"b1c{place}"] = nodes[f"b1c{place - 1}"] + volts
    for line in extreme_lines(battery, 1):
        name = line.split(" ")[1]
        nodes[name] = source([line], f"B{name}", nodes)
    assert (nodes["bl1"], nodes["bh1"]) == pytest.approx((min(cells_V), max(cells_V)))
    lines, flows = balancer_lines(battery, 1)
    for line in lines:
        name = line.split(" ")[1]
        nodes[name] = source([line], f"B{name}", nodes)
    return [value(flow, nodes) for flow in flows]


def test_bleed_takes_from_all_that_stand_apart_above_its_start():
    bleed = Balancer(Balancing.BLEED, 0.1, 3.4, 0.01)
    assert flows_of(bleed, [3.5, 3.3, 3.45, 3.39]) == pytest.approx([0.1, 0.0, 0.1, 0.0])
    assert flows_of(bleed, [3.5, 3.5, 3.5, 3.495]) == pytest.approx([0.0] * 4)  # within 10 mV
    # half-way up the 2 mV over which it sets in
    assert flows_of(bleed, [3.5, 3.5, 3.5, 3.489])[0] == pytest.approx(0.05)
    assert flows_of(bleed, [3.401, 3.0, 3.0, 3.0])[0] == pytest.approx(0.05)


def test_transfer_brings_charge_from_the_highest_to_the_lowest():
    active = Balancer(Balancing.TRANSFER, 2.0, within_V=0.01)
    assert flows_of(active, [3.5, 3.3, 3.4, 3.4]) == pytest.approx([2.0, -2.0, 0.0, 0.0])
    assert flows_of(active, [3.5, 3.5, 3.3, 3.4]) == pytest.approx([1.0, 1.0, -2.0, 0.0])
    assert flows_of(active, [3.305, 3.3, 3.3, 3.3]) == pytest.approx([0.0] * 4)


# ---- latches


def test_a_latch_takes_its_time_and_forgets_what_was_not_finished():
    lines = latch_lines("x", "V(c) > 0", 10.0, 2.0, "V(d) > 0", 4.0)

    def rate(latch, timer, c=0.0, d=0.0):
        return source(lines, "Btx", {"lx": latch, "tx": timer, "c": c, "d": d}) / COUNTER_SCALE

    assert rate(0.0, 0.5, c=1.0) == pytest.approx(0.1)
    assert rate(0.0, 0.5) == pytest.approx(-1.0)  # back within half a second: a quarter of 2 s
    assert rate(0.0, 0.9995) == pytest.approx(0.1)  # so near its end it goes on
    assert rate(1.0, 0.5, d=1.0) == pytest.approx(-0.25)
    assert rate(1.0, 0.5) == pytest.approx(1.0)
    assert rate(1.0, 0.0005) == pytest.approx(-0.25)
    found = lines_of(lines)
    assert source(lines, "Bgx", {"tx": 1.0}) == 10.0  # the switch sees seconds
    assert "vt=5 vh=5" in found[".model"]  # closes at 10 s, opens at 0


def test_a_latch_without_a_way_back_stays():
    lines = latch_lines("x", "V(c) > 0", 0.0, 2.0)
    assert source(lines, "Btx", {"lx": 1.0, "tx": 1.0, "c": 0.0}) == 0.0
    set_at_once = source(lines, "Btx", {"lx": 0.0, "tx": 0.0, "c": 1.0})
    assert set_at_once == pytest.approx(COUNTER_SCALE * 1000.0)  # a millisecond is the least


def test_margins_are_magnified_by_unit():
    for unit, gain in (("V", 1e3), ("A", 1e2), ("degC", 1.0)):
        assert source(margin_lines("m", "V(x) - 2", unit), "Bm", {"x": 2.5}) == 0.5 * gain


# ---- a dark bank


def test_a_dark_bank_drops_its_loads_while_a_charger_works():
    battery = affine_battery("a", 0.01, 10.0, 0.5, rules=(LOWEST_2_5,))
    charger = Charger("c", (Stage(14.4),), limit_A=10.0)
    dark = bank(battery, loads=[steady(12.0)], chargers=[charger])
    lines = dark_lines(dark, "bus", 2.0)
    assert source(lines, "Bdblock", {"bd1": 1.0}) == 1.0
    assert source(lines, "Bdwork", {"cho1": 1.0}) == 1.0
    low = {"ldark": 0.0, "tdark": 0.5, "dblock": 1.0, "dwork": 1.0, "bus": 1.0,
           "dstate": 0.0, "dstatef": 0.0, "a1": 12.0, "chh1": 14.4, "chl1": 10.0}  # fmt: skip
    assert source(lines, "Btdark", low) > 0.0
    for other in ({"dblock": 0.0}, {"dwork": 0.0}, {"bus": 12.0}):
        assert source(lines, "Btdark", {**low, **other}) < 0.0
    held = {**low, "ldark": 1.0}
    assert source(lines, "Btdark", held) > 0.0  # 10 A cannot feed 12 A
    changed = {**held, "dstate": 1.0, "bus": 12.0}
    assert source(lines, "Btdark", changed) > 0.0
    for other in ({**changed, "a1": 8.0}, {**held, "dblock": 0.0}, {**held, "dwork": 0.0}):
        assert source(lines, "Btdark", other) < 0.0
    loads = load_lines(dark, "bus", 2.0)
    assert source(loads, "Bload1", {"bus": 12.0, "a1": 12.0, "ldark": 1.0}) == 0.0


def test_whatever_is_switched_changes_the_state_of_a_dark_bank():
    # a change is what gives loads another try: each alone must show, by more than a thousandth
    battery = affine_battery("a", 0.01, 10.0, 0.5, rules=(LOWEST_2_5,))
    chargers = [
        Charger(name, (Stage(14.4, most_s=60.0), Stage(13.6)), limit_A=1.0) for name in "cd"
    ]
    loads = [steady(500.0, 0.0), steady(-2.0), steady(0.0)]
    lines = dark_lines(bank(battery, loads=loads, chargers=chargers), "bus", 2.0)
    nodes = {"cho1": 1.0, "cho2": 1.0, "chh1": 14.4, "chh2": 14.4, "a1": 500.0, "a2": -2.0,
             "a3": 0.0}  # fmt: skip
    usual = source(lines, "Bdstate", nodes)
    others = (
        {"cho1": 0.0},
        {"cho2": 0.0},
        {"chh1": 13.6},
        {"chh2": 13.6},
        {"a1": 0.0},
        {"a2": 0.0},
    )
    moved = [source(lines, "Bdstate", {**nodes, **other}) - usual for other in others]
    assert min(abs(one) for one in moved) > 0.5
    assert len({round(one, 6) for one in moved}) == len(moved)  # none hides another
    # it is forgotten as through a resistor and a capacitor: within a second, or a longest step
    for step_s, window_s in ((0.1, 1.0), (5.0, 5.0)):
        found = lines_of(dark_lines(bank(battery, loads=loads, chargers=chargers), "bus", step_s))
        ohm, farad = (float(found[name].split()[3]) for name in ("Rdstate", "Cdstate"))
        assert ohm * farad == pytest.approx(window_s)


def test_no_bank_goes_dark_without_rules_chargers_or_stiff_loads():
    ruled = affine_battery("a", 0.01, 10.0, 0.5, rules=(LOWEST_2_5,))
    charger = [Charger("c", (Stage(14.4),), limit_A=10.0)]
    assert dark_lines(bank(ruled, loads=[steady(1.0, 2.0)], chargers=charger), "bus", 2.0) == []
    assert dark_lines(bank(ruled, loads=[steady(1.0)]), "bus", 2.0) == []
    assert dark_lines(bank(ruled, PLAIN, loads=[steady(1.0)], chargers=charger), "bus", 2.0) == []


# ---- the whole


def test_rows_take_off_where_their_layout_says():
    three = tuple(replace(PLAIN, name=name) for name in "abc")
    for layout, minus in (
        (Layout.SAME_END, ["0", "m2", "m3"]),
        (Layout.OPPOSITE_ENDS, ["m1", "m2", "0"]),
    ):
        deck = build_deck(Bank(three, Wiring(layout, 0.001, 0.002), (steady(1.0),)))
        lines = lines_of(deck)
        assert [lines[f"Vb{k}"].split()[1] for k in (1, 2, 3)] == minus
        assert [lines[f"Rb{k}l"].split()[2] for k in (1, 2, 3) if f"Rb{k}l" in lines] == []
        assert [lines[f"Vb{k}l"].split()[2] for k in (1, 2, 3)] == ["bus", "p2", "p3"]
        assert lines["Rmain"] == "Rmain bus load 0.002"
        assert lines["Bload1"].split()[1] == "load"


def test_analysis_ends_with_the_run_and_tells_each_battery():
    deck = build_deck(bank(PLAIN, replace(PLAIN, name="b"), loads=[steady(1.0)], duration_s=60.0))
    assert ".tran 2 60 0 2 uic\n" in deck
    assert deck.count(".meas ") == 4
    assert ".meas" not in build_deck(bank(loads=[steady(1.0)], duration_s=60.0), measures=False)
    assert "trtol=7 " in lines_of(deck)[".options"]
    coarse = build_deck(bank(loads=[steady(1.0)]), max_step_s=10.0)
    assert "trtol=100 " in lines_of(coarse)[".options"]
    assert saved_vectors(bank()) == ["v(bus)", "i(vb1)", "v(d1)", "v(e1)"]
    with_charger = build_deck(bank(loads=(), chargers=[Charger("c", (Stage(14.4),), limit_A=1.0)]))
    assert "Cbus bus 0 1e-05 ic=13.1\n" in with_charger  # at rest, half full


def test_a_line_that_just_fits_is_not_folded():
    assert folded("a" * 90 + " " + "b" * 5) == "a" * 90 + " " + "b" * 5
    assert folded("a" * 90 + " " + "b" * 6) == "a" * 90 + "\n+ " + "b" * 6
    assert folded("* " + "a" * 90 + " bbbbb").startswith("* ")
    assert "\n* " in folded("* " + "a" * 90 + " bbbbb")


def test_what_a_netlist_leaves_out_is_nothing_for_a_plain_bank():
    assert left_out(bank()) == []
    swing = replace(bank(), swing_K=2.0)
    assert left_out(swing) == ["changes of temperature: every battery is at the surroundings' mean"]
