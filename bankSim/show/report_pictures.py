"""The figures of a report: PNG inside the page, each with a caption and a text for no picture."""

from base64 import b64encode
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from bankSim.show.causes import cut_outs
from bankSim.show.files import png_of
from bankSim.show.outcomes import LONGEST_NAME
from bankSim.show.study_words import of_100, range_of
from bankSim.show.words import volts, whole_or
from bankSim.sim.numbers import after, clean, listing, number, quoted, span
from bankSim.sim.result import BatteryOutcome, Result
from bankSim.study.spread import SpreadResult

if TYPE_CHECKING:
    from matplotlib.figure import Figure

DOTS_PER_INCH = 180.0
PAGE_DOTS = 96.0  # px of a page per inch
MOST_NAMED = 8
TALL = 0.85  # of the width


@dataclass(frozen=True, slots=True)
class Picture:
    """A figure of the page.

    Parameters
    ----------
    name : str
        Short, from this program; the file in the zip is called after it.
    caption, alt : str
        What to look at; what it shows, for those who do not see it.
    png : bytes
    width_px, height_px : int
        On the page. [px]
    """

    name: str
    caption: str
    alt: str
    png: bytes
    width_px: int
    height_px: int

    @property
    def data(self) -> str:
        """The picture as an address that holds it."""
        return f"data:image/png;base64,{b64encode(self.png).decode('ascii')}"

    @property
    def is_tall(self) -> bool:
        """Tell whether it wants a page of its own in print."""
        return self.height_px > TALL * self.width_px


def run_pictures(result: Result) -> dict[str, Picture]:
    """Draw every figure of a run, by its short name."""
    from bankSim.show.figures import all_figures

    return _pictures(all_figures(result), CAPTIONS, lambda name: RUN_ALTS[name](result))


def spread_pictures(spread: SpreadResult) -> dict[str, Picture]:
    """Draw every figure of the draws, by its short name."""
    from bankSim.show.study_figures import study_figures

    return _pictures(study_figures(spread), CAPTIONS, lambda name: SPREAD_ALTS[name](spread))


def _pictures(
    figures: "Mapping[str, Figure]", captions: Mapping[str, str], alt: Callable[[str], str]
) -> dict[str, Picture]:
    found = {}
    for name, figure in figures.items():
        wide, high = (round(PAGE_DOTS * float(inches)) for inches in figure.get_size_inches())
        png = png_of(figure, DOTS_PER_INCH)
        found[name] = Picture(name, captions[name], clean(alt(name)), png, wide, high)
    return found


CAPTIONS = {
    "lanes": "Bus voltage, all loads, and what each battery does at any time.",
    "current": "Current of each battery; above 0 it gives, below 0 it takes.",
    "voltage": "Voltage at the take-off, with the cut-outs marked.",
    "cells": "Cell voltages around what switched: the cell in colour is first at its limit.",
    "temperature": "Temperature of the batteries.",
    "charge": "What each battery gave or holds, and what stays behind.",
    "fan": "What the draws do over time: the median, and where half and 9 of 10 of them lie.",
    "chances": "Who cuts out first, which cell decides, and which cautions come up, in 100 cases.",
    "shares": "What the bank and each battery give, and when they cut out, over all draws.",
}


def _each(result: Result, tell: Callable[[BatteryOutcome], str]) -> str:
    told = [f"{quoted(one.name)} {tell(one)}" for one in result.batteries]
    return listing(told, MOST_NAMED)


def _lanes(result: Result) -> str:
    outs = [f"{quoted(e.battery or '')} {after(e.time_s)}" for e in cut_outs(result)]
    told = f"First cut-outs: {listing(outs, MOST_NAMED)}." if outs else "No battery cuts out."
    return f"One row a battery over {span(result.end_time_s)}. {told}"


def _current(result: Result) -> str:
    peaks = _each(result, lambda one: f"gives up to {number(one.peak_discharge_A)} A")
    return f"Lines of current over time: {peaks}."


def _voltage(result: Result) -> str:
    bus = result.timeline()["bank.voltage_V"].dropna()
    if bus.empty:
        return "Bus voltage over time."
    ends = f"{volts(float(bus.iloc[0]))} at the start, {volts(float(bus.iloc[-1]))} at the end"
    return f"Bus voltage over time: {ends}, lowest {volts(float(bus.min()))}."


def _cells(result: Result) -> str:
    lows = _each(result, lambda one: f"{volts(one.lowest_cell_voltage_V)}")
    return f"Cell voltages before and after cut-outs; lowest of any cell: {lows}."


def _temperature(result: Result) -> str:
    ranges = _each(result, lambda one: f"{number(one.coldest_C)} to {number(one.warmest_C)} degC")
    return f"Battery temperatures over time: {ranges}."


def _charge(result: Result) -> str:
    told = _each(
        result,
        lambda one: (
            f"gave {number(one.delivered_Ah)} of {whole_or(one.rated_Ah, 4)} Ah, "
            f"{number(one.stranded_Ah)} Ah stranded"
        ),
    )
    return f"Charge of each battery: {told}."


def _fan(spread: SpreadResult) -> str:
    hours = range_of(spread.runtime)
    return f"Bands of voltage and currents over time; the loads are fed for {hours}."


def _chances(spread: SpreadResult) -> str:
    ranked = sorted(spread.batteries, key=lambda one: -one.first.value)
    told = [f"{clean(one.name, LONGEST_NAME)}: {of_100(one.first)}" for one in ranked[:MOST_NAMED]]
    return f"Bars of chances. Cuts out first: {'; '.join(told)}."


def _shares(spread: SpreadResult) -> str:
    word = "takes in" if spread.main is spread.charged else "delivers"
    return f"Bars of how often each amount comes: the bank {word} {range_of(spread.main)}."


RUN_ALTS: dict[str, Callable[[Result], str]] = {
    "lanes": _lanes,
    "current": _current,
    "voltage": _voltage,
    "cells": _cells,
    "temperature": _temperature,
    "charge": _charge,
}
SPREAD_ALTS: dict[str, Callable[[SpreadResult], str]] = {
    "fan": _fan,
    "chances": _chances,
    "shares": _shares,
}
