"""The twin's network against Kirchhoff's laws, the diodes' rules and closed forms."""

import numpy as np
import pytest
from pytest import approx
from twin_banks import wide

from bankSim.crosscheck.twin_network import Flow, Network, Supply, rail_matrix
from bankSim.model.bank import Bank, Layout, Wiring
from bankSim.model.rule import Blocks


def question(rng):
    """Up to five batteries in any layout, each open, blocked one way or both; one is open."""
    count = int(rng.integers(1, 6))
    blocked = rng.integers(0, 4, count)
    blocked[rng.integers(count)] = 0
    place = np.arange(count)
    rails = 5e-4 * rng.random() * np.minimum.outer(place, place)
    chargers = int(rng.integers(0, 4))
    by_watts = rng.random(chargers) < 0.5
    supply = Supply(
        rng.choice([13.2, 13.6, 14.0], chargers),
        np.where(by_watts, 0.0, rng.uniform(1, 60, chargers)),
        np.where(by_watts, rng.uniform(10, 800, chargers), 0.0),
    )
    asked = ((rng.uniform(0, 300), 0.0), (rng.uniform(-5, 20), 1.0), (rng.uniform(0, 1), 2.0))
    emf_V, ohm = rng.uniform(12.8, 13.8, count), rng.uniform(2e-3, 3e-2, count)
    drop_V = rng.uniform(0.0, 0.8, count)
    return Network(emf_V, ohm, drop_V, blocked, rails, 1e-3 * rng.random(), supply, asked)


@pytest.mark.parametrize("seed", range(40))
def test_answer_obeys_every_law_at_once(seed):
    # Kirchhoff: E -+ drop = V_bus + (Z I) + R I where a battery conducts; a diode carries its own
    # sign or sees a voltage that cannot make it conduct; a charger below its hold gives its limit
    rng = np.random.default_rng(seed)
    network = question(rng)
    flow = network.solve()
    assert flow.fed
    rail_V = flow.bus_V + network.rails_ohm @ flow.current_A
    willing_V = network.emf_V - rail_V - network.series_ohm * flow.current_A
    for k, blocked in enumerate(network.blocked):
        current, drop = flow.current_A[k], network.drop_V[k]
        if blocked == 0:
            assert willing_V[k] == approx(0.0, abs=1e-9)
        elif blocked == Blocks.BOTH:
            assert current == 0.0
        else:
            sign = 1.0 if blocked == Blocks.CHARGE else -1.0
            assert sign * current >= -1e-9
            assert sign * willing_V[k] <= drop + 1e-9
            assert current == approx(0.0, abs=1e-9) or sign * willing_V[k] == approx(drop, abs=1e-9)
    supply, V = network.supply, flow.load_V
    limit_A = supply.limit_A + supply.limit_W / V
    for hold_V, limit, given in zip(supply.hold_V, limit_A, flow.charger_A, strict=True):
        expected = (0.0, limit) if hold_V == V else (limit, limit) if hold_V > V else (0.0, 0.0)
        assert expected[0] - 1e-6 <= given <= expected[1] + 1e-6
    drawn = sum(a * V ** (n - 1.0) for a, n in network.asked)
    assert flow.current_A.sum() + flow.charger_A.sum() == approx(drawn, abs=1e-6)
    assert flow.bus_V - V == approx(network.main_ohm * flow.current_A.sum(), abs=1e-9)


def single(emf_V=13.0, ohm=0.02, blocked=0, *, chargers=(), asked=()) -> Flow:
    """One battery; chargers are (hold, amperes, watts)."""
    hold_V, amps, watts = np.array(chargers, dtype=float).reshape(-1, 3).T
    return Network(
        np.array([emf_V]),
        np.array([ohm]),
        np.array([0.7]),
        np.array([int(blocked)]),
        np.zeros((1, 1)),
        0.0,
        Supply(hold_V, amps, watts),
        tuple(asked),
    ).solve()


def test_constant_power_takes_the_upper_of_two_voltages():
    # V = (E + sqrt(E^2 - 4 R P))/2 solves V = E - R P/V
    assert single(asked=[(1500.0, 0.0)]).load_V == approx(10.0)


def test_charger_in_watts_beside_a_battery():
    # V = E + R P/V: V = (E + sqrt(E^2 + 4 R P))/2 while below the hold
    flow = single(chargers=[(15.0, 0.0, 300.0)])
    assert flow.load_V == approx((13.0 + np.sqrt(13.0**2 + 4 * 0.02 * 300.0)) / 2)
    assert flow.charger_A == approx(300.0 / flow.load_V)


def test_equal_holds_share_in_proportion_to_limits():
    # 14 V hold into 13 V behind 20 mohm asks 50 A, and 10 A of load: 60 A from 30 + 90 A
    flow = single(chargers=[(14.0, 30.0, 0.0), (14.0, 90.0, 0.0)], asked=[(10.0, 1.0)])
    assert flow.load_V == 14.0
    assert flow.charger_A == approx([15.0, 45.0])


def test_higher_hold_goes_first():
    # 25 A reach 13.5 V: the lower charger gives nothing above its own hold
    flow = single(chargers=[(14.0, 25.0, 0.0), (13.4, 90.0, 0.0)])
    assert flow.load_V == approx(13.5)
    assert flow.charger_A == approx([25.0, 0.0])


def test_chargers_feed_the_loads_alone_at_their_hold():
    flow = single(blocked=Blocks.BOTH, chargers=[(14.0, 25.0, 0.0)], asked=[(140.0, 0.0)])
    assert (flow.load_V, flow.fed) == (14.0, True)
    assert flow.charger_A == approx([10.0])


@pytest.mark.parametrize("exponent", [0.0, 1.0])
def test_chargers_that_cannot_hold_do_not_feed(exponent):
    # 30 A at 14 V are more than the 25 A there are
    asked = [(30.0 / 14.0 ** (exponent - 1.0), exponent)]
    flow = single(blocked=Blocks.BOTH, chargers=[(14.0, 25.0, 0.0)], asked=asked)
    assert flow.dark
    assert not flow.current_A.any()


def test_chargers_feed_a_resistance_at_a_low_voltage():
    # by hand: 25 A through 14 V / 30 A
    asked = [(30.0 / 14.0, 2.0)]
    flow = single(blocked=Blocks.BOTH, chargers=[(14.0, 25.0, 0.0)], asked=asked)
    assert (flow.load_V, flow.fed, flow.dark) == (approx(25.0 * 14.0 / 30.0), True, False)


def test_blocked_discharge_takes_charge_beyond_the_diode():
    # hold 14 V - 13 V - 0.7 V over 20 mohm
    assert single(blocked=Blocks.DISCHARGE, chargers=[(14.0, 90.0, 0.0)]).current_A == approx(-15.0)
    assert single(blocked=Blocks.DISCHARGE, chargers=[(13.6, 9.0, 0.0)]).current_A == 0.0


def test_idle_bank_shows_what_holds_its_bus_up():
    # a diode that could conduct: emf less its drop; a bank that cannot discharge: nothing
    assert single(blocked=Blocks.CHARGE).bus_V == approx(12.3)
    assert single(blocked=Blocks.DISCHARGE).bus_V == 0.0
    assert single(blocked=Blocks.DISCHARGE).fed


def test_charge_that_nobody_takes_is_refused():
    assert single(blocked=Blocks.CHARGE, asked=[(-5.0, 1.0)]).refused
    assert single(blocked=Blocks.BOTH, asked=[(-5.0, 1.0)]).refused
    assert not single(blocked=Blocks.DISCHARGE, asked=[(-5.0, 1.0)]).refused


@pytest.mark.parametrize("layout", list(Layout))
def test_rails_are_symmetric_and_positive(layout):
    bank = Bank(tuple(wide(n) for n in "abcd"), Wiring(layout, 1e-3), ())
    matrix = rail_matrix(bank)
    assert (matrix == matrix.T).all()
    assert np.linalg.eigvalsh(matrix).min() >= -1e-12
