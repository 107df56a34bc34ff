"""Draws of a study against single runs: how many a second, on one thread and on two."""

import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import numpy as np

from bankSim.model.spread import Shape, Spread
from bankSim.scenario.record import Scenario
from bankSim.sim.engine import Engine
from bankSim.study.drawn_bank import drawn_bank
from bankSim.study.draws import columns_of, drawn_values
from bankSim.study.ensemble import STUDY_TOLERANCE, Ensemble
from bankSim.study.fields import Field
from bankSim.study.given_effects import scaled_capacity, scaled_pairs
from bankSim.study.uniforms import uniforms
from bankSim.study.unknown import Effect, Kind, Unknown
from benchmarks.banks import pair
from benchmarks.hybrid import hybrid
from benchmarks.show import Table, percent, plain
from benchmarks.timing import sum_up

COLUMNS = (
    "bank", "draws", "threads", "draws a second", "noise", "single runs a second, 1 core",
    "share of ideal", "worst error of Ah in 50 draws",
)  # fmt: skip
REFERENCE = 1e-8
CHECKED = 50


def draws_table(size, rounds, count):
    """Return the table, and a line on what is compared.

    Parameters
    ----------
    size : float
        1 for the whole banks.
    rounds : int
    count : int
        Draws of the plain bank; a tenth of them of the others.
    """
    banks = {
        "two batteries, 54 h": (pair(size), count),
        "hybrid day, two batteries": (two_of_hybrid(size / 3.0), max(count // 10, CHECKED)),
        "hybrid day, four batteries": (hybrid(size / 3.0), max(count // 10, CHECKED)),
    }
    rows = []
    for name, (bank, draws) in banks.items():
        rows += _rows(name, bank, draws, rounds)
    lines = [
        f"Relative tolerance {STUDY_TOLERANCE:g}; errors against {REFERENCE:g}. Ideal: threads x "
        "single marches a second of the same draws, without packing them into arrays.",
    ]
    return Table("Draws of a study", COLUMNS, rows), lines


def two_of_hybrid(size):
    """The first two batteries of the bank that lives, with half of its loads and chargers."""
    bank = hybrid(size)
    loads = tuple(replace(load, profile_amount=0.5 * load.profile_amount) for load in bank.loads)
    sun, mains = bank.chargers
    chargers = (
        replace(sun, sun=replace(sun.sun, peak_W=0.5 * sun.sun.peak_W)),
        replace(mains, limit_A=0.5 * mains.limit_A),
    )
    return replace(bank, batteries=bank.batteries[:2], loads=loads, chargers=chargers)


def unknowns_of(bank):
    """Capacity, resistance and charge of every cell, every lead, every load."""
    found = []

    def add(label, sd, *effects):
        spread = Spread(Shape.LOGNORMAL, 1.0, sd)
        found.append(Unknown(label, Kind.KEY, "", label, "", spread, effects, "invented"))

    cells = sum(len(one.cells) for one in bank.batteries)
    for cell in range(cells):
        add(f"capacity {cell}", 0.02, *scaled_capacity((cell,)))
        add(f"resistance {cell}", 0.05, Effect(Field.OHMIC, (cell,)), scaled_pairs((cell,)))
        add(f"charge {cell}", 0.01, Effect(Field.SOC, (cell,)))
    for battery in range(len(bank.batteries)):
        add(f"lead {battery}", 0.2, Effect(Field.LEAD, (battery,)))
    for load in range(len(bank.loads)):
        add(f"load {load}", 0.05, Effect(Field.LOAD, (load,)))
    return tuple(found)


def _rows(name, bank, draws, rounds):
    unknowns = unknowns_of(bank)
    ensemble = Ensemble(Scenario(name, bank), unknowns)
    chances = uniforms([one.label for one in unknowns], 1, 0, draws)
    values = drawn_values(unknowns, chances)
    error = _worst_error(bank, unknowns, values[:CHECKED], ensemble)
    singles, found = [], {1: [], 2: []}
    for _ in range(rounds):
        singles.append(_single_rate(bank, unknowns, values[:CHECKED]))
        for threads, rates in found.items():
            rates.append(_rate(ensemble, values, threads))
    single = sum_up(singles).seconds
    return [
        [
            name, str(draws), str(threads), plain(sum_up(rates).seconds),
            percent(sum_up(rates).spread), plain(single),
            percent(sum_up(rates).seconds / (threads * single)), f"{error:.1e}",
        ]
        for threads, rates in found.items()
    ]  # fmt: skip


def _rate(ensemble, values, threads):
    """Draws a second by the wall clock: threads gain nothing in processor time."""
    parts = np.array_split(values, 4 * threads)
    with ThreadPoolExecutor(threads) as executor:
        start = time.perf_counter()
        list(executor.map(ensemble.evaluate, parts))
        return len(values) / (time.perf_counter() - start)


def _single_rate(bank, unknowns, values):
    """Single marches a second, one after the other; the packing is not counted."""
    columns = columns_of(bank, unknowns, values)
    engines = [
        Engine(drawn_bank(bank, columns, draw), STUDY_TOLERANCE, keep_trace=False)
        for draw in range(len(values))
    ]
    start = time.perf_counter()
    for engine in engines:
        engine.finish()
    return len(engines) / (time.perf_counter() - start)


def _worst_error(bank, unknowns, values, ensemble):
    """Largest relative error of any battery's Ah in any of some draws."""
    columns = columns_of(bank, unknowns, values)
    table = ensemble.evaluate(values)
    worst = 0.0
    for draw in range(len(values)):
        engine = Engine(drawn_bank(bank, columns, draw), REFERENCE, keep_trace=False).finish()
        exact = engine.run.tally["out"] / 3600.0
        found = [table[f"{one.name}.delivered_Ah"][draw] for one in bank.batteries]
        worst = max(worst, float(np.max(np.abs(found - exact) / np.maximum(exact, 1e-3))))
    return worst
