"""One thing about a bank that is not known exactly."""

from dataclasses import dataclass
from enum import Enum

from bankSim.model.spread import Shape, Spread
from bankSim.scenario.lines import Path
from bankSim.study.fields import Field


class Op(Enum):
    """What a drawn value v does to numbers of the bank; c is its central value."""

    FACTOR = "factor"  # times v
    SET = "set"  # becomes a v + b
    SCALE = "scale"  # times v / c
    DIVIDE = "divide"  # times c / v
    SHIFT = "shift"  # plus a (v - c)


@dataclass(frozen=True, slots=True)
class Effect:
    """Which numbers a drawn value changes, and how.

    Parameters
    ----------
    field : Field
    places : tuple of int
    op : Op
    per_unit, zero : float
        a and b above: SI per unit of the value, and where its zero lies in SI.
    """

    field: Field
    places: tuple[int, ...]
    op: Op = Op.FACTOR
    per_unit: float = 1.0
    zero: float = 0.0


class Basis(Enum):
    """What a spread rests on, the weakest part of it: our own judgement, memory, a figure."""

    FILE = "the file"
    CHOICE = "our own choice"
    MEMORY = "figures from memory"
    PUBLISHED = "published figures"


class Kind(Enum):
    """What an unknown is about; the value heads its group."""

    CAPACITY = "capacity"
    CELL_CAPACITY = "capacities of the cells"
    RESISTANCE = "resistance"
    CELL_RESISTANCE = "resistances of the cells"
    CHARGE = "state of charge at the start"
    CELL_CHARGE = "balance of the cells"
    INTERNAL = "internal resistance of switches and straps"
    LEAD = "lead"
    LINK = "links"
    MAIN = "main cable"
    LIMITS = "limits of the rules"
    DELAYS = "delays of the rules"
    DROP = "diode drop"
    RELAXATION = "relaxation"
    HYSTERESIS = "hysteresis"
    STANDING = "self-discharge"
    WELLS = "charge bound at high rates"
    WARMTH = "how resistance follows the temperature"
    HEAT = "how it warms up"
    TEMPERATURE = "temperature of the surroundings"
    LOAD = "load"
    CHARGER = "charger"
    KEY = "key"


@dataclass(frozen=True, slots=True)
class Unknown:
    """A number with a spread, and what it does to the bank.

    Parameters
    ----------
    label : str
        Says what it is; the same unknown of two scenarios has the same label, and then the same
        random numbers.
    kind : Kind
    subject : str
        Name of the battery, load or charger; empty for the bank.
    key : str
        Key path as one would write it in the file, counted from 1.
    unit : str
        Of the spread's value; empty for factors.
    spread : Spread
    effects : tuple of Effect
        Empty when the bank must be built anew for every draw, from `path`.
    source : str
        Where the spread comes from, in one line.
    follows : str or None
        Label of the unknown that it goes along with.
    correlation : float
        Of both underlying normal numbers, -1 to 1. [1]
    pinned : bool
        One of several factors that are divided by the smallest of them, so that the weakest cell
        is as given. They share kind and subject.
    path : tuple or None
        Where a rebuilt document gets the value.
    given : bool
        The spread is from the file, not a typical one.
    """

    label: str
    kind: Kind
    subject: str
    key: str
    unit: str
    spread: Spread
    effects: tuple[Effect, ...]
    source: str
    follows: str | None = None
    correlation: float = 0.0
    pinned: bool = False
    path: Path | None = None
    given: bool = False

    @property
    def group(self) -> str:
        """What people would measure together: all cells of one battery, for instance."""
        if self.kind is Kind.KEY and self.subject:
            return f'{self.key.partition(".")[2]} of "{self.subject}"'
        if self.kind is Kind.KEY:
            return self.key
        return f'{self.kind.value} of "{self.subject}"' if self.subject else self.kind.value

    @property
    def is_factor(self) -> bool:
        """Tell whether the value is a factor on what the bank has, not a value of some key."""
        return bool(self.effects) and all(one.op is Op.FACTOR for one in self.effects)

    @property
    def basis(self) -> Basis:
        """What the spread rests on, as its source says."""
        if self.given:
            return Basis.FILE
        if "choice" in self.source:
            return Basis.CHOICE
        return Basis.MEMORY if "from memory" in self.source else Basis.PUBLISHED


def spread_words(spread: Spread, unit: str, *, factor: bool) -> str:
    """Say how far a value may lie off, as people would write it.

    Parameters
    ----------
    spread : Spread
    unit : str
    factor : bool
        The value is a factor: say it in percent.
    """
    tail = f" {unit}" if unit else ""
    if spread.shape in (Shape.NORMAL, Shape.LOGNORMAL):
        by_ratio = factor or spread.shape is Shape.LOGNORMAL
        wide = f"{100.0 * spread.sd:.3g} %" if by_ratio else f"{spread.sd:.3g}{tail}"
        return f"+- {wide} (standard deviation)"
    if factor:
        low, high = 100.0 * (spread.low - 1.0), 100.0 * (spread.high - 1.0)
        return f"{low:+.3g} to {high:+.3g} %"
    return f"{spread.low:.4g} to {spread.high:.4g}{tail}"
