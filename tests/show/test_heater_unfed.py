"""A heater that asks for more than the bank can give is named; it is no load."""

from dataclasses import replace

import pytest
from simple_banks import affine, bank_of, run, steady

from bankSim.model.load import Schedule
from bankSim.model.upkeep import Heater
from bankSim.show.headline import headline
from bankSim.show.life import life

HOUR_S = 3600.0


def cold_night(load_W, load_ends_h):
    """13.3 V behind 1 ohm give 44 W at most (E^2 / 4 R); a heater asks for 60 W below 0 degC.

    The air is warmest at the start and passes 0 degC, half of its swing below the mean, after 8 h.
    """
    heater = Heater(60.0, 273.15, 276.15, needs_charger=False)
    one = replace(affine("camp", 1.0, Ah=1000.0), heater=heater)
    lamp = steady(load_W, 0.0, Schedule(active_s=((0.0, load_ends_h * HOUR_S),)))
    return run(
        bank_of(
            one, load=lamp, duration_s=12 * HOUR_S, stop_when_empty=False, temperature_K=276.15,
            swing_K=6.0, warmest_s=0.0,
        )
    )  # fmt: skip


def told(result):
    (caution,) = [one for one in result.cautions if one.topic == "load cannot be fed"]
    return caution, " ".join(headline(result)), " ".join(life(result).lines)


def test_a_heater_alone_is_named():
    caution, first, chapters = told(cold_night(5.0, 2.0))
    assert caution.value == pytest.approx(8.0, abs=0.01)
    assert 'the heater of "camp" (60.0 W) asks for more power than the bank can' in caution.text
    assert "Stop the loads" not in caution.advice
    assert 'the heater of "camp" (60.0 W) asks for more than the bank can give' in first
    assert 'The heater of "camp" (60.0 W) cannot be fed after 8.00 h' in chapters
    assert "the load asks" not in first


def test_a_load_beside_it_is_not_left_out():
    caution, first, chapters = told(cold_night(5.0, 12.0))
    assert "the loads ask for more power than the bank can give" in caution.text
    assert "the load asks for more" in first
    assert "The loads cannot be fed after 8.00 h" in chapters
