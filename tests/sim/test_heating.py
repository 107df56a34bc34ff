"""What heaters take, read off a few rows: power and current times time, by hand."""

from dataclasses import replace

import pytest
from made_results import Course, event, made
from pytest import approx
from simple_banks import affine, bank_of, steady

from bankSim.kernels.arrays import AFTER, BEFORE, GRID
from bankSim.model.charger import Charger, Stage
from bankSim.model.load import Schedule
from bankSim.model.upkeep import Heater
from bankSim.sim.heating import heating
from bankSim.sim.result import HEATER_OFF, HEATER_ON, LOAD_ON, STAGE

HOUR_S = 3600.0
CHARGER = Charger("mains", (Stage(14.4),), limit_A=10.0)


def heated(name, power_W=40.0, *, needs_charger=False):
    return replace(affine(name), heater=Heater(power_W, 273.15, 276.15, needs_charger))


def taken(
    batteries, amps, events, *, time_s=(0.0, HOUR_S, 2 * HOUR_S), charger_A=None, charger=CHARGER,
    **more,
):  # fmt: skip
    """Of a bank whose first battery gives `amps` at 10 V, the others nothing."""
    chargers = () if charger_A is None else (charger,)
    bank = bank_of(*batteries, load=steady(1.0), chargers=chargers, duration_s=2 * HOUR_S)
    courses = [Course(A=amps), *[Course()] * (len(batteries) - 1)]
    given = {} if charger_A is None else {"charger_A": [charger_A]}
    found = heating(
        made(bank, list(time_s), *courses, bus_V=99.0, loads_V=10.0, events=tuple(events), **given,
             **more)
    )  # fmt: skip
    return found.heaters_Wh, found.heaters_Ah, found.loads_Wh, found.loads_Ah


def switched(time_s, what, name="a"):
    return event(time_s, what, name)


def test_a_heater_takes_its_power_while_it_is_on():
    on = [switched(HOUR_S, HEATER_ON)]
    # 60 W for 2 h, of which the heater has 40 W in the second; the rest is the loads'
    assert taken([heated("a")], 6.0, on) == approx((40.0, 4.0, 80.0, 8.0))
    off = [switched(0.0, HEATER_ON), switched(HOUR_S, HEATER_OFF)]
    assert taken([heated("a")], 6.0, off) == approx((40.0, 4.0, 80.0, 8.0))


def test_it_takes_no_more_than_there_is():
    on = [switched(0.0, HEATER_ON)]
    assert taken([heated("a")], 3.0, on) == approx((60.0, 6.0, 0.0, 0.0))
    assert taken([heated("a")], 0.0, on) == (0.0, 0.0, 0.0, 0.0)
    assert taken([heated("a")], -3.0, on) == (0.0, 0.0, 0.0, 0.0)


def test_between_rows_the_current_goes_in_a_straight_line():
    # 4 A in the mean of the first hour, 2 A of the second: 40 W wanted, 20 W there
    on = [switched(0.0, HEATER_ON)]
    assert taken([heated("a")], [6.0, 2.0, 2.0], on) == approx((60.0, 6.0, 0.0, 0.0))


def test_heaters_of_several_batteries_add_up():
    on = [switched(0.0, HEATER_ON, "b"), switched(0.0, HEATER_ON, "c")]
    # the first battery has none
    three = [affine("a"), heated("b", 10.0), heated("c", 20.0)]
    assert taken(three, 6.0, on) == approx((60.0, 6.0, 60.0, 6.0))
    # events of others and of other kinds say nothing of a heater
    other = [switched(0.0, HEATER_ON, "c"), event(0.0, LOAD_ON, "b"), switched(0.0, HEATER_ON, "a")]
    assert taken(three, 6.0, other) == approx((40.0, 4.0, 80.0, 8.0))


def test_nobody_has_a_heater():
    assert taken([affine("a")], 6.0, []) == approx((0.0, 0.0, 120.0, 12.0))


MORNING = Schedule(active_s=((HOUR_S, 9 * HOUR_S),))


@pytest.mark.parametrize("needs_charger", [True, False])
def test_one_that_needs_a_charger_waits_for_it(needs_charger):
    # the charger gives 8 A in the second hour: 2 A go into the battery, 6 A to heater and loads
    on = [switched(0.0, HEATER_ON)]
    rows = {"time_s": (0.0, HOUR_S, HOUR_S, 2 * HOUR_S), "kinds": [GRID, BEFORE, AFTER, GRID]}
    found = taken(
        [heated("a", needs_charger=needs_charger)], [6.0, 6.0, -2.0, -2.0], on,
        charger=replace(CHARGER, schedule=MORNING), charger_A=[0.0, 0.0, 8.0, 8.0], **rows,
    )  # fmt: skip
    assert found == approx((40.0, 4.0, 80.0, 8.0) if needs_charger else (80.0, 8.0, 40.0, 4.0))


@pytest.mark.parametrize(("ends_s", "wh"), [((), 80.0), ((HOUR_S,), 40.0), ((1.0,), 0.0)])
def test_a_charger_that_idles_lets_a_heater_work_until_its_last_stage_has_ended(ends_s, wh):
    # the bank is above what the charger holds: the heater works, and takes all from the battery
    on = [switched(0.0, HEATER_ON)]
    ends = [event(time_s, STAGE, value=0.0, source="mains") for time_s in ends_s]
    begins = [event(0.0, STAGE, value=2.0, source="mains"), event(0.0, STAGE, value=0.0)]
    found = taken(
        [heated("a", needs_charger=True)], 6.0, [*on, *begins, *ends], charger_A=0.0
    )  # fmt: skip
    assert found == approx((wh, wh / 10.0, 120.0 - wh, 12.0 - wh / 10.0))
