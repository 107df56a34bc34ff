"""Loads that cut themselves off and start again, over and over."""

from dataclasses import replace

import pytest
from simple_banks import affine, bank_of, run, steady
from test_cautions_life import cautions

from bankSim.model.load import CutOff, Schedule

HOUR_S = 3600.0
TOPIC = "load hunts"


def hunting(cut_off=CutOff(12.6, 10.0, 12.9), duration_s=HOUR_S + 5.0, **more):
    """By hand: 13.1 V at rest, less 60 A through 10 mohm 12.5 V; back at 13.1 V at once."""
    load = replace(steady(60.0, **more), name="pump", cut_off=cut_off)
    return bank_of(affine("a", 0.010, 20_000.0, 0.5), load=load, duration_s=duration_s)


def test_a_load_that_hunts_is_counted_and_told_what_to_change():
    # off after 10 s each time and on again in the same instant: 360 times in 3605 s
    result = run(hunting())
    found = {caution.topic: caution for caution in result.cautions}[TOPIC]
    assert (found.severity, found.value, found.unit) == ("warning", 360.0, "times")
    assert '"pump" hunts' in found.text
    assert "below 12.60 V and starts again at 12.90 V 360 times" in found.text
    assert "the first time after 10.0 s" in found.text
    assert "wider gap between its cut-off and its restart than 0.30 V" in found.advice


# one restart each time that it is switched on
@pytest.mark.parametrize(("every_h", "told"), [(2.0, True), (3.0, False)])
def test_a_few_restarts_a_day_are_none(every_h, told):
    duty = Schedule(duty_s=(15.0, every_h * HOUR_S - 15.0))
    found = cautions(hunting(duration_s=72 * HOUR_S, schedule=duty)).get(TOPIC)
    assert (found is not None) == told
    assert found is None or found.value == 36.0  # 72 h, every 2 h


def test_one_that_never_starts_again_does_not_hunt():
    assert TOPIC not in cautions(hunting(CutOff(12.6, 10.0)))
