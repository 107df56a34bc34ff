"""What a calibration may change about a battery, and how far from typical it may stray."""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from bankSim.measured.label import Label
from bankSim.measured.slow_curve import SlowCurve
from bankSim.model.cell import Cell, RelaxationPair
from bankSim.model.chemistry import Chemistry, chemistry_of
from bankSim.model.curve import Curve, Floats
from bankSim.model.upkeep import Thermal
from bankSim.scenario.build_thermal import usual_thermal

# Spreads before any log is looked at: our own choice, wide enough to let the logs speak.
CAPACITY_SD = 0.3  # of ln Q
OHMIC_SD = 0.7  # of ln R0
SHAPE_SD = 0.4  # of ln R0, between neighbouring states of charge
ALIKE_SHAPE_SD = 0.25  # ... where one current does not tell it from the voltage curve
PAIR_SD, TIME_SD = 0.7, 0.5  # of ln R and ln tau of relaxation pairs
WELL_SD, WELL_RATE_SD = 0.3, 0.5  # of logit c and ln k'
SHIFT_SD_V = 0.015  # of the whole voltage curve against a typical one
OFFSET_SD_V = 0.010  # ... of a stretch of it, beside that
SLOW_SD_V = 0.003  # ... of a measured slow curve, all of it and of a stretch: steps of the meter
END_OFFSET_SD_V = 0.040  # ... near full and near empty, where curves differ most
FOOT_SD_V = ((0.01, 0.15), (0.05, 0.06), (0.1, 0.04), (0.2, 0.02))  # ... below a state of charge,
# where one current leaves no other place for what the foot of a curve differs
START_SD = 0.004  # of the state of charge of a battery that was said to be full
LOOSE_START_SD = 0.05  # ... or anything else
CELL_CAPACITY_SD, CELL_START_SD, CELL_OHMIC_SD = 0.02, 0.01, 0.15  # of one cell against the mean
MOST_START_BELOW = 0.08  # of a full battery or cell

SHAPE_AT = np.array([0.0, 0.03, 0.06, 0.1, 0.15, 0.22, 0.3, 0.45, 0.7, 1.0])
MIDDLE = 0.45  # where the resistance itself is told
OFFSETS_AT = np.array([0.0, 0.03, 0.08, 0.15, 0.25, 0.4, 0.55, 0.7, 0.85, 0.94, 0.98, 1.0])
WHOLE_CURVE = "voltage curve, all of it"
RESISTANCE = "resistance"
CAPACITY = "capacity"
CURVE_AT = np.unique(
    np.concatenate([np.linspace(0.0, 0.12, 49), np.linspace(0.12, 0.95, 84),
                    np.linspace(0.95, 1.0, 26)])
)  # fmt: skip

BELOW_AT = np.concatenate(  # where the resistance of two wells ends a discharge
    [[-0.15, -0.1], np.linspace(-0.05, 0.0, 11)[:-1]]
)


@dataclass(frozen=True, slots=True)
class Parameter:
    """One number of the fit; 0 is the typical value.

    Parameters
    ----------
    name : str
        In words.
    sd : float
        Before the logs, of the number itself. [that of the number]
    low, high : float
        Where it may go. [that of the number]
    kind : str
        "ln": the quantity is typical x exp(number); "plain": typical + number; "logit".
    cell : int or None
        From 0; None for all cells.
    log : int or None
        From 0; the log that it belongs to, None for all.
    place : float or None
        State of charge, for those along a curve. [1]

    Source
    ------
    docs/theory.md, eq. 25.4.
    """

    name: str
    sd: float
    low: float = -np.inf
    high: float = np.inf
    kind: str = "ln"
    cell: int | None = None
    log: int | None = None
    place: float | None = None

    @property
    def along_curve(self) -> bool:
        """Whether it moves nothing but the voltage curve or the resistance of all cells."""
        return self.place is not None or self.name in (WHOLE_CURVE, RESISTANCE)


@dataclass(frozen=True, eq=False)
class Recipe:
    """Turns the numbers of a fit into cells.

    Parameters
    ----------
    label : Label
    typical : Cell
        Of the chemistry, with a first guess of the capacity, full.
    slow : SlowCurve or None
        Replaces the typical voltage curve.
    starts : tuple of (float, bool)
        State of charge at the start of each log, and whether it is known to be full. [1]
    each_cell : bool
        Cells differ, because their voltages were logged.
    mass_kg : float or None
        Of the battery; None: typical of the chemistry. [kg]
    fullest : int or None
        The log, from 0, whose start stands for 100 %, where no slow curve says which; None: the
        first that is surely full.
    given : tuple of int
        Which log each was when they were handed over, from 0; empty: in the same order.
    straps_ohm : float or None
        Between cells and terminals of the battery, where a log tells it: no resistance is less.
        None: usual of the chemistry, scaled with that of the cells. [ohm]
    separated : bool
        The logs tell resistance and voltage curve apart; one constant current does not.
    """

    label: Label
    typical: Cell
    slow: SlowCurve | None
    starts: tuple[tuple[float, bool], ...]
    each_cell: bool
    mass_kg: float | None = None
    fullest: int | None = None
    given: tuple[int, ...] = ()
    straps_ohm: float | None = None
    separated: bool = True

    @property
    def usual_straps_ohm(self) -> float:
        """What usually lies between cells and terminals of such a battery. [ohm]"""
        label = self.label
        if label.cells_in_series == 1:
            return 0.0
        return self.chemistry.internal_ohm_Ah / label.rated_Ah

    @property
    def thermal(self) -> Thermal:
        """Heat capacity and loss of the cells that are run."""
        label, chemistry = self.label, self.chemistry
        rated_Wh = label.rated_Ah * label.cells_in_series * chemistry.nominal_V
        mass_kg = self.mass_kg or rated_Wh / chemistry.Wh_per_kg
        whole = usual_thermal(mass_kg, chemistry.specific_heat_J_kg_K)
        part = self.cells / label.cells_in_series
        return Thermal(whole.capacity_J_K * part, whole.loss_W_K * part)

    @property
    def chemistry(self) -> Chemistry:
        """Of the label."""
        found = chemistry_of(self.label.chemistry)
        assert found is not None
        return found

    @property
    def cells(self) -> int:
        """How many are run in series."""
        return self.label.cells_in_series if self.each_cell else 1

    def parameters(self) -> tuple[Parameter, ...]:
        """Return all parameters, in the order of the numbers."""
        return self._parameters

    @cached_property
    def _parameters(self) -> tuple[Parameter, ...]:
        """Made once: every run of a fit asks for them."""
        wide = [] if self.slow else [Parameter(CAPACITY, CAPACITY_SD, -1.5, 1.5)]
        shape_sd = SHAPE_SD if self.separated else ALIKE_SHAPE_SD
        shape = [
            Parameter(f"resistance at {100 * z:g} %", shape_sd, -4.0, 4.0, place=float(z))
            for z in SHAPE_AT
            if z != MIDDLE
        ]
        pairs = [
            one
            for number in range(1, len(self.typical.relaxation) + 1)
            for one in (
                Parameter(f"relaxation {number}, resistance", PAIR_SD, -3.0, 3.0),
                Parameter(f"relaxation {number}, time", TIME_SD, -2.0, 2.0),
            )
        ]
        wells = []
        if self.typical.available_fraction < 1.0:
            wells = [
                Parameter("available part of the charge", WELL_SD, -3.0, 3.0, "logit"),
                Parameter("rate between the wells", WELL_RATE_SD, -3.0, 3.0),
            ]
        offsets = [
            Parameter(WHOLE_CURVE, SLOW_SD_V if self.slow else SHIFT_SD_V, -0.2, 0.2, "plain"),
            *(
                Parameter(f"voltage curve at {100 * z:g} %",
                          SLOW_SD_V if self.slow else self._offset_sd_V(float(z)), -0.3, 0.3,
                          "plain", place=float(z))
                for z in OFFSETS_AT
            ),
        ]  # fmt: skip
        return (
            *wide, Parameter(RESISTANCE, OHMIC_SD, -3.0, 3.0), *shape, *pairs, *wells,
            *offsets, *self._starts(), *self._of_cells(),
        )  # fmt: skip

    def _offset_sd_V(self, z: float) -> float:  # noqa: N802 - the unit as printed
        if not self.separated:
            for below, sd_V in FOOT_SD_V:
                if z < below:
                    return sd_V
        return END_OFFSET_SD_V if z < 0.1 or z > 0.93 else OFFSET_SD_V

    def _starts(self) -> list[Parameter]:
        """A start that is not surely full is fitted; that of the full log is 1."""
        found = []
        for log, (start, full) in enumerate(self.starts):
            if log == self.full_log:
                continue
            sd = START_SD if full else LOOSE_START_SD
            low = -MOST_START_BELOW if full else -start
            name = self._start_of(log)
            found.append(Parameter(name, sd, low, 1e-9 + 1.0 - start, "plain", log=log))
        return found

    @property
    def full_log(self) -> int | None:
        """The log, from 0, whose start stands for 100 %; None where none is surely full."""
        if self.slow or self.fullest is not None:
            return self.slow.log if self.slow else self.fullest
        return next((log for log, (_, full) in enumerate(self.starts) if full), None)

    def _start_of(self, log: int) -> str:
        return f"start of log {(self.given[log] if self.given else log) + 1}"

    def _of_cells(self) -> list[Parameter]:
        if not self.each_cell:
            return []
        found = []
        for cell in range(self.cells):
            who = f"cell {cell + 1}"
            found += [
                Parameter(f"{who}, capacity", CELL_CAPACITY_SD, -0.5, 0.5, cell=cell),
                Parameter(f"{who}, charge", CELL_START_SD, -0.4, 0.0, "plain", cell=cell),
                Parameter(f"{who}, resistance", CELL_OHMIC_SD, -2.0, 2.0, cell=cell),
            ]
        return found

    def cells_of(self, numbers: Floats, log: int) -> tuple[Cell, ...]:
        """Return the cells in series at the start of a log; one where all are alike.

        `numbers` are those of the fit. [1]
        """
        return self.cells_of_logs(numbers)[log]

    def cells_of_logs(self, numbers: Floats) -> list[tuple[Cell, ...]]:
        """Return the cells in series at the start of every log. `numbers` of the fit [1]."""
        value = self._values(numbers)
        mean = self._mean_cell(value)
        full = [self._one(mean, value, cell) for cell in range(self.cells)]
        charge = [value.get(f"cell {cell + 1}, charge", 0.0) for cell in range(self.cells)]
        starts = [
            start + value.get(self._start_of(log), 0.0)
            for log, (start, _) in enumerate(self.starts)
        ]
        return [
            tuple(
                replace(one, state_of_charge=min(max(start + own, 0.0), 1.0))
                for one, own in zip(full, charge, strict=True)
            )
            for start in starts
        ]

    def mean_cell(self, numbers: Floats) -> Cell:
        """Return what all cells have in common, full. `numbers` of the fit [1]."""
        return self._mean_cell(self._values(numbers))

    def _values(self, numbers: Floats) -> dict[str, float]:
        return {one.name: float(v) for one, v in zip(self.parameters(), numbers, strict=True)}

    def _one(self, mean: Cell, value: dict[str, float], cell: int) -> Cell:
        """Return one of the cells, full."""
        if not self.each_cell:
            return mean
        who = f"cell {cell + 1}"
        factor = float(np.exp(value.get(f"{who}, resistance", 0.0)))
        pairs = tuple(
            RelaxationPair(pair.resistance_ohm * factor, pair.time_constant_s)
            for pair in mean.relaxation
        )
        return replace(
            mean,
            charge_C=mean.charge_C * float(np.exp(value.get(f"{who}, capacity", 0.0))),
            ohmic_ohm=mean.ohmic_ohm.scaled(factor),
            relaxation=pairs,
        )

    def _mean_cell(self, value: dict[str, float]) -> Cell:
        typical = self.typical
        pairs = tuple(
            RelaxationPair(
                pair.resistance_ohm * float(np.exp(value[f"relaxation {j}, resistance"])),
                pair.time_constant_s * float(np.exp(value[f"relaxation {j}, time"])),
            )
            for j, pair in enumerate(typical.relaxation, 1)
        )
        ohmic = self._ohmic(value)
        cell = replace(
            typical,
            charge_C=typical.charge_C * float(np.exp(value.get(CAPACITY, 0.0))),
            ohmic_ohm=ohmic,
            relaxation=pairs,
            ocv_V=self._curve(value, ohmic, pairs),
        )
        if typical.available_fraction < 1.0:
            c = typical.available_fraction
            odds = c / (1.0 - c) * float(np.exp(value["available part of the charge"]))
            rate = typical.well_rate_per_s * float(np.exp(value["rate between the wells"]))
            cell = replace(cell, available_fraction=odds / (1.0 + odds), well_rate_per_s=rate)
        return cell

    def _ohmic(self, value: dict[str, float]) -> Curve:
        """Typical shape times a factor that runs in straight lines (of its logarithm).

        It holds a cell's share of straps and switches.
        """
        shape = [value.get(f"resistance at {100 * z:g} %", 0.0) for z in SHAPE_AT]
        logarithm = value[RESISTANCE] + np.interp(self._curve_at, SHAPE_AT, shape)
        read_ohm = (self.straps_ohm or 0.0) / self.label.cells_in_series
        ohm = read_ohm + self._typical_ohm * np.exp(logarithm)
        return Curve.linear(self._curve_at, ohm, hold_ends=True)

    @cached_property
    def _typical_ohm(self) -> Floats:
        usual_ohm = self.usual_straps_ohm if self.straps_ohm is None else 0.0
        return self.typical.ohmic_ohm(self._curve_at) + usual_ohm / self.label.cells_in_series

    @cached_property
    def _curve_at(self) -> Floats:
        """Rows of the curves up to full; two wells go on below 0, where their resistance rises."""
        if self.typical.available_fraction == 1.0:
            return CURVE_AT
        return np.concatenate([BELOW_AT, CURVE_AT])

    @cached_property
    def _typical_rows(self) -> tuple[Floats, Floats]:
        """Rows of a voltage curve [1], and the typical one there [V]."""
        ends, at_all = self.typical.ocv_V.knots[[0, -1]], self._curve_at
        inside = at_all[(ends[0] < at_all) & (ends[1] > at_all)]
        z = np.concatenate([ends[:1], inside, self._beyond_full()])
        return z, self.typical.ocv_V(z)

    def _beyond_full(self) -> Floats:
        """Rows above full: where two wells gas, the curve is steep and bent."""
        knots = self.typical.ocv_V.knots
        return knots[-1:] if self.typical.available_fraction == 1.0 else knots[knots > 1.0]

    def _curve(
        self, value: dict[str, float], ohmic: Curve, pairs: tuple[RelaxationPair, ...]
    ) -> Curve:
        typical, slow = self.typical, self.slow
        at = [value[f"voltage curve at {100 * z:g} %"] for z in OFFSETS_AT]
        if slow is None:
            z, usual_V = self._typical_rows
            raised = usual_V + value[WHOLE_CURVE] + np.interp(z, OFFSETS_AT, at)
            return Curve.linear(z, np.maximum.accumulate(raised) + 1e-7 * np.arange(z.size))
        total = ohmic(slow.z) + sum(pair.resistance_ohm for pair in pairs)
        gone = np.exp(-typical.hysteresis_rate * (1.0 - slow.z))
        rest = slow.voltage_V + slow.current_A * total + typical.hysteresis_V * (1.0 - gone)
        rest += value[WHOLE_CURVE] + np.interp(slow.z, OFFSETS_AT, at)
        rising = np.minimum.accumulate(rest[::-1])[::-1]
        return Curve.linear(slow.z, rising + 1e-7 * np.arange(rest.size))
