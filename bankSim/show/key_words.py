"""Keys of the file in the words of the bench, for people who look at no file."""

import re

from bankSim.model.bank import Bank
from bankSim.sim.numbers import quoted
from bankSim.study.group_words import NOUNS, table_words

OF_ONE = re.compile(r"(load|charger)\[(\d+)\]\.(.*)")
NAMES = {
    # where a bare number would not say what it counts
    "capacity_fraction": "capacity (1: as on the label)",
    "resistance_factor": "resistance (1: as new)",
    "state_of_charge": "state of charge at the start (1: full)",
    # keys that no study draws
    "rated_capacity_Ah": "capacity on the label",
    "ocv_table": "voltage curve",
    "joints": "bolted joints on each conductor",
    "layout": "how the batteries meet",
    "starts_at": "time of day at the start",
    "warmest_at": "warmest time of day",
    "needs": "what has to be switched on for the work",
    "always": "work at any voltage",
}


def key_words(key: str, bank: Bank | None = None) -> str:
    """Return what a key means: 'resistance of relaxation 2 of the cells'.

    Parameters
    ----------
    key : str
        Without its battery; what is no key of the file stands in brackets behind its table, as in
        "cell (hysteresis rate)".
    bank : Bank, optional
        Tells what loads and chargers are called.

    Returns
    -------
    words : str
        The key itself where there are no words for it.
    """
    one = OF_ONE.fullmatch(key)
    if one is not None:
        return f"{key_words(one[3])} of {_called(one[1], int(one[2]), bank)}"
    path, _, inside = key.partition("(")
    tables = [part for part in path.strip().split(".") if part]
    noun = inside.removesuffix(")") or _noun(tables.pop())
    own = [table_words(table) for table in reversed(tables)]
    return "".join([noun, *(f" of {word}" for word in own if word)]) if noun else key


def _noun(name: str) -> str:
    """Return the word for the last name of a key; nothing where there is none."""
    return NAMES.get(name) or NOUNS.get(name) or (table_words(name) if "[" in name else "")


def _called(kind: str, place: int, bank: Bank | None) -> str:
    """Return the name of a load or charger; its number where the bank does not tell."""
    items = () if bank is None else bank.loads if kind == "load" else bank.chargers
    return quoted(items[place - 1].name) if 1 <= place <= len(items) else f"{kind} {place}"
