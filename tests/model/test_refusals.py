"""Every limit of the parts of a bank, on both sides, with the words that a person reads."""

import math
from dataclasses import replace

import numpy as np
import pytest

from bankSim.errors import ParameterError
from bankSim.model.bank import Bank, Wiring
from bankSim.model.battery import Battery
from bankSim.model.cell import Cell, RelaxationPair
from bankSim.model.charge_lag import ChargeLag
from bankSim.model.charger import Charger, Stage, Sun
from bankSim.model.curve import Curve
from bankSim.model.load import CutOff, Load
from bankSim.model.rule import Release, Rule, Watch
from bankSim.model.upkeep import Balancer, Balancing, Heater, Thermal

INF, NAN = math.inf, math.nan
CELL = Cell(Curve.constant(3.3), Curve.constant(1e-3), 3600.0)
PAIR = RelaxationPair(1e-3, 10.0)
WIRES = Wiring()
BATTERY = Battery("a", (CELL,), 0.0, 0.0, (), 3600.0)
BANK = Bank((BATTERY,), wiring=WIRES, loads=())
STAGE = Stage(14.2, 2.0, 3600.0)
SUN = Sun(400.0, 6.0 * 3600.0, 20.0 * 3600.0)
BY_A = Charger("c", (STAGE,), limit_A=30.0)
BY_W = Charger("c", (STAGE,), limit_W=400.0)
TRIP = Rule(Watch.LOWEST_CELL, True, 2.5, 1.0)
LETS_GO = Release(3.0, 5.0)
EVENS = Balancer(Balancing.BLEED, 0.1, 3.4, 0.01)
WARM = Thermal(9000.0, 2.0)
PAD = Heater(30.0, 275.0, 283.0)
CUT_OFF = CutOff(11.0, 2.0, 12.5)
LOAD = Load("l", 1.0, np.array([0.0]), np.array([5.0]))

# A part, its field, what is allowed in words, values just allowed, values just refused.
LIMITS = [
    (CELL, "charge_C", "more than 0", [1e-9], [0.0, -1.0, INF]),
    (CELL, "state_of_charge", "0 to 1", [0.0, 1.0], [-1e-9, 1.0 + 1e-9]),
    (CELL, "hysteresis_V", "0 or more", [0.0], [-1e-9, INF]),
    (CELL, "hysteresis_rate", "more than 0", [1e-9], [0.0, INF]),
    (CELL, "coulombic_efficiency", "0 < eta <= 1", [1e-9, 1.0], [0.0, 1.0 + 1e-9]),
    (CELL, "standing_A", "0 or more", [0.0], [-1e-9, INF]),
    (CELL, "available_fraction", "0 < c <= 1", [1e-9, 1.0], [0.0, 1.0 + 1e-9]),
    (CELL, "well_rate_per_s", "0 or more", [0.0], [-1e-9, INF]),
    (CELL, "gassing_A", "0 or more", [0.0], [-1e-9, INF]),
    (CELL, "charge_ohm_from", "at most 1", [-INF, 1.0], [1.0 + 1e-9]),
    (BATTERY, "internal_ohm", "0 or more", [0.0], [-1e-9, INF]),
    (BATTERY, "lead_ohm", "0 or more", [0.0], [-1e-9, INF]),
    (BATTERY, "diode_drop_V", "0 or more", [0.0], [-1e-9, INF]),
    (BATTERY, "rated_C", "more than 0", [1e-9], [0.0, INF]),
    (PAIR, "resistance_ohm", "0 or more", [0.0], [-1e-9, INF]),
    (PAIR, "time_constant_s", "more than 0", [1e-9], [0.0, INF]),
    (WIRES, "link_ohm", "0 or more", [0.0], [-1e-9, INF]),
    (WIRES, "main_ohm", "0 or more", [0.0], [-1e-9, INF]),
    (BANK, "temperature_K", "more than 0", [1e-9], [0.0, INF]),
    (BANK, "duration_s", "more than 0", [1e-9], [0.0, INF]),
    (BANK, "output_every_s", "more than 0", [1e-9], [0.0, INF]),
    (BANK, "swing_K", "0 or more", [0.0, 298.0], [-1e-9, 298.15]),  # never to absolute zero
    (STAGE, "hold_V", "more than 0", [1e-9], [0.0, INF]),
    (STAGE, "tail_A", "0 or more", [0.0, None], [-1e-9, INF]),
    (STAGE, "most_s", "more than 0", [1e-9, None], [0.0, INF]),
    (SUN, "peak_W", "more than 0", [1e-9], [0.0, INF]),
    (SUN, "set_s", "after rise_s on the same day", [21600.1, 86400.0], [21600.0, 86400.1]),
    (BY_A, "limit_A", "more than 0", [1e-9], [0.0, -5.0, INF]),
    (BY_W, "limit_W", "more than 0", [1e-9], [0.0, -5.0, INF]),
    (TRIP, "threshold", "a finite number", [-40.0, 0.0], [INF, -INF]),
    (TRIP, "delay_s", "0 or more", [0.0], [-1e-9, INF]),
    (LETS_GO, "threshold", "a finite number", [-40.0, 0.0], [INF, -INF]),
    (LETS_GO, "delay_s", "0 or more", [0.0], [-1e-9, INF]),
    (EVENS, "current_A", "more than 0", [1e-9], [0.0, INF]),
    (EVENS, "starts_above_V", "a number", [-INF, 0.0], [INF]),
    (EVENS, "within_V", "0 or more", [0.0], [-1e-9, INF]),
    (WARM, "capacity_J_K", "more than 0", [1e-9], [0.0, INF]),
    (WARM, "loss_W_K", "more than 0", [1e-9], [0.0, INF]),
    (PAD, "power_W", "more than 0", [1e-9], [0.0, INF]),
    (PAD, "off_above_K", "more than on_below_K", [275.1], [275.0, INF]),
    (CUT_OFF, "below_V", "0 or more", [0.0], [-1e-9, INF]),
    (CUT_OFF, "after_s", "0 or more", [0.0], [-1e-9, INF]),
    (CUT_OFF, "restart_V", "more than below_V", [11.001, None], [11.0, INF]),
    (LOAD, "exponent", "a finite number", [-1.0, 0.0, 2.0], [INF, -INF]),
]


@pytest.mark.parametrize(
    ("part", "field", "allowed", "fine", "wrong"),
    LIMITS,
    ids=[f"{type(one[0]).__name__}-{one[1]}" for one in LIMITS],
)
def test_limits(part, field, allowed, fine, wrong):
    for value in fine:
        assert getattr(replace(part, **{field: value}), field) == value
    for value in [*wrong, NAN]:
        with pytest.raises(ParameterError) as told:
            replace(part, **{field: value})
        assert str(told.value) == f"{field} = {value!r}; expected {allowed}"


@pytest.mark.parametrize("rise_s", [-1.0, 20.0 * 3600.0, NAN])
def test_a_day_of_sun_has_a_morning_before_its_evening(rise_s):
    with pytest.raises(ParameterError, match="expected after rise_s on the same day"):
        replace(SUN, rise_s=rise_s)
    assert replace(SUN, rise_s=0.0).rise_s == 0.0


@pytest.mark.parametrize("on_below_K", [0.0, -1.0, 283.0, NAN])
def test_a_heater_comes_on_below_where_it_goes_off(on_below_K):
    with pytest.raises(ParameterError, match=r"off_above_K .*expected more than on_below_K"):
        replace(PAD, on_below_K=on_below_K)


def test_a_charger_has_one_limit_and_a_stage():
    for more, count in (
        ({}, 0),
        ({"limit_A": 10.0, "limit_W": 100.0}, 2),
        ({"limit_A": 10.0, "sun": SUN}, 2),
        ({"limit_W": 100.0, "sun": SUN}, 2),
        ({"limit_A": 10.0, "limit_W": 100.0, "sun": SUN}, 3),
    ):
        with pytest.raises(ParameterError) as told:
            Charger("c", (STAGE,), **more)
        assert str(told.value) == f"limit_A, limit_W, sun = {count}; expected exactly one of them"
    assert Charger("c", (STAGE,), sun=SUN).sun == SUN
    with pytest.raises(ParameterError, match=r"^stages = 0; expected at least 1 stage$"):
        Charger("c", (), limit_A=10.0)


def test_counts():
    assert replace(CELL, relaxation=(PAIR,) * 3).relaxation == (PAIR,) * 3
    for part, field, value, told in (
        (CELL, "relaxation", (PAIR,) * 4, "relaxation = 4; expected at most 3 pairs"),
        (BATTERY, "cells", (), "cells = 0; expected at least 1 cell"),
        (BANK, "batteries", (), "batteries = 0; expected at least 1 battery"),
    ):
        with pytest.raises(ParameterError) as refusal:
            replace(part, **{field: value})
        assert str(refusal.value) == told


def test_the_highest_hold_is_that_of_any_stage():
    stages = (Stage(14.2), Stage(14.6, most_s=60.0), Stage(13.5))
    assert Charger("c", stages, limit_A=10.0).highest_hold_V == 14.6


@pytest.mark.parametrize(
    ("below", "at", "side"), [(True, 2.499, "2.5 or above"), (False, 2.501, "2.5 or below")]
)
def test_a_rule_lets_go_on_the_side_where_all_is_well(below, at, side):
    rule = replace(TRIP, below=below, release=None)
    assert replace(rule, release=Release(2.5)).release == Release(2.5)
    with pytest.raises(ParameterError) as told:
        replace(rule, release=Release(at))
    assert str(told.value) == f"release = {at}; expected {side}"


def test_cells_of_a_battery_depend_on_temperature_alike():
    part = Curve.linear([250.0, 300.0], [0.7, 1.0])
    for other in (replace(CELL, activation_J_mol=20e3), replace(CELL, usable_part=part)):
        with pytest.raises(ParameterError, match="one way to depend on temperature"):
            replace(BATTERY, cells=(CELL, other))
        assert replace(BATTERY, cells=(other, other)).cells == (other, other)


@pytest.mark.parametrize(
    ("times", "amounts", "field"),
    [
        ([], [], "profile_s"),
        ([0.0, 1.0], [5.0], "profile_s"),
        ([0.0, 0.0], [5.0, 6.0], "profile_s"),
    ],
)
def test_a_profile_has_rising_times_and_as_many_amounts(times, amounts, field):
    with pytest.raises(ParameterError, match=field):
        Load("l", 1.0, np.array(times), np.array(amounts))


def test_what_a_charge_meets_has_limits_too():
    sound = ChargeLag(0.02, 0.01, 0.8, 0.1)
    limits = [
        ("full_ohm", [0.0], [-1e-9, INF]),
        ("width", [1e-9], [0.0]),
        ("bend_V", [1e-9, INF], [0.0]),
        ("starts_at", [0.0, 0.999], [1.0]),
    ]
    for field, fine, wrong in limits:
        for value in fine:
            assert getattr(replace(sound, **{field: value}), field) == value
        for value in [*wrong, NAN]:
            with pytest.raises(ParameterError, match=f"^{field} = "):
                replace(sound, **{field: value})
    assert ChargeLag(0.02).starts_at == -INF
    with pytest.raises(ParameterError, match="only with a width"):
        ChargeLag(0.02, starts_at=0.5)
