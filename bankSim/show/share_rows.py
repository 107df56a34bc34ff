"""Rows to draw: what bank and batteries deliver (take, where there is no load), and when."""

from dataclasses import dataclass

from bankSim.kernels.arrays import Floats
from bankSim.show.figure_words import cases, middle_and_range
from bankSim.show.fitting import name_of
from bankSim.show.words import whole_or
from bankSim.study.answers import main_answer
from bankSim.study.spread import Band, SpreadResult

MOST_CUT_OUTS = 8
RARE = 0.01  # too few draws cut out to tell when


@dataclass(frozen=True, slots=True)
class Row:
    """One number of all draws.

    Parameters
    ----------
    name : str
    band : Band
    note : str
        Behind the number.
    label : float or None
        What the label says, in the unit of the band.
    """

    name: str
    band: Band
    note: str = ""
    label: float | None = None

    @property
    def words(self) -> str:
        """The number with its unit, and the note."""
        told = f"{middle_and_range(self.band)} {self.band.unit}"
        return f"{told}, {self.note}" if self.note else told

    @property
    def ends(self) -> list[float]:
        """Everything that is marked along the axis. In the unit of the axis."""
        own = (self.band.central, self.label, *(point.value for point in self.band.percentiles))
        return [value for value in own if value is not None]


def only_takes(result: SpreadResult) -> bool:
    """Tell whether there is no load, so that charge is what matters."""
    return not result.draws.plan.scenario.bank.loads


def bank_charge(result: SpreadResult) -> tuple[Floats, Band]:
    """Return what the bank delivers (takes) in all draws. [Ah]"""
    return main_answer(result.draws.plan.scenario.bank).of(result.draws), result.main


def charge_rows(result: SpreadResult) -> list[Row]:
    """Return what every battery delivers (takes), beside its label. [Ah]"""
    rows = []
    batteries = result.draws.plan.scenario.bank.batteries
    for one, battery in zip(result.batteries, batteries, strict=True):
        rated_Ah = battery.rated_C / 3600.0
        own = one.charged if only_takes(result) else one.delivered
        rows.append(Row(name_of(one.name), own, f"label {whole_or(rated_Ah, 4)}", rated_Ah))
    return rows


def hour_rows(result: SpreadResult) -> list[Row]:
    """Return for how long loads are fed, and when the likeliest batteries first cut out. [h]"""
    out = sorted(result.batteries, key=lambda one: -one.at_all.value)[:MOST_CUT_OUTS]
    rows = [
        Row(f"{name_of(one.name)} cuts out", one.cut_out_h, f"in {cases(one.at_all)}")
        for one in result.batteries
        if one in out and one.cut_out_h is not None and one.at_all.value >= RARE
    ]
    return rows if only_takes(result) else [Row("loads fed", result.runtime), *rows]
