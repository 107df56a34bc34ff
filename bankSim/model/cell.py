"""One cell: a voltage curve, a resistance, relaxation pairs, hysteresis, a charge."""

import math
from dataclasses import dataclass

import numpy as np

from bankSim.errors import ParameterError
from bankSim.model.charge_lag import NO_LAG, ChargeLag
from bankSim.model.curve import Curve, Floats

MOST_PAIRS = 3
DRAINED = 0.01  # of a state of charge; own choice


@dataclass(frozen=True, slots=True)
class RelaxationPair:
    """A resistor and capacitor in parallel, in series with the cell: dv/dt = (R I - v) / tau.

    Parameters
    ----------
    resistance_ohm : float
        R at 25 degC, >= 0. [ohm]
    time_constant_s : float
        tau > 0. [s]

    Source
    ------
    docs/theory.md, eq. 4.1.
    """

    resistance_ohm: float
    time_constant_s: float

    def __post_init__(self) -> None:
        if not 0.0 <= self.resistance_ohm < math.inf:
            raise ParameterError("resistance_ohm", self.resistance_ohm, "0 or more")
        if not 0.0 < self.time_constant_s < math.inf:
            raise ParameterError("time_constant_s", self.time_constant_s, "more than 0")


@dataclass(frozen=True, slots=True)
class Cell:
    """A series element: V = U(y) + M h - sum v_j - I R0(a, T), discharge current positive.

    dz/dt = -i / Q with i = I (charging: efficiency x I) + standing + gassing + balancing.
    Two wells (Manwell & McGowan, Solar Energy 50 (1993) 399): the available one holds the part c
    of the charge; with d the bound well's head above the available one's,
    dd/dt = i / (c Q) - k' d, and the available well's head is y = z - (1 - c) d. c = 1: y = z.
    Self-discharge s0 fades out from y = 0 to -DRAINED: no empty cell goes lower by itself.
    Cold: at usual rates only the part f(T) of the charge can be drawn. It is the resistance that
    rises earlier, read at a = 1 - (1 - y) / f(T); the voltage at rest stays. Gassing:
    G max(y - 1, 0).
    dh/dt = -|g I / Q| (h + sign I) (one-state hysteresis, Plett, J. Power Sources 134 (2004) 262).

    Parameters
    ----------
    ocv_V : Curve
        Open-circuit voltage U(z). [V]
    ohmic_ohm : Curve
        R0(z) at 25 degC, > = 0. [ohm]
    charge_C : float
        Q, the charge between state of charge 0 and 1, > 0. [C]
    state_of_charge : float
        z at the start. [1]
    relaxation : tuple of RelaxationPair
        0 to 3 pairs.
    hysteresis_V : float
        M, half the gap between the charge and the discharge branch, >= 0. [V]
    hysteresis_rate : float
        g > 0; the branch is 63 % followed after 1/g of the capacity. [1]
    coulombic_efficiency : float
        Share of the charging current that is stored, 0 < eta <= 1. [1]
    standing_A : float
        Self-discharge as a current, >= 0. [A]
    activation_J_mol : float
        Arrhenius energy of all resistances; 0 means no temperature dependence. [J/mol]
    available_fraction : float
        c, 0 < c <= 1; 1 is plain coulomb counting. [1]
    well_rate_per_s : float
        k' >= 0; has no meaning where c is 1. [1/s]
    gassing_A : float
        G >= 0, current lost per unit of state of charge beyond full in the available well. [A]
    usable_part : Curve or None
        f over the temperature in K, > 0; None means 1. [1]
    charge_ohm_from : float
        On charge R0 is read at this a or above it: its rise near empty hinders discharge only.
        Minus infinity: it hinders both. [1]
    charge_lag : ChargeLag
        By how much more a charging current drives the first relaxation pair than a discharging
        one; without a pair it has no meaning.

    Source
    ------
    docs/theory.md, eq. 2.1, 2.2, 2.4, 2.5, 2.6, 2.7, 4.4, 6.1, 6.4.
    """

    ocv_V: Curve
    ohmic_ohm: Curve
    charge_C: float
    state_of_charge: float = 1.0
    relaxation: tuple[RelaxationPair, ...] = ()
    hysteresis_V: float = 0.0
    hysteresis_rate: float = 100.0
    coulombic_efficiency: float = 1.0
    standing_A: float = 0.0
    activation_J_mol: float = 0.0
    available_fraction: float = 1.0
    well_rate_per_s: float = 0.0
    gassing_A: float = 0.0
    usable_part: Curve | None = None
    charge_ohm_from: float = -math.inf
    charge_lag: ChargeLag = NO_LAG

    def __post_init__(self) -> None:
        if not 0.0 < self.charge_C < math.inf:
            raise ParameterError("charge_C", self.charge_C, "more than 0")
        if not 0.0 <= self.state_of_charge <= 1.0:
            raise ParameterError("state_of_charge", self.state_of_charge, "0 to 1")
        if len(self.relaxation) > MOST_PAIRS:
            raise ParameterError("relaxation", len(self.relaxation), f"at most {MOST_PAIRS} pairs")
        if not 0.0 <= self.hysteresis_V < math.inf:
            raise ParameterError("hysteresis_V", self.hysteresis_V, "0 or more")
        if not 0.0 < self.hysteresis_rate < math.inf:
            raise ParameterError("hysteresis_rate", self.hysteresis_rate, "more than 0")
        if not 0.0 < self.coulombic_efficiency <= 1.0:
            raise ParameterError("coulombic_efficiency", self.coulombic_efficiency, "0 < eta <= 1")
        if not 0.0 <= self.standing_A < math.inf:
            raise ParameterError("standing_A", self.standing_A, "0 or more")
        if not 0.0 < self.available_fraction <= 1.0:
            raise ParameterError("available_fraction", self.available_fraction, "0 < c <= 1")
        if not 0.0 <= self.well_rate_per_s < math.inf:
            raise ParameterError("well_rate_per_s", self.well_rate_per_s, "0 or more")
        if not 0.0 <= self.gassing_A < math.inf:
            raise ParameterError("gassing_A", self.gassing_A, "0 or more")
        if not self.charge_ohm_from <= 1.0:
            raise ParameterError("charge_ohm_from", self.charge_ohm_from, "at most 1")

    def ohm_read_at(self, a: Floats, current_A: Floats | float) -> Floats:
        """Return where R0 is read at a place a, for a current; discharge positive. [1]

        Parameters
        ----------
        a, current_A : array
            One current for all, too. [1], [A]

        Source
        ------
        docs/theory.md, eq. 6.7.
        """
        return np.where(current_A < 0.0, np.maximum(a, self.charge_ohm_from), a)

    def ohm_at(self, head: float, temperature_K: float, *, into: bool = False) -> float:
        """Return R0 at a head of the available well and a temperature. [ohm]

        Parameters
        ----------
        head : float
            y. [1]
        temperature_K : float
            [K]
        into : bool
            For a current that charges it.

        Source
        ------
        docs/theory.md, eq. 6.2, 6.4.
        """
        part = 1.0 if self.usable_part is None else float(self.usable_part(temperature_K))
        read_at = self.ohm_read_at(np.array(1.0 - (1.0 - head) / part), -1.0 if into else 1.0)
        factor = arrhenius_factor(self.activation_J_mol, temperature_K)
        return float(self.ohmic_ohm(read_at)) * factor


GAS_CONSTANT_J_MOL_K = 8.314462618  # CODATA 2018, exact
REFERENCE_K = 298.15
ZERO_C_K = 273.15


def arrhenius_factor(activation_J_mol: float, temperature_K: float) -> float:
    """R(T) / R(25 degC) = exp(Ea / Rg (1/T - 1/298.15)).

    Parameters
    ----------
    activation_J_mol : float
        Ea. [J/mol]
    temperature_K : float
        T > 0. [K]

    Returns
    -------
    factor : float
        1 at 25 degC, larger in the cold. [1]

    Source
    ------
    docs/theory.md, eq. 6.3.
    """
    return math.exp(activation_J_mol / GAS_CONSTANT_J_MOL_K * (1 / temperature_K - 1 / REFERENCE_K))
