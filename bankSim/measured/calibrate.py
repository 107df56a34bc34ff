"""One or more logs of a battery alone: the battery that would have shown them."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from bankSim.measured.ends import drawn_Ah, end_of, while_live
from bankSim.measured.first_guess import ROOM_C, first_guess_Ah
from bankSim.measured.fit import Fit
from bankSim.measured.fit_samples import steps_of
from bankSim.measured.followed import Followed, follow_log
from bankSim.measured.label import Label
from bankSim.measured.log import Log, LogError
from bankSim.measured.parameters import Recipe
from bankSim.measured.plausible import sums_apart
from bankSim.measured.quantities import (
    IN_LABEL_H,
    WELLS_PERCENT,
    Beside,
    CellValue,
    Pair,
    Value,
    cell_values,
    pairs_of,
    straps_value,
    values_of,
)
from bankSim.measured.search import Search, in_own_order
from bankSim.measured.slow_curve import slow_curve
from bankSim.measured.straps import Straps, at_terminals, straps_of
from bankSim.measured.warmth import doubt_percent, unseen_K
from bankSim.measured.warnings import has_steps, separates, warnings_of
from bankSim.model.chemistry import chemistry_of
from bankSim.sim.numbers import number

SHUNT_GAIN_PERCENT = 0.5  # limit of a usual shunt, our own choice
LEAST_SAMPLES = 20
UNKNOWN_START = 0.7  # state of charge from which a fit sets out where nobody knows it
MISSED_PERCENT = {
    True: 5.0,
    False: 40.0,
}  # by whether there are load steps or several rates; own choice
POOR_MV = 30.0  # the same: what is further off is no prediction
POOR_AH_PERCENT = 5.0  # of the Ah that a log gave; own choice
OUT_OF_REACH = 0.1  # of the label: charge found beyond what 20 h give of it; own choice
HOPELESS_MV = 150.0  # rms of a cell: what is further off is another kind of battery


@dataclass(frozen=True, slots=True)
class Told:
    """What a person says of the logs besides the label.

    Parameters
    ----------
    starts : tuple of float or None
        State of charge at the start of each log; None: not known. Empty: all full. [1]
    temperature_C : float or None
        Of the air, where a log has no temperature; None takes 25. [degC]
    shunt_gain_percent : float
        Limit of the error of the current's scale. [%]
    hold_out : float
        Part of the time that is kept out of the fit and predicted. [1]
    mass_kg : float or None
        Of the battery. [kg]
    """

    starts: tuple[float | None, ...] = ()
    temperature_C: float | None = None
    shunt_gain_percent: float = SHUNT_GAIN_PERCENT
    hold_out: float = 0.0
    mass_kg: float | None = None


@dataclass(frozen=True, eq=False)
class Calibration:
    """A battery found from its logs.

    Parameters
    ----------
    label : Label
    told : Told
    recipe : Recipe
    fit : Fit
    followed : tuple of Followed
        One of each log.
    values : tuple of Value
        With standard errors.
    cells : tuple of CellValue
        Empty where no cell voltages were logged.
    pairs : tuple of Pair
        Values that the logs hardly separate, most entangled first.
    warnings : tuple of str
        What the logs cannot tell.
    assumed : tuple of (str, str)
        What was taken without being measured, and from where.
    straps : Straps or None
        What lies between cells and terminals, where a log tells it.
    """

    label: Label
    told: Told
    recipe: Recipe
    fit: Fit
    followed: tuple[Followed, ...]
    values: tuple[Value, ...]
    cells: tuple[CellValue, ...]
    pairs: tuple[Pair, ...]
    warnings: tuple[str, ...]
    assumed: tuple[tuple[str, str], ...]
    straps: Straps | None = None

    def value(self, name: str) -> Value:
        """Return one of the values by its name."""
        return next(one for one in self.values if one.name == name)

    @property
    def distrusted(self) -> str:
        """Why nobody should build on it: one sentence; empty where nothing is known against it."""
        worst_mV = max((one.middle_rms_mV for one in self.followed), default=0.0)
        if worst_mV > POOR_MV:
            return (
                f"The model does not follow these logs: it is {number(worst_mV, 2)} mV a cell off. "
                "Do not use it before the chemistry, the cells in series and the start are checked."
            )
        errors = [abs(one.error_percent or 0.0) for one in self.followed]
        if max(errors, default=0.0) > POOR_AH_PERCENT:
            return (
                f"The model does not follow these logs: its Ah are off by {number(max(errors), 2)} "
                "%. Do not build on what was found."
            )
        if not self.fit.settled:
            return (
                "The search for these values was broken off before it came to rest. Do not build "
                "on what was found."
            )
        return ""

    @property
    def new_Ah(self) -> float:  # noqa: N802 - the unit as printed
        """Charge that a new battery of the label holds, of two wells in both of them. [Ah]"""
        return self.label.rated_Ah * self.recipe.chemistry.capacity_per_rated

    @property
    def capacity_fraction(self) -> float | None:
        """Charge over that of a new one, as a scenario means it; None without a label. [1]"""
        return None if self.label.rated_guessed else self.value("capacity").value / self.new_Ah

    @property
    def charge_in_reach(self) -> bool:
        """Whether the charge of two wells says as much of the label as what 20 h give of it.

        A resistance that rises towards empty leaves charge that no load of such hours reaches.
        """
        part = self.capacity_fraction
        if part is None or self.recipe.typical.available_fraction == 1.0:
            return True
        return abs(self.value(IN_LABEL_H).value / self.label.rated_Ah - part) < OUT_OF_REACH


def calibrate(
    logs: Sequence[Log],
    label: Label,
    told: Told = Told(),
    progress: Callable[[int, int], None] | None = None,
) -> Calibration:
    """Find the battery that would have shown some logs.

    Parameters
    ----------
    logs : sequence of Log
        Of the same battery, alone.
    label : Label
    told : Told
    progress : callable, optional
        Told how many turns of the fit are done, and of how many at most.

    Raises
    ------
    LogError
        For logs that hold no discharge, or too few samples.
    """
    for log in logs:
        _check(log, label.cells_in_series)
    if told.starts and len(told.starts) != len(logs):
        raise LogError(
            f"--start-percent has {len(told.starts)} values; expected {len(logs)}, one for each log"
        )
    order = in_own_order(logs, told.starts)
    starts = tuple(told.starts[place] for place in order) if told.starts else ()
    return _found([logs[place] for place in order], order, label, replace(told, starts=starts),
                  progress)  # fmt: skip


def _found(
    logs: Sequence[Log],
    order: Sequence[int],
    label: Label,
    told: Told,
    progress: Callable[[int, int], None] | None,
) -> Calibration:
    """Calibrate on logs in their own order; `order` says which each was as handed over."""
    lit = [while_live(log) for log in logs]
    for log in lit:
        _check_live(log)
    seen = [straps_of(log, label.cells_in_series) for log in lit]
    level = [at_terminals(log, one) for log, one in zip(lit, seen, strict=True)]
    room_C = ROOM_C if told.temperature_C is None else told.temperature_C
    told_straps = [one for one in seen if one and one.told]
    straps = min(told_straps, key=lambda one: one.sd_ohm, default=None)
    recipe = replace(
        _recipe(level, label, told, room_C), given=tuple(order),
        straps_ohm=straps.ohm if straps else None,
    )  # fmt: skip
    recipe, found = Search(level, recipe, room_C, told.hold_out, progress).best()
    followed = tuple(
        follow_log(log, end_of(raw), number, recipe, found)
        for number, (raw, log) in enumerate(zip(logs, level, strict=True))
    )
    for one in followed:
        if one.middle_rms_mV > HOPELESS_MV:
            raise LogError(
                f"{one.file}: no {label.chemistry} battery of {label.cells_in_series} cells was "
                f"found that shows this ({one.middle_rms_mV:.0f} mV off a cell); expected another "
                "--chemistry, --cells-in-series, --start-percent or --sign"
            )
    warmth_K = unseen_K(level, recipe, found)
    beside = _beside(logs, label, told, doubt_percent(recipe, found, warmth_K))
    values = values_of(recipe, found, beside) + straps_value(recipe, straps, beside)
    cells = cell_values(recipe, found)
    as_given = [one for _, one in sorted(zip(order, followed, strict=True), key=lambda p: p[0])]
    return Calibration(
        label, told, recipe, found, tuple(as_given), values, cells, pairs_of(recipe, found),
        warnings_of(logs, recipe, found, values, cells, as_given, beside.interval_s),
        _assumed(logs, recipe, told, room_C, warmth_K), straps,
    )  # fmt: skip


def _beside(logs: Sequence[Log], label: Label, told: Told, warmth_percent: float) -> Beside:
    """Return the errors that no residual shows; a capacity that nothing tells is all doubtful."""
    told_of = not label.rated_guessed or any(end_of(log) is not None for log in logs)
    deepest_Ah = max(drawn_Ah(log) for log in logs) if told_of else 0.0
    missed = float(np.hypot(missed_percent(logs), warmth_percent))
    return Beside(told.shunt_gain_percent, missed, deepest_Ah, _interval_s(logs, label))


def _interval_s(logs: Sequence[Log], label: Label) -> float:
    """Return the time between samples at load steps; infinite without any that count. [s]

    What follows the first step of a full battery counts with two wells only.
    """
    chemistry = chemistry_of(label.chemistry)
    from_full = chemistry is not None and chemistry.available_fraction < 1.0
    steps = [(log, steps_of(log)) for log in logs if from_full or has_steps(log)]
    return min(
        (float(np.median(log.time_s[at + 1] - log.time_s[at])) for log, at in steps if at.size),
        default=float("inf"),
    )


def missed_percent(logs: Sequence[Log]) -> float:
    """Return the standard error of resistances from what the model misses. [%]"""
    return MISSED_PERCENT[separates(logs)]


def _check(log: Log, cells: int) -> None:
    apart = sums_apart(log.voltage_V, log.cells_V) if log.cells_V.shape[1] == cells else None
    if apart is not None:
        raise LogError(
            f"{log.file}: its {cells} cells add up to {apart[0]:.4g} V where the battery reads "
            f"{apart[1]:.4g} V; expected other columns (--voltage, --current, --cells), or "
            "--cells-in-series where not all cells were logged"
        )
    if log.count < LEAST_SAMPLES:
        raise LogError(f"{log.file}: {log.count} samples; expected at least {LEAST_SAMPLES}")
    if float(np.ptp(log.counted_Ah())) <= 0.0:
        raise LogError(f"{log.file}: no current flows; expected a discharge")
    if log.current_A.max() <= 0.0:
        raise LogError(f"{log.file}: it only charges; expected a discharge (see --sign)")


def _check_live(log: Log) -> None:
    """Refuse a log that draws nothing before its terminals read next to nothing."""
    if log.count < LEAST_SAMPLES or log.current_A.max() <= 0.0:
        raise LogError(
            f"{log.file}: in the {log.count} samples before its voltage is next to 0 no discharge "
            f"flows; expected {LEAST_SAMPLES} or more with the voltage of a battery under load "
            "(--voltage names the column)"
        )


def _recipe(logs: Sequence[Log], label: Label, told: Told, room_C: float) -> Recipe:
    starts = told.starts or (1.0,) * len(logs)
    largest_Ah = max(drawn_Ah(log) for log in logs)
    cells = label.cells_in_series
    curves = (
        slow_curve(log, number, cells, largest_Ah)
        for number, (log, start) in enumerate(zip(logs, starts, strict=True))
        if start == 1.0
    )
    slow = next((one for one in curves if one is not None), None)
    chemistry = chemistry_of(label.chemistry)
    if chemistry is None:
        raise LogError(f"chemistry {label.chemistry!r} has no typical values to start from")
    each = cells > 1 and any(log.cells_V.shape[1] == cells for log in logs)
    if chemistry.available_fraction < 1.0:
        slow = None  # with two wells no discharge, however slow, shows the voltage over all charge
    pairs = tuple((UNKNOWN_START if s is None else s, s == 1.0) for s in starts)
    begun = [start for start, _ in pairs]
    charge_Ah = slow.charge_Ah if slow else first_guess_Ah(logs, begun, label, chemistry, room_C)
    typical = chemistry.typical_cell(label.rated_Ah, charge_Ah * 3600.0)
    two_wells = chemistry.available_fraction < 1.0  # shown from the start on, not by the curve
    return Recipe(
        label, typical, slow, pairs, each, told.mass_kg, separated=two_wells or separates(logs)
    )


def _assumed(
    logs: Sequence[Log], recipe: Recipe, told: Told, room_C: float, warmth_K: float
) -> tuple[tuple[str, str], ...]:
    """Return what was taken without being measured, each with its source."""
    chemistry = recipe.chemistry
    rows = [
        ("error of the shunt's scale",
         f"up to {told.shunt_gain_percent:g} %, rectangular (JCGM 100, Type B); "
         "our own choice unless given"),
        ("hysteresis", f"{1e3 * chemistry.hysteresis_V:g} mV, {chemistry.sources.hysteresis}"),
        ("what a model of this kind misses",
         f"{missed_percent(logs):g} % of resistances, standard error, our own choice; more where "
         "all logs run at one current, since the first drop of a full battery holds more than "
         "resistance"),
        *([("what two wells miss of a real battery",
            f"{WELLS_PERCENT:g} % of their part and rate, standard error, our own choice")]
          if recipe.typical.available_fraction < 1.0 else []),
        ("charge below the deepest point of the logs",
         "half of it counts as standard error of the capacity, our own choice"),
        ("where each fit began and may stray to",
         "typical values of the chemistry; spreads are our own choice"),
    ]  # fmt: skip
    if any(log.temperature_C is None for log in logs):
        given = "given" if told.temperature_C is not None else "not given, room taken"
        rows.append(("temperature of the air", f"{room_C:g} degrees C, {given}"))
    if any(log.temperature_C is None or log.of_air for log in logs):
        rows.append(("how the battery warms up",
                     f"{chemistry.mass_source}; {warmth_K:.2g} K count as standard error, our own "
                     "choice, since no log tells it"))  # fmt: skip
    if any(log.temperature_C is not None and not log.of_air for log in logs):
        rows.append(
            ("temperature of the battery, where logged",
             "its mean over the log; the air as warm as the battery when the log began")
        )  # fmt: skip
    if any(while_live(log) is not log for log in logs):
        rows.append(
            (
                "samples next to 0 V",
                "left out: a switch has opened there, and nothing is seen of cells",
            )
        )
    if not told.starts:
        rows.append(
            ("start of every log",
             "full; the fullest cell of the fullest log stands for 100 %, and what was a little "
             "below is found against it (change with --start-percent)")
        )  # fmt: skip
    if recipe.slow is None:
        rows.append(("voltage curve", f"{chemistry.sources.curve}; moved to fit the logs"))
    return tuple(rows)
