"""Charge that a plan puts into frozen lead-acid."""

from dataclasses import replace

import numpy as np
import pytest
from pytest import approx
from simple_banks import bank_of, run, steady
from test_cautions_life import typical

from bankSim.model.cell import ZERO_C_K
from bankSim.model.charger import Charger, Stage
from bankSim.model.load import Schedule
from bankSim.show.headline import headline
from bankSim.sim.cautions.frozen import is_frozen

HOUR_S = 3600.0
TOPIC = "charged while frozen"


def left_in_a_hut(celsius, z=0.2, *batteries):
    """A flooded battery, and a charger of 5 A that comes on after 2 h, for 4 h."""
    feeds = Charger(
        "mains", (Stage(14.4),), limit_A=5.0,
        schedule=Schedule(active_s=((2 * HOUR_S, 6 * HOUR_S),)),
    )  # fmt: skip
    return bank_of(
        typical("flooded", "x", z), *batteries, load=steady(1e-6), chargers=(feeds,),
        temperature_K=celsius + ZERO_C_K, duration_s=10 * HOUR_S,
    )  # fmt: skip


# The electrolyte of a flat battery freezes near -8 degC (common practice, no source)
@pytest.mark.parametrize(
    ("celsius", "z", "told"), [(-18, 0.2, True), (-5, 0.2, False), (-18, 0.9, False)]
)
def test_a_charger_that_charges_a_frozen_battery_is_named(celsius, z, told):
    result = run(left_in_a_hut(celsius, z))
    found = [one for one in result.cautions if one.topic == TOPIC]
    assert len(found) == told
    if told:
        assert found[0].severity == "danger"
        # 5 A for 4 h; what enters above the state of charge at which it froze thaws nothing
        assert found[0].value == approx(20.0, rel=2e-3)
        told = '"mains" puts 20.0 Ah into "x" while it is frozen, first after 2.00 h, at -18.0 '
        assert found[0].text.startswith(told)
        assert "at -18.0 degrees C with 20 % of its charge" in found[0].text
        assert "while it is frozen" in " ".join(headline(result))


def test_other_batteries_are_named_where_no_charger_gives():
    other = typical("flooded", "full", 0.9)
    bank = replace(left_in_a_hut(-18, 0.2, other), chargers=())
    (found,) = [one for one in run(bank).cautions if one.topic == TOPIC]
    assert found.text.startswith("The other batteries put ")
    assert 'into "x"' in found.text


def test_other_batteries_that_begin_are_named_beside_the_charger():
    # the fuller one charges it at once, the charger only after 2 h
    other = typical("flooded", "full", 0.9)
    (found,) = [one for one in run(left_in_a_hut(-18, 0.2, other)).cautions if one.topic == TOPIC]
    assert found.text.startswith('The other batteries and "mains" put ')
    assert "first at once" in found.text


def test_what_has_frozen_thaws_where_it_froze():
    cold_C = np.array([-5.0, -9.0, -9.0, -9.0, -8.5, -7.0, -9.0])
    freezes_C = np.array([-8.0, -8.0, -20.0, -20.0, -20.0, -20.0, -20.0])
    assert is_frozen(cold_C, freezes_C).tolist() == [False, True, True, True, True, False, False]
