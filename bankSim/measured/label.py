"""What a person knows of a battery before its logs are looked at: its label."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bankSim.measured.ends import FLOWS, drawn_Ah
from bankSim.measured.log import Log, LogError
from bankSim.model.chemistry import CHEMISTRIES, chemistry_of
from bankSim.scenario.glossary import QUANTITIES
from bankSim.sim.numbers import listing

FLAT_LFP_V = (3.15, 3.36)  # where most of a discharge of an LFP cell lies
LEAD_V = (1.85, 2.09)  # the same of a lead-acid cell; own choice
CELL_V = (1.5, 4.4)
MOST_CELLS = 32
RATED = QUANTITIES["rated_capacity_Ah"]
LEAD_CELLS = (1, 2, 3, 4, 6, 12, 18, 24)  # of batteries of 2 to 48 V that are sold


@dataclass(frozen=True, slots=True)
class Label:
    """Name, chemistry, cells in series and rated capacity of a battery.

    Parameters
    ----------
    name : str
    chemistry : str or None
        Word of the scenario file; None for cells given by their own table only.
    cells_in_series : int
    rated_Ah : float
        [Ah]
    guessed : tuple of str
        A sentence for each of them that was not given.
    rated_guessed : bool
        `rated_Ah` is the largest charge of a log, not that of the label.
    """

    name: str
    chemistry: str | None
    cells_in_series: int
    rated_Ah: float
    guessed: tuple[str, ...] = ()
    rated_guessed: bool = False


def label_of(
    logs: Sequence[Log],
    name: str,
    chemistry: str | None = None,
    cells_in_series: int | None = None,
    rated_Ah: float | None = None,
) -> Label:
    """Return the label, with what was not given taken from the logs and told.

    Raises
    ------
    LogError
        If a value makes no sense, or cannot be guessed.
    """
    if chemistry is not None and chemistry_of(chemistry) is None:
        words = listing(list(CHEMISTRIES))
        raise LogError(f"--chemistry = {chemistry!r}; expected one of: {words}")
    if cells_in_series is not None and not 1 <= cells_in_series <= MOST_CELLS:
        raise LogError(f"--cells-in-series = {cells_in_series}; expected 1 to {MOST_CELLS}")
    allowed = f"expected {RATED.lowest:g} to {RATED.highest:g}"
    if rated_Ah is not None and not RATED.lowest <= rated_Ah <= RATED.highest:
        raise LogError(f"--rated-Ah = {rated_Ah:g}; {allowed}")
    guessed: list[str] = []
    cells = cells_in_series or _cells(logs, chemistry, guessed)
    word = chemistry or _chemistry(logs, cells, guessed)
    charge = max(drawn_Ah(log) for log in logs)
    if rated_Ah is None and not RATED.lowest <= charge <= RATED.highest:
        raise LogError(
            f"{logs[0].file}: {charge:.3g} Ah at most in a discharge; {allowed}: are units in its "
            "headers (mA or A, s or h)? `banksim log` shows what was taken for what"
        )
    if rated_Ah is None:
        guessed.append(
            f"No --rated-Ah: the largest charge of a log stands in for the label, {charge:.4g} Ah."
        )
    return Label(name, word, cells, rated_Ah or charge, tuple(guessed), rated_Ah is None)


def _middle_V(logs: Sequence[Log]) -> float:  # noqa: N802 - the unit as printed
    """Return the voltage in the middle of a discharge: neither a long rest nor a charge is it."""
    for sign in (1.0, -1.0):
        loaded = [log.voltage_V[sign * log.current_A > FLOWS * _largest_A(log)] for log in logs]
        found = np.concatenate(loaded)
        if found.size:
            return float(np.median(found))
    return float(np.median(logs[0].voltage_V))


def _largest_A(log: Log) -> float:  # noqa: N802 - the unit as printed
    return float(np.abs(log.current_A).max(initial=0.0))


def _cells(logs: Sequence[Log], chemistry: str | None, guessed: list[str]) -> int:
    """Return the number of cells: columns of the log, or the voltage over that of one cell."""
    counts = {log.cells_V.shape[1] for log in logs if log.cells_V.shape[1] > 0}
    if len(counts) == 1:
        return int(counts.pop())
    middle_V = _middle_V(logs)
    known = chemistry_of(chemistry)
    if known is not None:
        cells = _nearest(middle_V / known.nominal_V, known.is_lithium)
    elif CELL_V[0] <= middle_V <= CELL_V[1]:
        cells = 1
    else:
        cells = round(middle_V / 3.25)
        each = middle_V / max(cells, 1)
        if not FLAT_LFP_V[0] <= each <= FLAT_LFP_V[1] or _fits_lead(middle_V):
            raise LogError(
                f"{logs[0].file}: {middle_V:.4g} V may be lithium or lead; say --chemistry and "
                "--cells-in-series"
            )
    guessed.append(f"No --cells-in-series: {cells} taken, from {middle_V:.4g} V in the middle.")
    return cells


def _fits_lead(middle_V: float) -> bool:
    """Tell whether the middle of a discharge may be that of lead-acid as well: 48.8 V."""
    return any(LEAD_V[0] <= middle_V / cells <= LEAD_V[1] for cells in LEAD_CELLS)


def _nearest(cells: float, lithium: bool) -> int:
    """Return a number of cells that is built: any of lithium, few of lead."""
    if lithium:
        return max(1, round(cells))
    return nearest_lead_cells(max(cells, 0.5))


def nearest_lead_cells(cells: float) -> int:
    """Return the number of lead cells in a battery that is nearest by ratio; `cells` > 0. [1]"""
    return min(LEAD_CELLS, key=lambda one: abs(np.log(one / cells)))


def _chemistry(logs: Sequence[Log], cells: int, guessed: list[str]) -> str:
    middle_V = _middle_V(logs) / cells
    if FLAT_LFP_V[0] <= middle_V <= FLAT_LFP_V[1]:
        guessed.append(
            f"No --chemistry: LFP taken, since a cell stands at {middle_V:.3f} V in the middle."
        )
        return "LFP"
    raise LogError(
        f"{logs[0].file}: {middle_V:.3f} V a cell does not tell the chemistry; say --chemistry "
        f"({listing(list(CHEMISTRIES))})"
    )
