"""What a wiring drawing tells: sizes, resistances and names, as texts ready to be placed."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bankSim.model.bank import Bank, Layout
from bankSim.model.battery import Battery
from bankSim.model.charger import Charger
from bankSim.model.load import Load, Schedule
from bankSim.scenario.keys import ScenarioKeys
from bankSim.scenario.keys_battery import CableKeys
from bankSim.show.words import counted, whole_or
from bankSim.sim.numbers import listing, number

HALF = 0.5  # state of charge at which the usual voltage of a bank is read
SAME = 1e-9


@dataclass(frozen=True, slots=True)
class Cable:
    """A lead, a link or the main conductors.

    Parameters
    ----------
    resistance : str
        As in "2.00 mohm".
    copper : str
        As in "2 x 0.6 m, 35 mm2"; empty when not known.
    fuse : str
        As in "fuse 150 A"; empty when none is given.
    """

    resistance: str
    copper: str = ""
    fuse: str = ""

    @property
    def parts(self) -> list[str]:
        """The texts that are not empty."""
        return [part for part in (self.resistance, self.copper, self.fuse) if part]


@dataclass(frozen=True, slots=True)
class Source:
    """A battery as it is drawn.

    Parameters
    ----------
    name, chemistry : str
        The chemistry may be empty.
    label, holds : str
        As in "label 100 Ah" and "holds 84.0 Ah": what its weakest cell holds between 0 and 1;
        "drawn slowly" where part of it comes to hand only in time, as in lead-acid.
    cells : int
    series : str
        As in "4 cells in series".
    lead : Cable
    """

    name: str
    chemistry: str
    label: str
    holds: str
    cells: int
    series: str
    lead: Cable

    @property
    def series_shortly(self) -> str:
        """As in "4 cells"; empty for a battery given as one element."""
        return counted(self.cells, "cell") if self.cells > 1 or self.chemistry else ""


@dataclass(frozen=True, slots=True)
class User:
    """A load or a charger: its name and its size."""

    name: str
    size: str


@dataclass(frozen=True, slots=True)
class Facts:
    """Everything that stands in a drawing of a bank.

    Parameters
    ----------
    layout : Layout
    sources : tuple of Source
        In file order, as along a row.
    link : Cable or None
        One rail, between neighbours; None where there are none.
    main : Cable
    loads, chargers : tuple of User
    """

    layout: Layout
    sources: tuple[Source, ...]
    link: Cable | None
    main: Cable
    loads: tuple[User, ...]
    chargers: tuple[User, ...]

    @property
    def minus_at_last(self) -> bool:
        """Tell whether minus is taken off at the last battery, and plus at the first."""
        return self.layout is Layout.OPPOSITE_ENDS and len(self.sources) > 1

    @property
    def arrangement(self) -> str:
        """The layout in the words of the scenario file; leads that differ are not called equal."""
        if len(self.sources) == 1:
            return ""
        differ = len({source.lead.resistance for source in self.sources}) > 1
        equal = self.layout is Layout.EQUAL_LEADS
        return "own leads, not equal" if equal and differ else self.layout.value


def wiring_facts(bank: Bank, keys: ScenarioKeys | None = None) -> Facts:
    """Gather what is drawn.

    Parameters
    ----------
    bank : Bank
    keys : ScenarioKeys, optional
        What the file says; lengths of cables are nowhere else.
    """
    wiring, volts = bank.wiring, usual_voltage_V(bank)
    row = wiring.layout is not Layout.EQUAL_LEADS and len(bank.batteries) > 1
    link = _cable(wiring.link_ohm, keys.wiring.link if keys else None, wiring.link_area_mm2, 1)
    main_keys = keys.wiring.main if keys else None
    leads = _lead_keys(bank, keys)
    return Facts(
        layout=wiring.layout,
        sources=tuple(map(_source, bank.batteries, leads)),
        link=link if row else None,
        main=_cable(wiring.main_ohm, main_keys, wiring.main_area_mm2, 2, wiring.main_fuse_A),
        loads=tuple(User(one.name, load_size(one, volts)) for one in bank.loads),
        chargers=tuple(User(one.name, charger_size(one)) for one in bank.chargers),
    )


def _lead_keys(bank: Bank, keys: ScenarioKeys | None) -> Sequence[CableKeys | None]:
    if keys is None or len(keys.battery) != len(bank.batteries):
        return [None] * len(bank.batteries)
    return [battery.lead for battery in keys.battery]


def _source(battery: Battery, lead: CableKeys | None) -> Source:
    cells = len(battery.cells)
    weakest_Ah = min(cell.charge_C for cell in battery.cells) / 3600.0
    slow = any(cell.available_fraction < 1.0 for cell in battery.cells)  # less comes out in 20 h
    one = "1 cell" if battery.chemistry else "given as one element"
    return Source(
        name=battery.name,
        chemistry=battery.chemistry or "",
        label=f"label {whole_or(battery.rated_C / 3600.0, 4)} Ah",
        holds=f"holds {whole_or(weakest_Ah, 4)} Ah{' drawn slowly' * slow}",
        cells=cells,
        series=one if cells == 1 else f"{cells} cells in series",
        lead=_cable(battery.lead_ohm, lead, battery.lead_area_mm2, 2, battery.fuse_A),
    )


def _cable(
    ohm: float,
    keys: CableKeys | None,
    area_mm2: float | None,
    conductors: int,
    fuse_A: float | None = None,
) -> Cable:
    times = f"{conductors} x " if conductors > 1 else ""
    length = f"{times}{whole_or(float(keys.length_m))} m" if keys else ""
    area = f"{whole_or(area_mm2, 4)} mm2" if area_mm2 is not None else ""
    fuse = f"fuse {whole_or(fuse_A, 4)} A" if fuse_A is not None else ""
    return Cable(mohm(ohm), ", ".join(part for part in (length, area) if part), fuse)


def mohm(ohm: float) -> str:
    """Return a resistance as it stands in drawings: "2.00 mohm"."""
    return f"{number(1e3 * ohm)} mohm"


def usual_voltage_V(bank: Bank) -> float:  # noqa: N802 - the unit as printed
    """Return the mean voltage of the batteries at rest and half full. [V]"""
    return float(np.mean([sum(cell.ocv_V(HALF) for cell in one.cells) for one in bank.batteries]))


def load_size(load: Load, volts: float) -> str:
    """Say how much a load draws while it is on, and how.

    Parameters
    ----------
    load : Load
    volts : float
        At which loads are told that are neither a power nor a current. [V]
    """
    low, high = float(load.profile_amount.min()), float(load.profile_amount.max())
    told = _amount(load, low, high, volts)
    changes = "by a table" if high - low > SAME * max(abs(high), abs(low)) else ""
    return ", ".join(part for part in (told, changes, _hours(load.schedule)) if part)


def _amount(load: Load, low: float, high: float, volts: float) -> str:
    if load.exponent == 1.0:
        return _range(low, high, "A")
    if load.exponent == 0.0:
        return _range(low, high, "W")
    if load.exponent == 2.0 and low == high > 0.0:
        return f"{number(1.0 / high)} ohm"
    scale = volts**load.exponent
    return f"{_range(low * scale, high * scale, 'W')} at {number(volts)} V"


def _range(low: float, high: float, unit: str) -> str:
    """What is drawn, and what is fed into the bank: that is a negative amount."""
    same = high - low <= SAME * max(abs(high), abs(low))
    if low >= 0.0:
        return f"{whole_or(high)} {unit}" if same else f"{whole_or(low)} to {whole_or(high)} {unit}"
    fed = f"feeds {'' if same else 'up to '}{whole_or(-low)} {unit}"
    return f"{fed}, draws up to {whole_or(high)} {unit}" if high > 0.0 else fed


def _hours(schedule: Schedule) -> str:
    parts = []
    if schedule.duty_s is not None:
        on, off = (whole_or(part / 60.0) for part in schedule.duty_s)
        parts.append(f"{on} min on, {off} min off")
    if schedule.active_s is not None or schedule.daily_s is not None:
        parts.append("at set hours")
    return ", ".join(parts)


def charger_size(charger: Charger) -> str:
    """Say how much a charger gives at most, and which voltages it holds."""
    if charger.limit_A is not None:
        most = f"{whole_or(charger.limit_A)} A"
    elif charger.limit_W is not None:
        most = f"{whole_or(charger.limit_W)} W"
    else:
        most = f"sun, {whole_or(charger.sun.peak_W)} W at noon" if charger.sun else ""
    holds = listing([f"{stage.hold_V:.2f}" for stage in charger.stages], 3)
    hours = _hours(charger.schedule)
    return ", ".join(part for part in (most, f"holds {holds} V", hours) if part)
