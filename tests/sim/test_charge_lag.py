"""What a charge meets besides: it sets in with the first relaxation pair, for charge only."""

import math
from dataclasses import replace

import numpy as np
import pytest
from pytest import approx
from simple_banks import affine_cell, bank_of, battery, run, steady, stepped

from bankSim.errors import ParameterError
from bankSim.model.cell import RelaxationPair
from bankSim.model.charge_lag import ChargeLag
from bankSim.scenario.read import parse_scenario
from bankSim.sim.run import simulate

LAG = affine_cell(
    5e-3, 1e6, 0.5, span=0.0, charge_lag=ChargeLag(20e-3),
    relaxation=(RelaxationPair(3e-3, 110.0), RelaxationPair(1e-3, 900.0)),
)  # fmt: skip


def volts(cell, load, **more):
    """Times and voltages of a battery of one cell. [s, V]"""
    table = run(bank_of(battery("a", cell), load=load, **more)).timeline()
    return table["time_s"].to_numpy(), table["bank.voltage_V"].to_numpy()


@pytest.mark.parametrize("amps", [20.0, -20.0])
def test_step_response_of_either_direction(amps):
    # closed form: V = U - I R0 - sum I Rj (1 - exp(-t / tau_j)), with R1 + Rc for a charge
    t, shown = volts(LAG, steady(amps), duration_s=1200, output_every_s=7.0)
    first = 3e-3 if amps > 0.0 else 23e-3
    exact = 12.8 - amps * 5e-3
    for ohm, tau in ((first, 110.0), (1e-3, 900.0)):
        exact = exact - amps * ohm * (1.0 - np.exp(-t / tau))
    assert shown == approx(exact, abs=1e-9)


def test_what_a_charge_built_up_falls_as_the_pair_does():
    t, shown = volts(LAG, stepped([0, 330], [-20, 0]), duration_s=660)
    left = 20.0 * 23e-3 * (1.0 - math.exp(-3.0)) * math.exp(-3.0)
    left += 20.0 * 1e-3 * (1.0 - math.exp(-330 / 900)) * math.exp(-330 / 900)
    assert t[-1] == 660.0
    assert shown[-1] == approx(12.8 + left, abs=1e-9)


def test_without_a_pair_nothing_lags():
    _, bare = volts(replace(LAG, relaxation=()), steady(-20.0))
    assert bare == approx(12.8 + 20.0 * 5e-3, abs=1e-9)


def test_less_than_nothing_is_refused():
    with pytest.raises(ParameterError, match="full_ohm"):
        ChargeLag(-1e-3)


CHARGED = """
[simulation]
duration_h = 10
stop = "end"
[[battery]]
name = "a"
chemistry = "{}"
cells_in_series = 6
rated_capacity_Ah = 100
state_of_charge = 0.3
lead_mohm = 0
[[charger]]
limit_A = {}
hold_V = 14.4
"""


def charge(word, amps, tmp_path):
    """Return the timeline of a charge at 14.4 V."""
    return simulate(parse_scenario(CHARGED.format(word, amps), tmp_path)).timeline()


# Common practice, no source, and the form of Copetti, Lorenzo & Chenlo (1993), from memory: half
# full at C/10 a 12 V battery shows 12.7 to 13.6 V, and comes to 14.4 V at 75 to 90 %.
@pytest.mark.parametrize("word", ["AGM", "gel", "flooded"])
def test_lead_acid_charges_at_the_voltages_of_practice(word, tmp_path):
    table = charge(word, 10, tmp_path)
    z, shown = (table[name].to_numpy() for name in ("a.state_of_charge", "bank.voltage_V"))
    assert 12.7 < np.interp(0.5, z, shown) < 13.6
    assert 0.75 < z[np.argmax(shown > 14.39)] < 0.9


def test_a_flat_hold_takes_little_into_lead(tmp_path):
    # An AGM of 70 % on 13.1 V, as a lithium battery beside it holds, takes some C/13 after minutes
    # and not the C/1.3 that R0 alone lets in (by hand: 0.65 V over 5.85 mohm)
    text = CHARGED.replace("= 0.3", "= 0.7").replace("14.4", "13.1")
    table = simulate(parse_scenario(text.format("AGM", 200), tmp_path)).timeline()
    amps = -table["a.current_A"].to_numpy()
    assert amps[0] == approx(0.65 / 5.85e-3, rel=0.1)  # R0 of 0.975 mohm a cell at 70 %
    assert 5.0 < amps[5] < 10.0
