"""The wiring against closed forms and against dense linear algebra."""

import itertools

import numpy as np
import pytest
from networks import packed, rail_matrix, solve
from pytest import approx

from bankSim.kernels import arrays as k
from bankSim.model.bank import Layout


def split(emf, ohm, current, **more):
    """Solve for a current load; returns status, battery currents, and the bus row."""
    bank, run = packed(emf, ohm, **more)
    run.level[:] = 0.0, current, 0.0
    status = solve(bank, run)
    return status, run.now[:-1, k.CURRENT].copy(), run.now[-1].copy()


def dense(emf, ohm, current, joined, layout, link):
    """Solve the same network by numpy on the joined batteries only."""
    index = np.flatnonzero(joined)
    z = rail_matrix(len(emf), link, layout)[np.ix_(index, index)] + np.diag(ohm[index])
    free, per_volt = np.linalg.solve(z, emf[index]), np.linalg.solve(z, np.ones(index.size))
    bus = (free.sum() - current) / per_volt.sum()
    currents = np.zeros(len(emf))
    currents[index] = free - bus * per_volt
    return currents, bus


# Total 100 A, E = 13 V. Ladder of equal batteries on two bars, Kirchhoff's laws:
# same end I_k ~ cosh((N - k + 1/2) theta), opposite ends I_k ~ cosh((k - (N + 1)/2) theta),
# theta = 2 asinh(sqrt(x)/2), x = 2 r / R
LADDERS = [
    (2, 5.0, 0.5, Layout.SAME_END, [54.545, 45.455]),
    (2, 5.0, 0.5, Layout.OPPOSITE_ENDS, [50, 50]),
    (3, 5.0, 0.5, Layout.SAME_END, [42.708, 31.250, 26.042]),
    (3, 5.0, 0.5, Layout.OPPOSITE_ENDS, [34.375, 31.25, 34.375]),
    (4, 5.0, 0.5, Layout.SAME_END, [38.540, 26.248, 19.206, 16.005]),
    (4, 5.0, 0.5, Layout.OPPOSITE_ENDS, [27.273, 22.727, 22.727, 27.273]),
    (4, 5.0, 0.25, Layout.SAME_END, [32.622, 25.884, 21.735, 19.759]),
    (4, 20.0, 0.5, Layout.SAME_END, [29.072, 25.525, 23.255, 22.148]),
    (6, 5.0, 0.5, Layout.SAME_END, [36.275, 23.530, 15.491, 10.550, 7.720, 6.433]),
    (6, 5.0, 0.5, Layout.OPPOSITE_ENDS, [21.354, 15.625, 13.021, 13.021, 15.625, 21.354]),
]


@pytest.mark.parametrize(("count", "inner", "link", "layout", "table"), LADDERS)
def test_ladder_closed_forms(count, inner, link, layout, table):
    currents = split([13.0] * count, inner / 1e3, 100.0, layout=layout, link=link / 1e3)[1]
    theta = 2.0 * np.arcsinh(np.sqrt(2.0 * link / inner) / 2.0)
    number = np.arange(1, count + 1)
    place = count - number + 0.5 if layout is Layout.SAME_END else number - (count + 1) / 2
    exact = np.cosh(place * theta)
    assert currents == approx(100.0 * exact / exact.sum(), rel=1e-6)
    assert currents == approx(np.array(table), abs=6e-4)


@pytest.mark.parametrize(
    ("layout", "volts"), [(Layout.SAME_END, 12.80730), (Layout.OPPOSITE_ENDS, 12.78864)]
)
def test_bus_voltage_of_the_ladder(layout, volts):
    # N = 4, 5 mohm, 0.5 mohm links, 100 A from 13 V: nodal solve, 5 decimals
    bus = split([13.0] * 4, 5e-3, 100.0, layout=layout, link=0.5e-3)[2]
    assert bus[k.BUS] == approx(volts, abs=6e-6)


@pytest.mark.parametrize("layout", Layout)
@pytest.mark.parametrize("seed", range(12))
def test_any_row_agrees_with_dense_algebra(layout, seed):
    rng = np.random.default_rng(seed)
    count = int(rng.integers(1, 12))
    emf, ohm = rng.uniform(12.5, 13.5, count), rng.uniform(2e-3, 3e-2, count)
    link, current = rng.uniform(1e-6, 2e-3), rng.uniform(-80, 150)
    joined = rng.random(count) < 0.7
    joined[rng.integers(count)] = True
    modes = np.where(joined, 0, k.BOTH_BLOCKED)
    status, currents, bus = split(emf, ohm, current, layout=layout, link=link, modes=modes)
    want, want_bus = dense(emf, ohm, current, joined, layout, link)
    assert status == k.OK
    assert currents == approx(want, rel=1e-9, abs=1e-9)
    assert bus[k.BUS] == approx(want_bus, rel=1e-12)
    assert currents.sum() == approx(current, rel=1e-13)
    assert np.all(currents[~joined] == 0.0)


@pytest.mark.parametrize("layout", Layout)
@pytest.mark.parametrize("seed", range(25))
def test_body_diodes_agree_with_enumeration(layout, seed):
    # every subset of conducting batteries is tried; the network is passive, so one fits. A diode
    # is a source of its drop against the current while it conducts
    rng = np.random.default_rng(100 + seed)
    count = int(rng.integers(2, 7))
    emf, ohm = rng.uniform(12.0, 13.6, count), rng.uniform(2e-3, 3e-2, count)
    link, current = rng.uniform(1e-5, 1e-3), rng.uniform(-60, 60)
    modes = rng.integers(0, 4, count)
    modes[rng.integers(count)] = 0
    drops = rng.choice([0.0, 0.3, 0.7, 1.1], count)
    layout_link = 0.0 if layout is Layout.EQUAL_LEADS else link
    wiring = {"layout": layout, "link": link}
    status, currents, _ = split(emf, ohm, current, modes=modes, drops=drops, **wiring)
    assert status == k.OK
    fits, facing = [], emf - np.select([modes == 1, modes == 2], [drops, -drops], 0.0)
    for chosen in itertools.product([False, True], repeat=count):
        joined = np.array(chosen)
        if np.any(joined[modes == 3]) or not np.all(joined[modes == 0]):
            continue
        found, bus = dense(facing, ohm, current, joined, layout, layout_link)
        rails = bus + rail_matrix(count, layout_link, layout) @ found
        sign = np.where(modes == k.CHARGE_BLOCKED, 1.0, -1.0)
        one_way = (modes == 1) | (modes == 2)
        carries_well = np.all(sign * found >= -1e-9, where=one_way & joined)
        waits_well = np.all(sign * (facing - rails) <= 1e-9, where=one_way & ~joined)
        if carries_well and waits_well:
            fits.append(found)
    assert fits
    assert currents == approx(fits[0], rel=1e-8, abs=1e-8)


def test_nobody_connected():
    status, currents, bus = split([13.0, 13.1], 5e-3, 10.0, modes=[3, 3])
    assert status == k.NOBODY
    assert not currents.any()
    assert not bus.any()


def test_charge_that_nobody_may_take():
    status, currents, bus = split([13.0, 13.1], 5e-3, -10.0, modes=[1, 1])
    assert status == k.NO_TAKER
    assert not currents.any()
    assert not bus.any()


def test_a_blocked_direction_leaves_the_other_through_the_diode():
    # by hand: 13 V - 0.7 V behind 5 mohm carry 10 A; 13 V + 0.7 V take 10 A
    status, currents, bus = split([13.0, 13.0], 5e-3, 10.0, modes=[1, 3])
    assert (status, bus[k.BUS]) == (k.OK, approx(13.0 - 0.7 - 0.05))
    assert currents == approx([10.0, 0.0])
    status, currents, bus = split([13.0, 13.0], 5e-3, -10.0, modes=[2, 3])
    assert (status, bus[k.BUS]) == (k.OK, approx(13.0 + 0.7 + 0.05))
    assert currents == approx([-10.0, 0.0])


def test_a_battery_behind_its_diode_waits_until_the_others_have_sunk():
    # by hand: at 13.2 V with charge blocked it shows 12.5 V. Beside 12.7 V under 20 A the bus is
    # at 12.6 V and it waits; beside 12.4 V it gives 10 A + 0.1 V / 10 mohm
    _, waiting, _ = split([13.2, 12.7], 5e-3, 20.0, modes=[1, 0])
    assert waiting == approx([0.0, 20.0])
    _, feeding, _ = split([13.2, 12.4], 5e-3, 20.0, modes=[1, 0])
    assert feeding == approx([20.0, 0.0], abs=1e-9)


def test_one_way_batteries_at_rest_show_the_highest_voltage():
    status, currents, bus = split([13.0, 13.1], 5e-3, 0.0, modes=[1, 1])
    assert status == k.OK
    assert currents == approx([0.0, 0.0], abs=1e-9)
    assert bus[k.BUS] == approx(13.1 - 0.7)


def test_links_of_a_micro_ohm_keep_their_accuracy():
    ohm = np.full(32, 5e-3)
    status, currents, _ = split(np.full(32, 13.0), ohm, 320.0, layout=Layout.SAME_END, link=1e-9)
    assert status == k.OK
    assert currents.sum() == approx(320.0, rel=1e-14)
    assert currents == approx(np.full(32, 10.0), rel=1e-3)
    assert np.all(np.diff(currents) < 0.0)


def test_the_main_lead_lowers_the_voltage_at_the_loads_only():
    _, _, bus = split([13.0], 5e-3, 100.0, main=1e-3)
    assert bus[k.BUS] == approx(12.5)
    assert bus[k.AT_LOADS] == approx(12.4)
