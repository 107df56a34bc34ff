"""Cautions about charge in the cold: banks wholly locked out, and at which temperature it flows."""

import math
from dataclasses import replace

import numpy as np
import pytest
from pytest import approx
from simple_banks import affine, bank_of, run, steady, stepped
from test_cautions_life import cautions

from bankSim.model.cell import ZERO_C_K
from bankSim.model.charger import Charger, Stage, Sun
from bankSim.model.load import Schedule
from bankSim.model.rule import Blocks, Release, Rule, Watch
from bankSim.scenario.read import parse_scenario
from bankSim.study.blocks import threads
from bankSim.study.plan import make_plan
from bankSim.study.spread import study_spread

HOUR_S = 3600.0
LOCKED, CHARGED = "too cold to take charge", "charged below freezing"


def frost(name, z=0.5, **more):
    rule = Rule(Watch.TEMPERATURE, True, ZERO_C_K, 1.0, Blocks.CHARGE)
    return affine(name, 0.01, z=z, rules=[rule], **more)


def mains(hold_V=13.6, *, amps=5.0, windows=None):
    return Charger("mains", (Stage(hold_V),), limit_A=amps, schedule=Schedule(active_s=windows))


def frozen(*batteries, charger, hours=24.0, **more):
    return bank_of(
        *batteries, chargers=(charger,), temperature_K=ZERO_C_K - 6.0, duration_s=hours * HOUR_S,
        **more,
    )  # fmt: skip


def test_a_bank_that_the_frost_locks_out_is_told_though_no_current_flows():
    windows = ((2 * HOUR_S, 5 * HOUR_S), (9 * HOUR_S, 11.5 * HOUR_S))
    bank = frozen(frost("a"), frost("b"), charger=mains(windows=windows))
    result = run(bank)
    assert result.chargers[0].delivered_Ah == approx(0.0, abs=1e-9)
    found = [caution for caution in result.cautions if caution.topic == LOCKED]
    assert [one.value for one in found] == [
        approx(5.5),
        approx(5.5),
    ]  # of the schedule: 3 and 2.5 h
    assert '"a" is too cold to take charge for 5.50 h in which a charger could' in found[0].text
    assert found[0].text.endswith('"b" is not charged meanwhile.')


def test_the_sun_is_there_although_the_panel_gives_nothing():
    # of 8 h a day the panel could give 0.1 A while sin(pi t / 8 h) > 0.1 A 13.6 V / 200 W
    panel = Charger("panel", (Stage(13.6),), sun=Sun(200.0, 8 * HOUR_S, 16 * HOUR_S))
    bank = frozen(frost("a"), charger=panel, hours=48.0)
    dark_h = 2.0 * 8.0 * math.asin(0.1 * 13.6 / 200.0) / math.pi
    assert cautions(bank)[LOCKED].value == approx(2.0 * (8.0 - dark_h), abs=0.04)


@pytest.mark.parametrize(
    ("battery", "charger"),
    [
        (frost("full", z=0.97), mains()),  # has hardly any room
        (frost("a", z=0.9), mains(13.2)),  # at 12.8 + 0.6 x 0.9 = 13.34 V by itself
        (frost("a"), mains(amps=0.05)),  # next to nothing
        (frost("a"), mains(windows=((0.0, 0.5 * HOUR_S),))),  # half an hour
    ],
)
def test_what_misses_no_charge_is_not_told(battery, charger):
    assert LOCKED not in cautions(frozen(battery, charger=charger))


def test_who_is_charged_meanwhile_is_told():
    found = cautions(frozen(frost("a"), affine("b", 0.01, z=0.2), charger=mains()))
    assert found[LOCKED].text.endswith('"b" is charged meanwhile.')


def test_a_study_sees_that_a_bank_is_locked_out(tmp_path):
    battery = """
        [[battery]]
        name = "{}"
        chemistry = "LFP"
        cells_in_series = 4
        rated_capacity_Ah = 60.0
        state_of_charge = 0.4
    """
    text = f"""
        title = "frost"
        [simulation]
        duration_h = 6.0
        stop = "end"
        [surroundings]
        temperature_C = -9.0
        {battery.format("one")}
        {battery.format("two")}
        [[charger]]
        name = "mains"
        limit_A = 10.0
        hold_V = 14.0
    """
    plan = make_plan(parse_scenario(text, tmp_path, "frost.toml"))
    with threads(1) as workers:
        found = study_spread(plan, workers, most=20, traced=3)
    chances = {one.topic: one.chance.value for one in found.traced.cautions}
    assert chances[LOCKED] == 1.0
    assert found.traced.middle is not None
    assert LOCKED in {one.topic for one in found.traced.middle.cautions}


# the day is a cosine: mean -1, swing 7 degrees C, warmest at 12:00 (Bank.ambient_K)
def day_C(hours):
    return -1.0 + 7.0 * math.cos(2.0 * math.pi * (hours - 12.0) / 24.0)


def test_the_temperature_told_is_that_at_which_it_is_charged():
    # charged from 6:00 to 7:00 at -1 to +0.8; discharged at night, down to -8 degrees C
    one = replace(affine("a", 0.01, z=0.3), chemistry="LFP")
    charge = Charger(
        "mains",
        (Stage(14.0),),
        limit_A=6.0,
        schedule=Schedule(active_s=((6 * HOUR_S, 7 * HOUR_S),)),
    )
    bank = bank_of(
        one, load=steady(1.0), chargers=(charge,), temperature_K=ZERO_C_K - 1.0, swing_K=7.0,
        warmest_s=12 * HOUR_S, duration_s=24 * HOUR_S,
    )  # fmt: skip
    result = run(bank)
    assert result.batteries[0].coldest_C == approx(-8.0)
    found = {caution.topic: caution for caution in result.cautions}[CHARGED]
    assert found.value == approx(day_C(6.0), abs=1e-6)
    assert "down to -1.00 degrees C" in found.text
    assert "other batteries" not in found.advice
    summary = next(one for one in result.summary()["cautions"] if one["topic"] == CHARGED)
    assert summary["value"] == approx(-1.0, abs=1e-6)


@pytest.mark.parametrize(
    ("full_z", "amps", "said"),
    [
        (1.0, None, "here it is the other batteries of the bank that charge it"),
        (1.0, 3.0, "the charger is not alone, other batteries of the bank charge it as well"),
        (0.2, 8.0, ""),
    ],
)
def test_others_are_named_as_its_source_where_they_are(full_z, amps, said):
    low = replace(affine("low", 0.05, z=0.2), chemistry="LFP")
    full = affine("full", 0.05, z=full_z)
    chargers = () if amps is None else (mains(14.0, amps=amps),)
    bank = bank_of(
        low, full, load=stepped([0.0], [0.0]), chargers=chargers, temperature_K=ZERO_C_K - 5.0,
        duration_s=2 * HOUR_S,
    )  # fmt: skip
    advice = cautions(bank)[CHARGED].advice
    assert advice.endswith(f"; {said}." if said else "below 0 degrees C.")


def test_charge_stays_blocked_from_the_first_second():
    # a rule that lets go above 2 degrees C: the warm hours of the day are no locked ones
    rule = Rule(Watch.TEMPERATURE, True, ZERO_C_K, 0.0, Blocks.CHARGE, Release(ZERO_C_K + 2.0))
    one = affine("a", 0.01, 400.0, z=0.1, rules=[rule])
    bank = bank_of(
        one, chargers=(mains(14.0, amps=1.0),), temperature_K=ZERO_C_K - 1.0, swing_K=7.0,
        warmest_s=12 * HOUR_S, duration_s=24 * HOUR_S,
    )  # fmt: skip
    # above 2 on the way up, below 0 on the way down: cos = 3/7 and 1/7
    open_h = 24.0 / (2.0 * np.pi) * (math.acos(3.0 / 7.0) + math.acos(1.0 / 7.0))
    assert cautions(bank)[LOCKED].value == approx(24.0 - open_h, abs=0.03)


def test_a_charger_that_ended_its_charge_before_the_frost_is_not_there_any_more():
    # on from 10 h, ended at its hold after 1 h; 15 of 50 Ah used until 17.5 h; frost from 18 h on
    rule = Rule(Watch.TEMPERATURE, True, ZERO_C_K, 0.0, Blocks.CHARGE, Release(ZERO_C_K + 1.0))
    mains = Charger("mains", (Stage(13.35, most_s=1.0 * HOUR_S),), limit_A=40.0,
                    schedule=Schedule(active_s=((10 * HOUR_S, 24 * HOUR_S),)))  # fmt: skip
    used = Schedule(active_s=((16 * HOUR_S, 17.5 * HOUR_S),))
    bank = bank_of(
        affine("a", 0.01, 50.0, z=0.94, rules=[rule]), load=steady(10.0, schedule=used),
        chargers=(mains,), temperature_K=ZERO_C_K, swing_K=5.0, warmest_s=12 * HOUR_S,
        duration_s=24 * HOUR_S, stop_when_empty=False,
    )  # fmt: skip
    assert LOCKED not in cautions(bank)
    lasting = replace(bank, chargers=(replace(mains, stages=(Stage(13.35),), limit_A=0.2),))
    assert cautions(lasting)[LOCKED].value == approx(6.0, abs=0.02)


def test_a_charge_that_ends_because_the_frost_locks_all_out_counts():
    mains = Charger("mains", (Stage(13.6, tail_A=1.0),), limit_A=5.0)
    result = run(frozen(frost("a"), charger=mains, hours=8.0))
    assert [event.what for event in result.events][-1] == "charger stage"  # it gave up
    found = {caution.topic: caution for caution in result.cautions}
    assert found[LOCKED].value == approx(8.0, abs=0.01)
