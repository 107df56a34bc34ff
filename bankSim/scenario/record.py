"""What a scenario file becomes: the bank in SI, and everything that was taken for granted."""

from dataclasses import dataclass

from bankSim.model.bank import Bank
from bankSim.scenario.keys import ScenarioKeys


@dataclass(frozen=True, slots=True)
class Assumed:
    """A value that the file did not give.

    Parameters
    ----------
    key : str
        Key path as one would write it in the file, e.g. ``battery[1].internal_mohm``
        (counted from 1).
    value : float or str
        What was used, in `unit`.
    unit : str
        Unit as printed; empty for words.
    source : str
        Where the value comes from, in one line.
    """

    key: str
    value: float | str
    unit: str
    source: str


@dataclass(frozen=True, slots=True)
class Scenario:
    """A read and checked scenario.

    Parameters
    ----------
    title : str
    notes : str
    bank : Bank
        In SI units.
    assumed : tuple of Assumed
        Every value used that the file did not give.
    remarks : tuple of str
        Keys that were given but have no effect here, and why, one sentence each.
    file : str
        Name of the file, for messages; empty when built in memory.
    text : str
        The file as it was read.
    keys : ScenarioKeys or None
        What the file says, key by key; None when built in memory.
    folder : str
        Where relative names of tables start.
    tables : tuple of str
        Names of the tables it was read from.
    changes : tuple of (str, object)
        Keys that have another value here than in `text`, and that value.
    """

    title: str
    bank: Bank
    notes: str = ""
    assumed: tuple[Assumed, ...] = ()
    remarks: tuple[str, ...] = ()
    file: str = ""
    text: str = ""
    keys: ScenarioKeys | None = None
    folder: str = ""
    tables: tuple[str, ...] = ()
    changes: tuple[tuple[str, object], ...] = ()
