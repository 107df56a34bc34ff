"""One voltage, read off a meter: what a gauge would show, and what may really be left."""

from dataclasses import dataclass

import numpy as np

from bankSim.measured.gauge import METER_V, load_points
from bankSim.measured.log import LogError
from bankSim.measured.voltage_table import VoltageTable


@dataclass(frozen=True, slots=True)
class Typed:
    """What one voltage says.

    Parameters
    ----------
    voltage_V, current_A : float
        Discharge positive.
    table, line : str
        The two gauges, in words; `line` is empty when there is none.
    reading_percent : float
        Of the table.
    line_percent : float or None
        Of a straight-line gauge.
    drop_V : float or None
        What the load takes off the rest voltage; None: not known, taken as 0.
    rest_V : float
        The voltage without it.
    low_percent, high_percent : float
        Remainders that agree with this voltage: load drop removed, every table and 10 mV of meter
        error allowed.
    points_per_10mV : float
    points_per_C10 : float or None
    sources : tuple of str
    """

    voltage_V: float
    current_A: float
    table: str
    line: str
    reading_percent: float
    line_percent: float | None
    drop_V: float | None
    rest_V: float
    low_percent: float
    high_percent: float
    points_per_10mV: float
    points_per_C10: float | None
    sources: tuple[str, ...]


def judge_typed(
    voltage_V: float,
    current_A: float,
    table: VoltageTable,
    line: VoltageTable | None,
    ohm: float | None,
    rated_Ah: float | None,
) -> Typed:
    """Return what a table shows at one voltage, and which remainders agree with it.

    Raises
    ------
    LogError
        When the voltage lies far outside the table: it is then of another battery.
    """
    low_V, high_V = float(table.voltage_V[0]), float(table.voltage_V[-1])
    if not 0.8 * low_V <= voltage_V <= 1.2 * high_V:
        raise LogError(
            f"--typed-voltage = {voltage_V:g}; expected near {low_V:.4g} to {high_V:.4g} V, the "
            "range of the table (does --cells-in-series fit?)"
        )
    drop_V = None if ohm is None else current_A * ohm
    rest_V = voltage_V + (drop_V or 0.0)
    low, high = table.band(np.array([rest_V - METER_V, rest_V + METER_V]))
    return Typed(
        voltage_V=voltage_V,
        current_A=current_A,
        table=table.name,
        line=line.name if line is not None else "",
        reading_percent=float(table.reading(np.asarray(voltage_V))),
        line_percent=None if line is None else float(line.reading(np.asarray(voltage_V))),
        drop_V=drop_V,
        rest_V=rest_V,
        low_percent=float(low[0]),
        high_percent=float(high[1]),
        points_per_10mV=METER_V * table.points_per_V(voltage_V, METER_V),
        points_per_C10=load_points(table, voltage_V, ohm, rated_Ah) if rated_Ah else None,
        sources=(*table.sources, *(line.sources if line is not None else ())),
    )
