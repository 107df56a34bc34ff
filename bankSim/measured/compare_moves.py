"""What would bring a prediction to the measurement: the records that a ranking is made of."""

from dataclasses import dataclass

from bankSim.model.curve import Floats
from bankSim.study.unknown import Kind

METER_CURRENT, METER_VOLTAGE = "reading of the current meter", "reading of the voltage meter"
ABSURD_SD = 6.0  # what must be moved so far, or farther, explains nothing
WORTH = 1.5  # times the number of differences: a misfit below is what tolerances leave anyway


@dataclass(frozen=True, slots=True)
class Move:
    """One value and how far it is moved.

    Parameters
    ----------
    label : str
    kind : Kind or None
        None for a meter.
    subject : str
        Name of the battery or load; empty for the bank and meters.
    key : str
        Of the scenario file; empty for a meter.
    unit : str
        Of `before` and `after`; empty for factors.
    before, after : float
        In `unit`.
    sds : float
        In standard deviations of its spread.
    source : str
        Of that spread.
    at_limit : bool
        It stands at the end of what it may be.
    """

    label: str
    kind: Kind | None
    subject: str
    key: str
    unit: str
    before: float
    after: float
    sds: float
    source: str
    at_limit: bool = False

    @property
    def is_ratio(self) -> bool:
        """Tell whether the value is a factor around 1."""
        return self.unit == "" and self.before == 1.0 and self.kind is not Kind.CHARGE


@dataclass(frozen=True, eq=False)
class Explanation:
    """What would bring the prediction nearer to the measurement.

    Parameters
    ----------
    moves : tuple of Move
        One, or two that are moved together.
    removed : float
        Part of the misfit that goes. [1]
    left : float
        Misfit that stays: sum of squares in tolerances. [1]
    rank_by : float
        What stays, and how far was moved: `left` + sum of squared sds. [1]
    verified : bool
        The bank was run with the moved values; otherwise from slopes.
    numbers : array
        Of that run, in the units of `Frame.values`.
    """

    moves: tuple[Move, ...]
    removed: float
    left: float
    rank_by: float
    verified: bool
    numbers: Floats

    @property
    def farthest(self) -> float:
        """Return the longest move. [sd]"""
        return max(abs(move.sds) for move in self.moves)

    @property
    def absurd(self) -> bool:
        """Tell whether a value would have to be farther off than any is."""
        return self.farthest > ABSURD_SD - 0.05  # as it is told


@dataclass(frozen=True, eq=False)
class Explained:
    """The ranked list.

    Parameters
    ----------
    misfit : float
        Sum of squares of all differences in tolerances. [1]
    count : int
        How many differences there are.
    ranked : tuple of Explanation
        What explains best first.
    pairs : tuple of Explanation
        Pairs that do clearly better; empty where one value is enough.
    alike : tuple of int
        Places in `ranked` that explain about as well as the first, itself included.
    tried : int
        Values that were tried.
    """

    misfit: float
    count: int
    ranked: tuple[Explanation, ...]
    pairs: tuple[Explanation, ...]
    alike: tuple[int, ...]
    tried: int

    @property
    def matters(self) -> bool:
        """Tell whether there is a difference worth explaining."""
        return self.misfit > WORTH * self.count
