"""What is kept of every draw: one table, columns named like those of the timeline."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bankSim.kernels import arrays as k
from bankSim.kernels.arrays import Floats, Ints
from bankSim.kernels.draws import (
    CUT_BATTERY_V,
    CUT_BUS_V,
    CUT_CELL,
    CUT_PLACE,
    CUT_RULE,
    CUT_TIME,
)
from bankSim.model.bank import Bank
from bankSim.model.load import Flags
from bankSim.sim.runtime import fed_s
from bankSim.study.pool import Pool

Table = Mapping[str, NDArray[np.generic]]
C_PER_AH, J_PER_WH, S_PER_H = 3600.0, 3600.0, 3600.0
DRAW, END = "draw", "end_status"
BANK_AH, CHARGED_AH = "bank.delivered_Ah", "bank.charged_Ah"
RUNTIME_H = "bank.runtime_h"
FIRST = "first_cut_out"  # number of the battery that cuts out first, from 1; NOBODY, TOGETHER
NOBODY, TOGETHER = 0, -1  # none cuts out; several do together, none before them
SAME_INSTANT_S, SAME_V = 1e-6, 1e-9  # as for rules that act together


def battery_column(name: str, what: str) -> str:
    """Return the name of a battery's column."""
    return f"{name}.{what}"


@dataclass(frozen=True, eq=False)
class Watched:
    """Which places of a pool are read at the end of every draw, and what they are.

    Parameters
    ----------
    places : array (w,)
    parts : dict
        From a name to its slice of what was read.
    """

    places: Ints
    parts: dict[str, slice]


def watch(pool: Pool) -> Watched:
    """Return what `tabulate` needs to read."""
    n, own = pool.bank.battery.size, pool.bank.rule["act"] == k.SHED
    wanted: list[tuple[str, Ints]] = [
        *((name, pool.places("tally", name)) for name in _TALLY),
        *((name, pool.places("clock", name)) for name in _CLOCK),
        ("soc", pool.places("moment")[:, k.SOC]),
        ("charge", pool.places("cell", "charge")),
        ("energy", pool.places("ledger")[2, n, [k.FROM_BANK]]),
        ("phase", pool.places("alarm", "phase")[own]),
        ("since", pool.places("alarm", "since")[own]),
        ("delay", pool.places("rule", "delay")[own]),
        ("lowest_V", pool.places("extreme")[:, k.LOWEST_V]),
        ("highest_V", pool.places("extreme")[:, k.HIGHEST_V]),
    ]
    parts, place = {}, 0
    for name, places in wanted:
        parts[name] = slice(place, place + places.size)
        place += places.size
    return Watched(np.concatenate([places for _, places in wanted]), parts)


_TALLY = ("out", "into", "peak_out", "peak_into", "coldest", "warmest")
_CLOCK = ("time", "fed_until", "bank_out", "bank_into", "bank_peak")


def tabulate(
    bank: Bank, first_draw: int, found: Floats, cuts: Floats, watched: Watched
) -> dict[str, NDArray[np.generic]]:
    """Return the table of some draws in a row.

    Parameters
    ----------
    bank : Bank
    first_draw : int
        Number of the first one.
    found : array (draws, 1 + w)
        Status, then what is watched. In SI.
    cuts : array (draws, n, 6)
        Both from `march_draws`. [s, V, counts]
    watched : Watched
    """
    part = {name: found[:, 1:][:, where] for name, where in watched.parts.items()}
    time = part["time"][:, 0]
    could_s, off_s = np.minimum(part["fed_until"][:, 0], time), part["since"] + part["delay"]
    phase = part["phase"].view(np.int64)  # whole numbers stand in a pool as their bits
    places = _places(cuts)
    table: dict[str, NDArray[np.generic]] = {
        DRAW: np.arange(first_draw, first_draw + len(found)),
        END: found[:, 0].astype(np.int8),
        BANK_AH: part["bank_out"][:, 0] / C_PER_AH,
        "bank.delivered_Wh": part["energy"][:, 0] / J_PER_WH,
        CHARGED_AH: part["bank_into"][:, 0] / C_PER_AH,
        RUNTIME_H: fed_s(bank, could_s, phase, off_s) / S_PER_H,
        "bank.end_h": time / S_PER_H,
        "bank.peak_A": part["bank_peak"][:, 0],
        FIRST: _first_out(places),
    }
    ends = np.cumsum([len(one.cells) for one in bank.batteries])
    for number, (battery, end) in enumerate(zip(bank.batteries, ends, strict=True)):
        cells = slice(end - len(battery.cells), end)
        held = part["soc"][:, cells] * part["charge"][:, cells] / C_PER_AH
        own = {
            "delivered_Ah": part["out"][:, number] / C_PER_AH,
            "charged_Ah": part["into"][:, number] / C_PER_AH,
            "peak_discharge_A": part["peak_out"][:, number],
            "peak_charge_A": part["peak_into"][:, number],
            "stranded_Ah": held.mean(axis=1) - held.min(axis=1),
            "remaining_Ah": held.min(axis=1),
            "lowest_cell_V": part["lowest_V"][:, number],
            "highest_cell_V": part["highest_V"][:, number],
            "cut_out_place": places[:, number],
            **_cut_out(cuts[:, number], end - len(battery.cells)),
        }
        table.update({battery_column(battery.name, name): one for name, one in own.items()})
    return table


def _cut_out(cut: Floats, first_cell: int) -> dict[str, NDArray[np.generic]]:
    """Columns of the first cut-out of one battery; 0: none.

    Rules count from 1 over all rules of the bank, cells from 1 in their battery.
    """
    cell = np.where(cut[:, CUT_CELL] < 0.0, -1.0, cut[:, CUT_CELL] - first_cell)
    none = np.isnan(cut[:, CUT_TIME])
    return {
        "cut_out_h": cut[:, CUT_TIME] / S_PER_H,
        "cut_out_rule": np.where(none, 0.0, cut[:, CUT_RULE] + 1.0).astype(np.int16),
        "cut_out_cell": np.where(none, 0.0, cell + 1.0).astype(np.int16),
        "cut_out_voltage_V": cut[:, CUT_BATTERY_V],
        "cut_out_bus_voltage_V": cut[:, CUT_BUS_V],
    }


def _places(cuts: Floats) -> NDArray[np.int16]:
    """Return every battery's place among the cut-outs of its draw, from 1; 0: it never cuts out.

    Those that act together, at the same instant on the same voltages, share a place; one that is
    pulled down by another at that instant comes behind it.
    """
    time, bus, order = (cuts[:, :, column] for column in (CUT_TIME, CUT_BUS_V, CUT_PLACE))
    together = _near(time, SAME_INSTANT_S) & _near(bus, SAME_V)
    behind = (order[:, None, :] < order[:, :, None]) & ~together
    places = np.where(np.isnan(time), 0, 1 + behind.sum(axis=2))
    return np.asarray(places, dtype=np.int16)


def _near(values: Floats, reach: float) -> Flags:
    """Tell which two of a row are that close; (draws, n, n)."""
    return np.asarray(np.abs(values[:, None, :] - values[:, :, None]) <= reach)


def _first_out(places: NDArray[np.int16]) -> NDArray[np.int16]:
    ahead = places == 1
    count, number = ahead.sum(axis=1), ahead.argmax(axis=1) + 1
    who = np.select([count == 0, count == 1], [NOBODY, number], TOGETHER)
    return np.asarray(who, dtype=np.int16)


def stacked(tables: Sequence[Table]) -> dict[str, NDArray[np.generic]]:
    """Return several tables as one, in the order given."""
    return {name: np.concatenate([table[name] for table in tables]) for name in tables[0]}
