"""What a run gives back: events, totals per battery, the timeline, cautions."""

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from bankSim.model.curve import Floats
from bankSim.scenario.record import Scenario
from bankSim.sim.balancing_result import BalancerGain
from bankSim.sim.joining_result import Joining, Return

if TYPE_CHECKING:
    import pandas as pd

TRIP = "trip"
RELEASE = "release"
COLLAPSE = "load cannot be fed"
REFUSED = "charge not accepted"
STAYS_OUT = "stays out"
MAY_RETURN = "may return"
LOAD_OFF = "load cut off"
LOAD_ON = "load restarts"
LOAD_STAYS_OFF = "load stays off"
STAGE = "charger stage"
HEATER_ON = "heater on"
HEATER_OFF = "heater off"
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
        `TRIP`, `RELEASE` and the other words above.
    battery : str or None
        Name; None when it concerns no single battery.
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
    source : str or None
        Name of the load or charger that it concerns.
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
    source: str | None = None

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
        Of what can be drawn at once: the available well, at its temperature. [1]
    charged_Wh : float
        Energy that entered at the terminals while charging. [Wh]
    hiccups : int
        Returns after which it was blocked again within the hour, before 1 % of the label had
        passed.
    above_discharge_label_s, above_charge_label_s : float
        Time above the label limits. [s]
    coldest_C, warmest_C : float
        Its temperature over the run. [degC]
    charged_below_freezing_Ah : float
        [Ah]
    lead_loss_Wh : float
        Heat in its lead. [Wh]
    self_discharge_Ah : float
        Mean over cells: standing draw and gassing. [Ah]
    balanced_Ah : float
        Mean over cells of what the balancer took away; a transfer balancer moves without taking.
        [Ah]
    efficiency : float or None
        Energy given over energy put in, counting what the cells hold more or less in the end; None
        while nothing was charged or given. [1]
    blocked : str or None
        What is blocked at the end: "discharge", "charge", "both" or nothing.
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
    charged_Wh: float = 0.0
    hiccups: int = 0
    above_discharge_label_s: float = 0.0
    above_charge_label_s: float = 0.0
    coldest_C: float = 25.0
    warmest_C: float = 25.0
    charged_below_freezing_Ah: float = 0.0
    lead_loss_Wh: float = 0.0
    self_discharge_Ah: float = 0.0
    balanced_Ah: float = 0.0
    efficiency: float | None = None
    blocked: str | None = None


@dataclass(frozen=True, slots=True)
class ChargerOutcome:
    """Totals of one charger.

    Parameters
    ----------
    name : str
    delivered_Ah, delivered_Wh : float
        [Ah], [Wh]
    peak_A : float
        [A]
    """

    name: str
    delivered_Ah: float
    delivered_Wh: float
    peak_A: float


@dataclass(frozen=True, slots=True)
class EnergyLedger:
    """Where the energy of a run came from and went, of all batteries together. [Wh]

    cells + chargers + fed_back = loads + all losses, up to `residual`.

    Parameters
    ----------
    cells_Wh : float
        Given by the cells' chemistry; negative when they store more than they give.
    chargers_Wh, fed_back_Wh : float
        From chargers, and from loads of negative amount.
    loads_Wh : float
    ohmic_Wh, polarisation_Wh, charging_Wh, self_discharge_Wh, balancers_Wh, diodes_Wh : float
        Lost inside the batteries: resistances; relaxation and hysteresis; charge that is not
        stored; standing draw and gassing; balancers; body diodes.
    leads_Wh : float
        Lost in leads, links and main.
    residual_Wh : float
    """

    cells_Wh: float
    chargers_Wh: float
    fed_back_Wh: float
    loads_Wh: float
    ohmic_Wh: float
    polarisation_Wh: float
    charging_Wh: float
    self_discharge_Wh: float
    balancers_Wh: float
    diodes_Wh: float
    leads_Wh: float
    residual_Wh: float


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
        What was found, in a plain sentence or two.
    advice : str
        What to do about it.
    """

    topic: str
    severity: str
    value: float | None
    limit: float | None
    unit: str
    text: str
    advice: str = ""


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
        Until the loads could no longer be fed; where every load cut itself off without a way back,
        until the last one had; or the end. [s]
    peak_A : float
        Largest current through the take-off, either way. [A]
    energy : EnergyLedger or None
    efficiency : float or None
        Of all batteries, as for one. [1]
    """

    delivered_Ah: float
    delivered_Wh: float
    charged_Ah: float
    lead_loss_Wh: float
    ledger_residual_Ah: float
    runtime_s: float
    peak_A: float = 0.0
    energy: EnergyLedger | None = None
    efficiency: float | None = None


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
    AFTER, END), bus voltage, bank current, voltage at the loads, then current, voltage, state of
    charge, temperature [K] and blocked directions (bits) of every battery, then the voltage of
    every cell, then the current of every charger. `joining` is None for a single battery; `returns`
    are the returns of batteries in the order of time; `balancing` is None without balancers.
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
    chargers: tuple[ChargerOutcome, ...] = ()
    joining: Joining | None = None
    returns: tuple[Return, ...] = ()
    balancing: BalancerGain | None = None

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
