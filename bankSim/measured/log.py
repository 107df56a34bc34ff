"""A measured log: what was read, from which columns, and everything odd about it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from bankSim.errors import SimulationError
from bankSim.model.curve import Floats
from bankSim.scenario.syntax import printable

Rows = NDArray[np.int64]
AUTO = "auto"
DISCHARGE_POSITIVE = "discharge positive"
CHARGE_POSITIVE = "charge positive"
SIGNS = (AUTO, DISCHARGE_POSITIVE, CHARGE_POSITIVE)
NOTE = "note"
WARNING = "warning"


class LogError(SimulationError, ValueError):
    """A log cannot be used; one line names the file, the row or column, and what is allowed."""

    def __str__(self) -> str:
        return printable(super().__str__())


@dataclass(frozen=True, slots=True)
class Asked:
    """What a person said about a log; what is left out is guessed from it and told.

    Parameters
    ----------
    time, voltage, current, temperature : str or None
        Header of the column, or its number counted from 1.
    cells : tuple of str
        Headers or numbers of the columns with cell voltages, cell 1 first.
    sign : str
        One of `SIGNS`: which direction the file writes as positive.
    keep_others : bool
        Also read every other column of numbers.
    """

    time: str | None = None
    voltage: str | None = None
    current: str | None = None
    temperature: str | None = None
    cells: tuple[str, ...] = ()
    sign: str = AUTO
    keep_others: bool = False


@dataclass(frozen=True, slots=True)
class Use:
    """One column and what it was read as.

    Parameters
    ----------
    column : str
        Header as in the file; its number, counted from 1, where there is none.
    number : int
        Counted from 1.
    meaning : str
        "time", "voltage", "current", "temperature", "air temperature", "cell 1", ... or
        "not used".
    unit : str
        Of the file: "s", "min", "h", "clock time", "mV", "mA", "A", ...
    asked : bool
        Named by the person, not guessed.
    """

    column: str
    number: int
    meaning: str
    unit: str = ""
    asked: bool = False


@dataclass(frozen=True, slots=True)
class Finding:
    """Something odd in a log.

    Parameters
    ----------
    text : str
        One sentence that says what, how often, in which rows, and what was done about it.
    rows : tuple of int
        Row numbers of the file, counted from 1 with the header; the first few of many.
    count : int
        How often.
    severity : str
        `NOTE`, or `WARNING` where the answer may suffer.
    on_top : bool
        It belongs above every answer: what was read contradicts itself.
    spoils : bool
        The Ah counted are wrong, so that nothing can be judged by them.
    loses : bool
        Before each of its rows time passed that the log does not show.
    """

    text: str
    rows: tuple[int, ...] = ()
    count: int = 1
    severity: str = NOTE
    on_top: bool = False
    spoils: bool = False
    loses: bool = False


@dataclass(frozen=True, slots=True)
class Gap:
    """A stretch without samples: from sample `before` to the next one.

    Parameters
    ----------
    before : int
        Index of the last sample before it.
    length_s : float
        [s]
    usual_s : float
        The usual distance of samples there. [s]
    """

    before: int
    length_s: float
    usual_s: float


@dataclass(frozen=True, slots=True)
class Written:
    """How finely the current is written.

    Parameters
    ----------
    step_A : float
        The last decimal of its text. [A]
    whole : bool
        No reading has decimals, so that the logger, or a person, may have left them out.
    """

    step_A: float
    whole: bool


@dataclass(frozen=True, eq=False)
class Log:
    """Samples in SI, discharge current positive, in the order of time.

    Parameters
    ----------
    file : str
        Name for messages.
    time_s : array (n,)
        Since the first sample; never falls, may stand still. [s]
    voltage_V, current_A : array (n,)
        Finite everywhere; of the whole battery (or bank). Discharge positive. [V], [A]
    cells_V : array (n, m)
        Cell voltages, NaN where missing; m = 0 where the log has none. [V]
    temperature_C : array (n,) or None
        NaN where missing. [degC]
    of_air : bool
        The temperature is that of the air around the battery, not its own.
    others : mapping
        Other columns of numbers by header, (n,) each, NaN where missing, in the file's unit and
        sign; empty unless they were asked for. [unit of the file]
    rows : array (n,)
        Row of the file of every sample, counted from 1.
    starts_at : datetime or None
        Wall clock of the first sample, where the log has it.
    uses : tuple of Use
        Every column of the file.
    sign : str
        `DISCHARGE_POSITIVE` or `CHARGE_POSITIVE`: what the file writes as positive.
    sign_reason : str
        How that was found, in words.
    findings : tuple of Finding
        Everything odd, in the order of the file.
    gaps : tuple of Gap
    written : Written or None
        Where all readings of the current have as many decimals.
    """

    file: str
    time_s: Floats
    voltage_V: Floats
    current_A: Floats
    cells_V: Floats = field(default_factory=lambda: np.empty((0, 0)))
    temperature_C: Floats | None = None
    of_air: bool = False
    others: Mapping[str, Floats] = field(default_factory=lambda: MappingProxyType({}))
    rows: Rows = field(default_factory=lambda: np.empty(0, np.int64))
    starts_at: datetime | None = None
    uses: tuple[Use, ...] = ()
    sign: str = DISCHARGE_POSITIVE
    sign_reason: str = "given"
    findings: tuple[Finding, ...] = ()
    gaps: tuple[Gap, ...] = ()
    written: Written | None = None

    def __post_init__(self) -> None:
        count = self.time_s.size
        if self.cells_V.shape[0] != count:
            object.__setattr__(self, "cells_V", np.empty((count, 0)))
        if self.rows.size != count:
            object.__setattr__(self, "rows", np.arange(2, count + 2))

    @property
    def count(self) -> int:
        """Number of samples."""
        return int(self.time_s.size)

    @property
    def doubts(self) -> tuple[str, ...]:
        """What belongs above every answer from this log: what was read contradicts itself."""
        return tuple(one.text for one in self.findings if one.on_top)

    def counted_Ah(self) -> Floats:  # noqa: N802 - the unit as printed
        """Return the charge given since the first sample, by trapezoids; (n,). [Ah]"""
        parts = np.diff(self.time_s) * (self.current_A[1:] + self.current_A[:-1]) / 2.0
        return np.concatenate([[0.0], np.cumsum(parts)]) / 3600.0

    def counted_Wh(self) -> Floats:  # noqa: N802 - the unit as printed
        """Return the energy given since the first sample, by trapezoids; (n,). [Wh]"""
        power = self.voltage_V * self.current_A
        parts = np.diff(self.time_s) * (power[1:] + power[:-1]) / 2.0
        return np.concatenate([[0.0], np.cumsum(parts)]) / 3600.0

    def part(self, first: int, end: int) -> "Log":
        """Return the samples from `first` up to, not including, `end`; the time starts anew."""
        from dataclasses import replace
        from datetime import timedelta

        if not 0 <= first < end <= self.count:
            raise LogError(f"{self.file}: samples {first} to {end}; expected some of {self.count}")
        here = slice(first, end)
        start = self.starts_at
        return replace(
            self,
            time_s=self.time_s[here] - self.time_s[first],
            voltage_V=self.voltage_V[here],
            current_A=self.current_A[here],
            cells_V=self.cells_V[here],
            temperature_C=None if self.temperature_C is None else self.temperature_C[here],
            others=MappingProxyType({name: one[here] for name, one in self.others.items()}),
            rows=self.rows[here],
            starts_at=start and start + timedelta(seconds=float(self.time_s[first])),
            gaps=tuple(
                Gap(gap.before - first, gap.length_s, gap.usual_s)
                for gap in self.gaps
                if first <= gap.before < end - 1
            ),
        )
