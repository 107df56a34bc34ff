"""Several batteries in one log, in turn: a column names whose row it is."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import fields
from itertools import pairwise

from bankSim.measured.column import Choice, Column
from bankSim.measured.direction_words import direction_of
from bankSim.measured.log import LogError
from bankSim.measured.numerals import is_missing, spaced
from bankSim.sim.numbers import listing, quoted

MOST = 16  # devices in one log
FEWEST_ROWS = 3  # of each of them
TURNS = 0.2  # of the rows: less often a column changes by steps or runs, as states do
WHOLE = 0.9  # of the rows with a word in it
EDGE = 0.2  # of the rows looked at: each device is there before and after it
MOST_TOLD = 6
_NAMES = frozenset(
    spaced(
        "battery batteries batt bat batterie batterien bateria baterias batteria batterij akku "
        "accu device devices dev unit units channel channels ch name names id pack packs module "
        "modules sensor node serial sn monitor address instance string bank meter shunt gerat "
        "geraet kanal modul appareil voie nom dispositivo canal nombre apparaat"
    )
)
_STATES = frozenset(
    spaced(
        "step state mode status cycle phase event flag flags remark note comment error alarm "
        "program programme schritt zustand modus zyklus etape etat estado paso charge charging"
    )
)


def refuse_several(
    name: str, columns: Sequence[Column], rows: Sequence[Sequence[str]], choice: Choice
) -> None:
    """Refuse a log whose rows belong to several devices in turn.

    Such a column has a name as of devices, and holds a few words or whole numbers that return all
    the time, each of them from begin to end. States of a tester ("CC", "Rest") have other names,
    and change in runs.

    Raises
    ------
    LogError
    """
    used = _used(choice)
    for column in columns:
        if column.number in used or column.clock or not column.filled:
            continue
        texts = [row[column.number - 1].strip() if column.number <= len(row) else ""
                 for row in rows]  # fmt: skip
        if _names_devices(column) and _in_turn(texts, column):
            seen = list(dict.fromkeys(text for text in texts if text))
            values = listing([quoted(one) for one in seen], MOST_TOLD)
            raise LogError(
                f"{name}: column {quoted(column.name)} holds {values} in turn, so the file seems "
                "to hold several batteries; expected one file per battery: sort by that column "
                "and save each part by itself"
            )


def _used(choice: Choice) -> set[int]:
    used = {*choice.cells}
    for one in fields(choice):
        value = getattr(choice, one.name)
        if isinstance(value, int):
            used.add(value)
    return used


def _names_devices(column: Column) -> bool:
    words = [word for word in column.header.words if not word.isdigit()]
    if column.header.unit or any(word in _STATES for word in words):
        return False
    return any(word in _NAMES for word in words)


def _in_turn(texts: Sequence[str], column: Column) -> bool:
    """Tell whether a few words return all the time, each from begin to end."""
    there = [text for text in texts if len(text) == 1 or not is_missing(text)]
    if len(there) < WHOLE * len(texts):
        return False
    counts = Counter(there)
    if not 2 <= len(counts) <= MOST or min(counts.values()) < FEWEST_ROWS:
        return False
    if any(len(word) > 1 and direction_of(word) for word in counts):
        return False
    if column.numeric and not _periodic(there, len(counts)):
        return False
    turns = sum(one != other for one, other in pairwise(there))
    edge = max(int(EDGE * len(there)), len(counts))
    early, late = set(there[:edge]), set(there[-edge:])
    return turns > TURNS * len(there) and early == late == set(counts)


def _periodic(texts: Sequence[str], count: int) -> bool:
    """Tell whether whole numbers come round in one order: readings of a meter do not."""
    if not all(text.isdecimal() for text in texts):
        return False
    same = sum(one == other for one, other in zip(texts, texts[count:], strict=False))
    return same > WHOLE * (len(texts) - count)
