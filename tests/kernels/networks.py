"""Networks of given source voltages and resistances, for tests of the wiring."""

from dataclasses import replace

import numpy as np
from bridge import bridge
from simple_banks import affine, bank_of

from bankSim.kernels import arrays as k
from bankSim.kernels import network
from bankSim.model.bank import Layout, Wiring
from bankSim.sim.pack import pack_bank, start_run

share = bridge(network.share)


def packed(
    emf, ohm, layout=Layout.EQUAL_LEADS, link=0.0, main=0.0, modes=None, drops=None, chargers=()
):
    """Return a bank and a run whose sources are given numbers."""
    drops = np.full(len(emf), 0.7) if drops is None else drops
    batteries = [replace(affine(f"b{i}"), diode_drop_V=drop) for i, drop in enumerate(drops)]
    bank = bank_of(*batteries, wiring=Wiring(layout, link, main), chargers=tuple(chargers))
    kernel_bank = pack_bank(bank, relative=1e-4, absolute_A=1e-6, every_s=60.0, most_edges=0)
    run = start_run(bank, kernel_bank, rows=0)
    run.now[: len(emf), k.EMF] = emf
    run.series[:] = ohm
    run.tally["mode"] = 0 if modes is None else modes
    run.source["on"], run.source["stage"] = 1, kernel_bank.charger["first"]
    return kernel_bank, run


def rail_matrix(count, link, layout):
    """Return Z of (diag(R) + Z) I = E - V by counting the rail segments two currents share."""
    place = np.arange(count)
    near = np.minimum.outer(place, place)
    if layout is Layout.SAME_END:
        return 2.0 * link * near
    if layout is Layout.OPPOSITE_ENDS:
        return link * (near + (count - 1 - np.maximum.outer(place, place)))
    return np.zeros((count, count))


def solve(bank, run):
    """Split the loads in force; returns a status."""
    return share(
        bank.battery, bank.setting, bank.exponent, bank.charger, bank.stage, run.source,
        run.tally, run.level, run.ladder, run.active, run.series, run.now,
    )  # fmt: skip
