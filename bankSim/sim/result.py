"""What a run gives back: events, totals per battery, the timeline, cautions."""

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from bankSim.model.curve import Floats
from bankSim.scenario.record import Scenario

if TYPE_CHECKING:
    import pandas as pd

TRIP = "trip"
COLLAPSE = "load cannot be fed"
REFUSED = "charge not accepted"
EMPTY = "bank empty"
ALL_OVER = "end of duration"


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happened at one instant; voltages and currents are those just before it.

    Parameters
    ----------
    time_s : float
        Since the start. [s]
    what : str
        `TRIP`, `COLLAPSE` or `REFUSED`.
    battery : str or None
        Name; None when it concerns the whole bank.
    watches : str or None
        What the rule watched, in the scenario file's words.
    cell : int or None
        The deciding cell, counted from 1; None when no single cell decides.
    value, threshold : float or None
        The watched value and its limit, in `unit`.
    unit : str
    blocks : str or None
        "discharge", "charge" or "both".
    bus_voltage_V : float
        At the take-off. [V]
    battery_voltage_V : float or None
        At the battery's own terminals. [V]
    cell_voltages_V : tuple of float or None
        Of that battery. [V]
    currents_A, currents_after_A : tuple of float
        Of every battery, discharge positive, just before and just after. [A]
    text : str
        One sentence for people.
    """

    time_s: float
    what: str
    battery: str | None
    watches: str | None
    cell: int | None
    value: float | None
    threshold: float | None
    unit: str
    blocks: str | None
    bus_voltage_V: float
    battery_voltage_V: float | None
    cell_voltages_V: tuple[float, ...] | None
    currents_A: tuple[float, ...]
    currents_after_A: tuple[float, ...]
    text: str = ""

    @property
    def cuts_out(self) -> bool:
        """Tell whether this event blocked the discharge of a battery."""
        return self.what == TRIP and self.blocks in ("discharge", "both")


@dataclass(frozen=True, slots=True)
class BatteryOutcome:
    """Totals of one battery over the run, at its terminals.

    Parameters
    ----------
    name : str
    rated_Ah : float
        Label capacity. [Ah]
    delivered_Ah, charged_Ah : float
        Charge that left and that entered, both >= 0. [Ah]
    delivered_Wh : float
        Energy that left at the terminals while discharging. [Wh]
    peak_discharge_A, peak_charge_A : float
        Largest currents, both >= 0. [A]
    share_at_start : float or None
        Its part of the bank current when current first flows. [1]
    stranded_Ah : float
        Mean over cells of what each still holds above the weakest cell, at the end. [Ah]
    remaining_Ah : float
        What the weakest cell still holds at the end. [Ah]
    final_state_of_charge : tuple of float
        Per cell. [1]
    first_cut_out : Event or None
        The first event that blocked its discharge.
    lowest_cell_voltage_V, highest_cell_voltage_V : float
        Of any of its cells, over the whole run. [V]
    lowest_state_of_charge, highest_state_of_charge : float
        The same. [1]
    """

    name: str
    rated_Ah: float
    delivered_Ah: float
    charged_Ah: float
    delivered_Wh: float
    peak_discharge_A: float
    peak_charge_A: float
    share_at_start: float | None
    stranded_Ah: float
    remaining_Ah: float
    final_state_of_charge: tuple[float, ...]
    first_cut_out: Event | None
    lowest_cell_voltage_V: float = 0.0
    highest_cell_voltage_V: float = 0.0
    lowest_state_of_charge: float = 0.0
    highest_state_of_charge: float = 1.0


@dataclass(frozen=True, slots=True)
class Caution:
    """Something a careful person would want to know before wiring this.

    Parameters
    ----------
    topic : str
        Short and stable, e.g. "discharge above label".
    severity : str
        "danger", "warning" or "note".
    value, limit : float or None
        In `unit`.
    unit : str
    text : str
        One or two sentences for people.
    """

    topic: str
    severity: str
    value: float | None
    limit: float | None
    unit: str
    text: str


@dataclass(frozen=True, slots=True)
class BankOutcome:
    """Totals of the bank; energies close: batteries' delivered = bank's + lead loss (no charging).

    Parameters
    ----------
    delivered_Ah, charged_Ah : float
        Through the take-off. [Ah]
    delivered_Wh : float
        At the loads. [Wh]
    lead_loss_Wh : float
        Lost between the batteries' terminals and the loads. [Wh]
    ledger_residual_Ah : float
        Largest gap between what a cell lost and what its battery's current says. [Ah]
    runtime_s : float
        Until the loads could no longer be fed, or the end. [s]
    peak_A : float
        Largest current through the take-off, either way. [A]
    """

    delivered_Ah: float
    delivered_Wh: float
    charged_Ah: float
    lead_loss_Wh: float
    ledger_residual_Ah: float
    runtime_s: float
    peak_A: float = 0.0


@dataclass(frozen=True, slots=True)
class Numerics:
    """How the run was solved: tolerances asked for and the work it took."""

    relative_tolerance: float
    absolute_tolerance_A: float
    steps: int
    rejected_steps: int
    forced_steps: int


@dataclass(frozen=True, eq=False)
class Result:
    """A finished run.

    `trace` has one row an instant: time [s], kind (see `bankSim.kernels.arrays`: GRID, BEFORE,
    AFTER, END), bus voltage, bank current, voltage at the loads, then current, voltage and state
    of charge of every battery, then the voltage of every cell.
    """

    scenario: Scenario
    end_time_s: float
    end_reason: str
    bank: BankOutcome
    batteries: tuple[BatteryOutcome, ...]
    events: tuple[Event, ...]
    cautions: tuple[Caution, ...]
    numerics: Numerics
    trace: Floats = field(repr=False)

    def summary(self) -> dict[str, Any]:
        """Return the run as plain dictionaries and lists, ready for JSON; no NaN inside."""
        from bankSim.sim.summary import summarise

        return summarise(self)

    def timeline(self, *, jumps: bool = False) -> "pd.DataFrame":
        """Return the timeline as a DataFrame, times in seconds, discharge current positive.

        Parameters
        ----------
        jumps : bool
            Also give the rows just before and just after every switching (for drawing);
            times then repeat.
        """
        from bankSim.sim.timeline import timeline_frame

        return timeline_frame(self, jumps=jumps)
