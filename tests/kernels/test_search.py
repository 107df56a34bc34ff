"""The network by search alone, held against the same laws as the usual way, and against that.

Resistances that differ by direction are met by no other way: what flows must fit the one it has.
"""

import numpy as np
import pytest
from bridge import bridge
from networks import packed, solve
from pytest import approx
from test_share import check_batteries, check_chargers, drawn_case, mains

from bankSim.kernels import arrays as k
from bankSim.kernels import search as kernel
from bankSim.model.bank import Layout

search = bridge(kernel.search)
EQUAL = Layout.EQUAL_LEADS


def searched(case, into=1.0, limit_part=1.0):
    """Solve a case with `into` times the resistance on charge; returns status and run."""
    case = dict(case)
    level, out = case.pop("level"), np.broadcast_to(case["ohm"], len(case["emf"]))
    bank, run = packed(**case)
    run.level[:] = level
    bank.charger["amperes"] *= limit_part
    run.now[len(out) + 1 :, k.CURRENT] = 99.0  # what was there before counts nothing
    run.tally["on"] = np.asarray(case["modes"]) != k.BOTH_BLOCKED  # as what calls it sees to
    run.tally["ohm_out"], run.tally["ohm_into"] = out, into * out
    status = search(
        bank.battery, bank.setting, bank.exponent, bank.charger, bank.stage, run.source,
        run.tally, run.level, run.ladder, run.active, run.series, run.now,
    )  # fmt: skip
    return status, run


def obeys(case, run):
    """Kirchhoff at the loads' node, Ohm along every branch, diodes, chargers."""
    count = len(case["emf"])
    currents, bus, given = run.now[:count, k.CURRENT], run.now[count], run.now[count + 1 :]
    watts, amperes, siemens = case["level"]
    volts = bus[k.AT_LOADS]
    asked = amperes + siemens * volts + watts / volts
    assert currents.sum() == approx(bus[k.TOTAL], abs=1e-7)
    assert bus[k.TOTAL] + given[:, k.CURRENT].sum() == approx(asked, abs=1e-5)
    assert bus[k.BUS] == approx(volts + case["main"] * bus[k.TOTAL])
    into = currents < -1e-7
    assert run.series[into] == approx(run.tally["ohm_into"][into])
    outward = currents > 1e-7
    assert run.series[outward] == approx(run.tally["ohm_out"][outward])
    check_batteries({**case, "ohm": run.series}, currents, bus)
    check_chargers(case, given[:, k.CURRENT], volts)


def with_load(seed):
    """Return a drawn case of which something is asked, so that it has one answer."""
    case = drawn_case(seed)
    return case if any(case["level"]) else {**case, "level": (100.0, 0.0, 0.0)}


@pytest.mark.parametrize("block", range(3))
def test_the_search_finds_what_the_usual_way_finds(block):
    for seed in range(15 * block, 15 * block + 15):
        case = with_load(seed)
        status, run = searched(case)
        bank, usual = packed(**{key: case[key] for key in case if key != "level"})
        usual.level[:] = case["level"]
        assert solve(bank, usual) == status, seed
        if status == k.OK:
            obeys(case, run)
            assert run.now[:, k.CURRENT] == approx(usual.now[:, k.CURRENT], abs=1e-6)


@pytest.mark.parametrize("into", [0.5, 3.0])
def test_resistances_of_either_direction_fit_what_flows(into):
    answered = 0
    for seed in range(20):
        case = with_load(seed)
        status, run = searched(case, into)
        if status == k.OK:
            obeys(case, run)
            answered += 1
    assert answered > 10


def one(mode, level, **more):
    """One battery of 13 V behind 10 mohm."""
    return {
        "emf": np.array([13.0]), "ohm": np.array([1e-2]), "level": level, "layout": EQUAL,
        "link": 0.0, "main": 0.0, "modes": np.array([mode]), "drops": np.array([0.7]), **more,
    }  # fmt: skip


@pytest.mark.parametrize(("mode", "level", "chargers", "status"), [
    # 13 V behind 10 mohm give 4225 W at most; 14 V and 20 A feed a resistance down to 2.8 V
    (0, (4220.0, 0.0, 0.0), [], k.OK), (0, (4230.0, 0.0, 0.0), [], k.SHORTFALL),
    (1, (4230.0, 0.0, 0.0), [], k.SHORTFALL), (2, (5.0, 0.0, 0.0), [], k.NOBODY),
    (3, (5.0, 0.0, 0.0), [], k.NOBODY), (3, (0.0, -1.0, 0.0), [], k.NO_TAKER),
    (1, (0.0, -1.0, 0.0), [], k.NO_TAKER), (2, (0.0, -1.0, 0.0), [], k.OK),
    (3, (0.0, 0.0, 20.0 / 2.9), [mains(14.0, 20.0)], k.OK),
    (3, (0.0, 0.0, 20.0 / 2.7), [mains(14.0, 20.0)], k.NOBODY),
    (1, (0.0, 0.0, 20.0 / 2.7), [mains(14.0, 20.0)], k.OK),
    (3, (0.0, 0.0, 1.0), [mains(14.0, 20.0), mains(13.0, 5.0)], k.OK),
    (3, (0.0, 19.0, 0.0), [mains(14.0, 20.0)], k.OK),
    (3, (0.0, 21.0, 0.0), [mains(14.0, 20.0)], k.NOBODY),
])  # fmt: skip
def test_whether_loads_are_fed_at_all(mode, level, chargers, status):
    case = one(mode, level, chargers=chargers)
    found, run = searched(case)
    assert found == status
    if status == k.OK:
        obeys(case, run)


def test_a_charger_shows_its_hold_and_two_that_hold_the_same_share():
    # 13 V behind 10 mohm take (13.4 V - 13 V) / 10 mohm = 40 A of 90 A, and 20 A go to the load
    case = one(0, (0.0, 20.0, 0.0), chargers=[mains(13.4, 60.0), mains(13.4, 30.0)])
    status, run = searched(case)
    assert (status, run.now[1, k.AT_LOADS]) == (k.OK, approx(13.4, abs=1e-9))
    assert run.now[0, k.CURRENT] == approx(-40.0, abs=1e-6)
    assert run.now[2:, k.CURRENT] == approx([40.0, 20.0], abs=1e-6)


def test_a_small_charger_shows_its_hold_too():
    case = one(3, (0.0, 0.2, 0.0), chargers=[mains(13.4, 0.4)])
    status, run = searched(case)
    assert (status, run.now[1, k.AT_LOADS]) == (k.OK, approx(13.4))
    assert run.now[2, k.CURRENT] == approx(0.2)


def test_a_charger_that_has_nothing_to_give_gives_nothing_at_its_hold():
    # as at sunrise: it holds just what the battery shows at rest
    case = one(0, (0.0, 0.0, 0.0), chargers=[mains(13.0, 5.0)])
    status, run = searched(case, limit_part=0.0)
    assert status == k.OK
    assert run.now[1, k.AT_LOADS] == approx(13.0)
    assert run.now[[0, 2], k.CURRENT] == approx(0.0, abs=1e-6)
