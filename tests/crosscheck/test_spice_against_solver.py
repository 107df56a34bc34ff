"""ngspice against the compiled solver on small banks, one thing that a bank can do after another.

ngspice solves the netlist by methods of its own (trapezoidal rule, Newton's method on the whole
circuit, switches with hysteresis as memory). Limits: Ah 0.05 % of what went through each battery,
switchings within one of ngspice's longest steps and 1 s, surges within 2 %, bus voltage 1 mV rms.
"""

from dataclasses import replace

import numpy as np
import pytest
from crosscheck_banks import string
from simple_banks import affine, bank_of, battery, run, steady, stepped

from bankSim.crosscheck.compare_lines import edges_s
from bankSim.crosscheck.spice import LET_GO, SHUT, solve_spice
from bankSim.model.cell import Cell
from bankSim.model.charger import Charger, Stage, Sun
from bankSim.model.curve import Curve
from bankSim.model.load import CutOff, Schedule
from bankSim.model.rule import Blocks, Needs, Release, Rule, Watch
from bankSim.model.upkeep import Balancer, Balancing
from bankSim.sim.result import EMPTY, LOAD_OFF, LOAD_ON, RELEASE, STAGE, TRIP

pytestmark = [pytest.mark.ngspice, pytest.mark.usefixtures("spice")]
H = 3600.0
RUN_ON_S = 10.0  # an empty bank gives nothing any more; the netlist may reach that a little later


def from_to(*hours):
    return Schedule(active_s=tuple((start * H, end * H) for start, end in hours))


def agree(bank, *, max_step_s=2.0, surges=True):
    """Solve a bank both ways, compare, and return the prediction."""
    result = run(bank)
    end_s = result.end_time_s + RUN_ON_S * (result.end_reason == EMPTY)
    found = solve_spice(bank, end_s, max_step_s=max_step_s)
    for index, outcome in enumerate(result.batteries):
        limit_Ah = 5e-4 * (outcome.delivered_Ah + outcome.charged_Ah)
        assert found.delivered_Ah[-1, index] == pytest.approx(outcome.delivered_Ah, abs=limit_Ah)
        assert found.charged_Ah[-1, index] == pytest.approx(outcome.charged_Ah, abs=limit_Ah)
        for way in (Blocks.CHARGE, Blocks.DISCHARGE):
            for what, step in ((TRIP, SHUT), (RELEASE, LET_GO)):
                ours = switchings(result, outcome.name, way, what)
                theirs = found.switchings[index, way, step]
                assert theirs == pytest.approx(times(ours), abs=found.max_step_s + 1.0)
                if surges:
                    surges_agree(ours, theirs, found)
    assert voltage_mV(result, found) < 1.0
    return result


def switchings(result, name, way, what):
    """Events of one battery and direction, each of which has one rule only."""
    words = {"both", way.name.lower()}
    return [e for e in result.events if (e.battery, e.what) == (name, what) and e.blocks in words]


def surges_agree(ours, theirs, found):
    """Currents of all batteries right after a switching, within 2 % of the largest."""
    for event, time_s in zip(ours, theirs, strict=True):
        after = np.searchsorted(found.time_s, time_s + 0.5 * found.max_step_s)
        largest = max(np.abs(event.currents_after_A).max(), 0.1)
        gap_A = found.current_A[after] - event.currents_after_A
        assert np.abs(gap_A).max() < 0.02 * largest


def voltage_mV(result, found):
    """Rms difference of the bus voltage away from the start and from all that switches."""
    frame = result.timeline()
    time_s, ours_V = (frame[name].to_numpy(float) for name in ("time_s", "bank.voltage_V"))
    apart_s = np.abs(time_s[:, None] - edges_s(result)).min(axis=1)
    quiet = (apart_s > 3.0 * found.max_step_s) & (ours_V > 0.0)  # not while the bus is dark
    return 1e3 * np.sqrt(np.mean((ours_V - found.voltage_V(time_s))[quiet] ** 2))


def times(events):
    return np.array([event.time_s for event in events])


def whats(result):
    return [event.what for event in result.events]


def test_held_back_at_full_and_back_with_a_surge():
    # "uneven" is full first and blocks charge; it feeds through its diode once the bus is 0.35 V
    # lower, and is let go when its cells have fallen: then it takes over at once
    high = Rule(Watch.HIGHEST_CELL, False, 3.41, 2.0, Blocks.CHARGE, Release(3.31, 30.0))
    uneven = replace(string("uneven", 40.0, 0.8, rules=(high,), z=0.92), diode_drop_V=0.35)
    even = string("even", 45.0, 0.8, rules=(), z=0.85)
    mains = Charger("mains", (Stage(13.7),), limit_A=20.0, schedule=from_to((0.0, 1.0)))
    load = steady(22.0, schedule=from_to((1.0, 5.0)))
    result = agree(bank_of(uneven, even, load=load, chargers=(mains,), duration_s=3.5 * H))
    assert whats(result) == [TRIP, RELEASE]
    before, after = (getattr(result.events[1], f"currents{way}_A")[0] for way in ("", "_after"))
    assert after > before + 10.0


def test_empty_takes_charge_through_its_diode_until_it_is_let_go():
    low = Rule(
        Watch.LOWEST_CELL, True, 3.1, 5.0, Blocks.DISCHARGE, Release(3.18, 20.0, Needs.CHARGING)
    )
    empty = replace(string("empty", 30.0, 0.8, rules=(low,), z=0.3), diode_drop_V=0.2)
    other = string("other", 60.0, 0.6, rules=(), z=0.35)
    mains = Charger("mains", (Stage(13.9),), limit_W=400.0, schedule=from_to((1.0, 2.2)))
    load = steady(30.0, schedule=from_to((0.0, 0.9)))
    bank = bank_of(empty, other, load=load, chargers=(mains,), duration_s=2.2 * H)
    result = agree(bank)
    assert whats(result) == [TRIP, RELEASE]
    assert result.events[1].currents_A[0] < -1.0


def test_release_waits_until_the_load_is_removed():
    heavy = Rule(
        Watch.DISCHARGE_CURRENT, False, 40.0, 2.0, Blocks.DISCHARGE,
        Release(1.0, 15.0, Needs.LOAD_REMOVED),
    )  # fmt: skip
    strong = affine("strong", 0.003, 50.0, 0.9, rules=(heavy,), lead=0.001)
    weak = affine("weak", 0.012, 50.0, 0.85)
    load = stepped([0.0, 600.0, 900.0, 1500.0, 1800.0], [20.0, 65.0, 20.0, 0.0, 30.0])
    assert whats(agree(bank_of(strong, weak, load=load, duration_s=2400.0))) == [TRIP, RELEASE]


def test_stages_schedules_sun_and_a_load_beside_them():
    stages = (Stage(13.35, tail_A=14.0, most_s=3 * H), Stage(13.3, most_s=0.3 * H), Stage(13.25))
    mains = Charger("mains", stages, limit_A=18.0, schedule=from_to((0.5, 4.0)))
    sun = Charger("sun", (Stage(13.28),), sun=Sun(220.0, 7.0 * H, 15.0 * H))
    cells = (affine("a", 0.01, 60.0, 0.5), affine("b", 0.02, 40.0, 0.6, lead=0.003))
    bank = bank_of(
        *cells, load=steady(90.0, 0.0), chargers=(mains, sun), starts_at_s=6.5 * H, duration_s=7 * H
    )
    result = agree(bank)
    assert whats(result) == [STAGE, STAGE]  # the first by its tail, the second by its time
    assert result.events[0].time_s < 3.4 * H
    assert result.events[1].time_s - result.events[0].time_s == pytest.approx(0.3 * H)
    assert all(charger.delivered_Ah > 1.0 for charger in result.chargers)


def lead_acid(name, z, **more):
    curve = Curve.linear([0.0, 0.1, 0.4, 0.8, 1.0, 1.05], [11.2, 11.7, 12.15, 12.6, 12.9, 13.6])
    ohm = Curve.linear([0.0, 0.4, 1.0], [0.014, 0.008, 0.008])
    well = {"available_fraction": 0.5, "well_rate_per_s": 1.2 / H}
    cell = Cell(curve, ohm, 80.0 * H, z, coulombic_efficiency=0.9, gassing_A=12.0, **well)
    return battery(name, cell, lead=2e-3, **more)


def test_two_wells_losses_and_gassing():
    # an hour of load, an hour of rest in which the wells even out, then six hours of charge
    mains = Charger("mains", (Stage(13.5),), limit_A=25.0, schedule=from_to((2.0, 9.0)))
    load = steady(30.0, schedule=from_to((0.0, 1.0)))
    members = (lead_acid("old", 0.9), lead_acid("new", 0.95))
    result = agree(bank_of(*members, load=load, chargers=(mains,), duration_s=8 * H))
    assert result.batteries[0].self_discharge_Ah > 0.5


def test_load_cuts_itself_off_and_restarts():
    load = replace(steady(35.0), cut_off=CutOff(12.7, 20.0, 13.1))
    mains = Charger("mains", (Stage(14.0),), limit_A=15.0, schedule=from_to((1.0, 2.0)))
    pair = (affine("a", 0.01, 20.0, 0.5), affine("b", 0.015, 20.0, 0.4))
    bank = bank_of(*pair, load=load, chargers=(mains,), duration_s=2 * H, stop_when_empty=False)
    assert whats(agree(bank))[:2] == [LOAD_OFF, LOAD_ON]


def dark(load, *chargers):
    """Two empty batteries that wait for charge, a load that goes on asking, chargers after 2 h."""
    low = Rule(
        Watch.LOWEST_CELL, True, 2.9, 5.0, Blocks.DISCHARGE, Release(3.15, 20.0, Needs.CHARGING)
    )
    pair = tuple(
        string(name, Ah, 0.8, rules=(low,), z=0.2) for name, Ah in (("one", 20.0), ("two", 30.0))
    )
    return bank_of(*pair, load=load, chargers=chargers, duration_s=4.5 * H, stop_when_empty=False)


MAINS = from_to((2.0, 4.0))
STAGES = (Stage(14.2, most_s=0.5 * H), Stage(13.9))


@pytest.mark.parametrize(
    ("load", "charger", "expected"),
    [
        (steady(100.0, 0.0), Charger("too weak", STAGES, limit_A=6.0, schedule=MAINS), True),
        (steady(100.0, 0.0), Charger("feeds it", STAGES, limit_A=9.0, schedule=MAINS), False),
        (steady(7.0), Charger("too weak", STAGES, limit_A=6.0, schedule=MAINS), True),
        (steady(0.6, 2.0), Charger("any", STAGES, limit_A=5.0, schedule=MAINS), False),
        (steady(60.0, 0.0), Charger("sun", STAGES, sun=Sun(150.0, 2 * H, 9 * H)), True),
    ],
    ids=["power", "fed alone", "current", "resistance", "sun"],
)
def test_dark_bank_is_charged_where_the_charger_cannot_feed_the_load(load, charger, expected):
    # no surges: the events' currents are those of the dark bus, before its loads are dropped
    result = agree(dark(load, charger), max_step_s=0.5, surges=False)
    assert (RELEASE in whats(result)) is expected


@pytest.mark.parametrize(
    "balancer",
    [Balancer(Balancing.BLEED, 0.8, 3.3), Balancer(Balancing.TRANSFER, 1.5, within_V=5e-3)],
    ids=["bleed", "transfer"],
)
def test_balancers(balancer):
    # each wins or loses more than 0.1 Ah at the knee, where the prediction would show it
    helped = replace(string("helped", 15.0, 0.8, spread=0.03), balancer=balancer)
    mains = Charger("mains", (Stage(13.5),), limit_A=5.0, schedule=from_to((0.0, 0.6)))
    load = steady(12.0, schedule=from_to((0.7, 9.0)))
    bank = bank_of(helped, load=load, chargers=(mains,), duration_s=3 * H)
    result = agree(bank)
    assert TRIP in whats(result)
    assert result.batteries[0].balanced_Ah > 0.1 or balancer.kind is Balancing.TRANSFER
    assert result.balancing is not None
