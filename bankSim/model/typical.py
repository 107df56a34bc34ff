"""What a chemistry implies for whatever a file leaves open: typical values with their sources."""

import math
from collections.abc import Callable
from dataclasses import dataclass

from bankSim.model.cell import Cell, RelaxationPair
from bankSim.model.charge_lag import NO_LAG, ChargeLag
from bankSim.model.curve import Curve
from bankSim.model.rule import Rule

MONTH_S = 365.25 / 12.0 * 86_400.0


@dataclass(frozen=True, slots=True)
class Typical:
    """A value that a chemistry brings along.

    Parameters
    ----------
    name : str
        In words, as printed.
    value : float or str
        In `unit`.
    unit : str
        As printed; empty for words and ratios.
    source : str
        One line.
    """

    name: str
    value: float | str
    unit: str
    source: str


@dataclass(frozen=True, kw_only=True, eq=False)
class Material:
    """What is known of a chemistry even where its cells are given by tables only.

    Parameters
    ----------
    word : str
        As in the scenario file.
    nominal_V : float
        Of one cell. [V]
    Wh_per_kg : float
        Rated energy (rated Ah x nominal voltage) over the mass of a whole battery. [Wh/kg]
    specific_heat_J_kg_K : float
        Of a whole battery. [J/kg/K]
    mass_source : str
        Of the two values above.
    """

    word: str
    nominal_V: float
    Wh_per_kg: float
    specific_heat_J_kg_K: float
    mass_source: str


@dataclass(frozen=True, kw_only=True, eq=False)
class Sources:
    """Where the values come from that a file may override; one line each.

    Parameters
    ----------
    curve, ohmic, relaxation, hysteresis, internal : str
    rise : Typical
        How the ohmic resistance depends on the state of charge.
    wells : str
        Capacity factor, available fraction and rate; empty for plain coulomb counting.
    """

    curve: str
    ohmic: str
    relaxation: str
    rise: Typical
    internal: str
    hysteresis: str
    wells: str = ""


@dataclass(frozen=True, kw_only=True, eq=False)
class Chemistry(Material):
    """Typical cell, label limits and usual rules of a chemistry.

    Parameters
    ----------
    is_lithium : bool
    ocv_V, ohmic_factor : function without arguments, returns Curve
        Open-circuit voltage [V] and R0(z) over its value mid-way [1]; the same object each time.
    ohmic_ohm_Ah : float
        R0 mid-way x rated capacity, one cell at 25 degC. [ohm Ah]
    relaxation_ohm_Ah : tuple of (float, float)
        Resistance x rated capacity, and time constant, of each pair. [ohm Ah], [s]
    coulombic_efficiency, self_discharge_per_month : float
        [1]
    activation_J_mol : float
        [J/mol]
    discharge_per_h, charge_per_h : float
        Label limits over rated capacity. [1/h]
    internal_ohm_Ah : float
        Switches, straps and terminals x rated capacity, whole battery. [ohm Ah]
    lowest_safe_V, highest_safe_V : float
        Cell voltages outside which a cell is harmed. [V]
    highest_charge_V : float
        What a charger may hold, per cell. [V]
    may_not_charge_below_K : float or None
        [K]
    sources : Sources
    fixed : tuple of Typical
        What the file cannot change, to be listed.
    usual_rules : function of the continuous discharge limit in A, returns tuple of Rule
        Empty for batteries without electronics.
    capacity_per_rated : float
        Charge between state of charge 0 and 1 over the rated capacity, when new. [1]
    hysteresis_V, hysteresis_rate : float
        [V], [1]
    available_fraction, well_rate_per_h : float
        [1], [1/h]
    gassing_per_h : float
        Cell.gassing_A over rated capacity. [1/h]
    usable_part : Curve or None
        As Cell.usable_part.
    charge_ohm_from : float
        As Cell.charge_ohm_from. [1]
    charge_lag : ChargeLag
        As Cell.charge_lag, its resistance times the rated capacity [ohm Ah].
    """

    is_lithium: bool
    ocv_V: Callable[[], Curve]
    ohmic_factor: Callable[[], Curve]
    ohmic_ohm_Ah: float
    relaxation_ohm_Ah: tuple[tuple[float, float], ...]
    coulombic_efficiency: float
    self_discharge_per_month: float
    activation_J_mol: float
    discharge_per_h: float
    charge_per_h: float
    internal_ohm_Ah: float
    lowest_safe_V: float
    highest_safe_V: float
    highest_charge_V: float
    may_not_charge_below_K: float | None
    sources: Sources
    fixed: tuple[Typical, ...]
    usual_rules: Callable[[float], tuple[Rule, ...]]
    capacity_per_rated: float = 1.0
    hysteresis_V: float = 0.0
    hysteresis_rate: float = 100.0
    available_fraction: float = 1.0
    well_rate_per_h: float = 0.0
    gassing_per_h: float = 0.0
    usable_part: Curve | None = None
    charge_ohm_from: float = -math.inf
    charge_lag: ChargeLag = NO_LAG

    def typical_cell(
        self, rated_Ah: float, charge_C: float, resistance_factor: float = 1.0
    ) -> Cell:
        """Return a full cell of usual properties.

        Parameters
        ----------
        rated_Ah : float
            Label capacity; resistances scale with its inverse. [Ah]
        charge_C : float
            Charge between state of charge 0 and 1, now. [C]
        resistance_factor : float
            Resistance now over resistance when new. [1]

        Returns
        -------
        cell : Cell
            At state of charge 1.

        Source
        ------
        docs/theory.md, eq. 6.6.
        """
        scale = resistance_factor / rated_Ah
        return Cell(
            ocv_V=self.ocv_V(),
            ohmic_ohm=self.ohmic_factor().scaled(self.ohmic_ohm_Ah * scale),
            charge_C=charge_C,
            relaxation=tuple(
                RelaxationPair(ohm_Ah * scale, time_s) for ohm_Ah, time_s in self.relaxation_ohm_Ah
            ),
            hysteresis_V=self.hysteresis_V,
            hysteresis_rate=self.hysteresis_rate,
            coulombic_efficiency=self.coulombic_efficiency,
            standing_A=charge_C * self.self_discharge_per_month / MONTH_S,
            activation_J_mol=self.activation_J_mol,
            available_fraction=self.available_fraction,
            well_rate_per_s=self.well_rate_per_h / 3600.0,
            gassing_A=self.gassing_per_h * rated_Ah,
            usable_part=self.usable_part,
            charge_ohm_from=self.charge_ohm_from,
            charge_lag=self.charge_lag.scaled(scale),
        )
