"""Heaters that take much of what a bank gives are named at the top."""

from dataclasses import replace

import pytest
from pytest import approx
from simple_banks import affine, bank_of, run, steady

from bankSim.model.charger import Charger, Stage
from bankSim.model.load import Schedule
from bankSim.model.upkeep import Heater
from bankSim.show.headline import headline
from bankSim.sim.heating import heating

HOUR_S = 3600.0


def cold(load_W=3.0, *, heater_W=40.0, needs_charger=False, **more):
    """A bank at -10 degC for 4 h, whose heater works all the time (it warms nobody)."""
    one = replace(
        affine("camp"), heater=Heater(heater_W, 273.15, 276.15, needs_charger=needs_charger)
    )
    load = None if load_W is None else steady(load_W, 0.0)
    return run(bank_of(one, load=load, temperature_K=263.15, duration_s=4 * HOUR_S, **more))


def test_what_heaters_take_is_power_times_time():
    result = cold()
    taken = heating(result)
    assert taken.heaters_Wh == approx(160.0, rel=1e-4)  # 40 W for 4 h
    assert taken.loads_Wh == approx(12.0, rel=1e-4)
    # together it is what the ledgers say
    assert taken.heaters_Wh + taken.loads_Wh == approx(result.bank.energy.loads_Wh, rel=1e-4)
    assert taken.heaters_Ah + taken.loads_Ah == approx(result.bank.delivered_Ah, rel=1e-4)
    told = " ".join(headline(result))
    assert f"Heaters of batteries take {taken.heaters_Ah:.1f} Ah (160 Wh), the loads " in told


@pytest.mark.parametrize(("load_W", "told"), [(100.0, True), (150.0, False), (None, True)])
def test_from_a_third_of_the_loads_on(load_W, told):
    said = " ".join(headline(cold(load_W)))
    assert ("Heaters of batteries take" in said) is told
    assert (", the loads " in said) is (told and load_W is not None)


def test_one_that_needs_a_charger_takes_only_while_it_gives():
    on = Schedule(active_s=((1 * HOUR_S, 2 * HOUR_S),))
    charger = Charger("mains", (Stage(14.4),), limit_A=10.0, schedule=on)
    taken = heating(cold(needs_charger=True, chargers=(charger,)))
    assert taken.heaters_Wh == approx(40.0, rel=2e-3)
    assert taken.loads_Wh == approx(12.0, rel=1e-2)
