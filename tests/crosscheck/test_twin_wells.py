"""The twin's two wells against the closed forms and tables of the kinetic battery model."""

import numpy as np
import pytest
from pytest import approx
from twin_banks import battery_below, between, happened, solved, wide

from bankSim.crosscheck.twin_result import TRIP
from bankSim.model.rule import Blocks

# A 100 Ah lead-acid class, fitted to 100 Ah in 20 h, 93 Ah in 10 h and 60 Ah in 1 h (typical of
# rate tables, from memory): Manwell & McGowan, Solar Energy 50 (1993) 399, for the equations
QMAX_AH, PART, RATE_PER_H = 108.160, 0.475111, 0.676960
WELLS = {"available_fraction": PART, "well_rate_per_s": RATE_PER_H / 3600.0}
EMPTY = battery_below(12.0, Blocks.DISCHARGE)  # E = 12 V where the available well is empty


def kibam_battery(**more):
    return wide("a", 0.0, QMAX_AH, 1.0, rules=[EMPTY], cell=WELLS, lead_ohm=1e-3, **more)


@pytest.mark.parametrize(
    ("load_A", "hours"),
    [(5.0, 20.0), (10.0, 9.187), (20.0, 3.893), (25.0, 2.9204), (40.0, 1.618), (60.0, 1.0),
     (100.0, 0.5638)],
)  # fmt: skip
def test_capacity_at_every_rate(load_A, hours):
    # q = qmax k' c t / (1 - exp(-k' t) + c (k' t - 1 + exp(-k' t))) solved for I t = q
    load = between("load", load_A, 0.0, 1e6)
    found = solved(kibam_battery(), loads=[load], hours=25.0, stop_when_empty=True)
    assert found.end_time_s / 3600.0 == approx(hours, rel=2e-4)


def test_recovery_at_rest():
    # 60 A for 1 h empties the available well; after 1 h of rest it holds 11.254 Ah
    found = solved(
        kibam_battery(), loads=[between("load", 60.0, 0.0, 3599.0)], hours=2.0 - 1 / 3600
    )
    head = found.plant.head(found.state_at(found.end_time_s))[0]
    emptied = 60.0 * 3599.0 / 3600.0
    y1, t = _available_after(60.0, 3599.0 / 3600.0), 1.0
    bound = QMAX_AH - emptied - y1
    E = np.exp(-RATE_PER_H * t)
    expected = y1 * E + (y1 + bound) * PART * (1 - E)
    assert head * PART * QMAX_AH == approx(expected, rel=1e-6)
    assert expected == approx(11.254, abs=0.02)  # the table's whole hour of 60 A
    assert found.final_state_of_charge == approx([1.0 - emptied / QMAX_AH])


def _available_after(load_A, hours):
    """y1 = y1(0) E + (y0 k' c - I)(1 - E)/k' - I c (k' t - 1 + E)/k', E = exp(-k' t)."""
    E, x = np.exp(-RATE_PER_H * hours), RATE_PER_H * hours
    first = PART * QMAX_AH * E + (QMAX_AH * RATE_PER_H * PART - load_A) * (1 - E) / RATE_PER_H
    return first - load_A * PART * (x - 1 + E) / RATE_PER_H


def test_gap_of_the_wells_relaxes_exponentially():
    found = solved(kibam_battery(), loads=[between("load", 40.0, 0.0, 3600.0)], hours=3.0)
    gap = [found.plant.split(found.state_at(t))[5][0] for t in (3600.0, 10800.0)]
    assert gap[1] / gap[0] == approx(np.exp(-2.0 * RATE_PER_H), rel=1e-7)
    # dd/dt = I/(c Q) - k' d from 0
    rise = 40.0 / (PART * QMAX_AH) * (1 - np.exp(-RATE_PER_H)) / RATE_PER_H
    assert gap[0] == approx(rise, rel=1e-7)


def test_one_well_has_no_gap_and_standing_draw_works_on_the_available_well():
    assert solved(wide()).final_well_gap == approx([0.0])
    draining = wide(cell={**WELLS, "standing_A": 1.0})
    found = solved(draining, hours=10.0)
    gap = 1.0 / (PART * 100.0) * (1 - np.exp(-10 * RATE_PER_H)) / RATE_PER_H
    assert found.final_well_gap == approx([gap], rel=1e-6)
    assert found.final_state_of_charge == approx([0.4])


def test_gassing_eats_the_charge_beyond_full():
    # dy/dt = (I - G (y - 1))/Q from y = 1: y - 1 = I/G (1 - exp(-G t/Q))
    overfull = wide(ohm=1e-3, z=1.0, cell={"gassing_A": 50.0})
    found = solved(overfull, loads=[between("source", -2.0, 0.0, 1e6)], hours=3.0)
    beyond = 2.0 / 50.0 * (1 - np.exp(-50.0 * 3.0 / 100.0))
    assert found.final_state_of_charge == approx([1.0 + beyond], rel=1e-8)


def test_small_cell_lasts_as_published():
    # wells of a small cell: C 7200 As, c 0.625, k' 1.92e-4/s; Jongerden & Haverkort, 2008, give
    # 91 min at 0.96 A (from memory); the closed form has 91.143 min
    small = wide("a", 0.0, 2.0, 1.0, rules=[EMPTY], lead_ohm=1e-3,
                 cell={"available_fraction": 0.625, "well_rate_per_s": 1.92e-4})  # fmt: skip
    found = solved(small, loads=[between("load", 0.96, 0.0, 1e6)], hours=3.0)
    assert happened(found, TRIP)[0][0] / 60.0 == approx(91.143, rel=1e-4)
