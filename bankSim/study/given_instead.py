"""A swept key whose place the file has filled with another key: which one to sweep then."""

from bankSim.scenario.lines import Path
from bankSim.scenario.variant import Variants

CABLES = {"lead_mohm": "lead", "link_mohm": "link", "main_mohm": "main"}
LENGTH = "length_m"
ONE_OF = (("load", ("power_W", "current_A", "resistance_ohm")), ("charger", ("limit_A", "limit_W")))


def given_instead(key: str, path: Path, variants: Variants) -> tuple[str, str] | None:
    """Return what the file has in place of a key, and the key to sweep; None where nothing is.

    Parameters
    ----------
    key : str
        As it was asked for.
    path : tuple of str and int
        The same key as a path.
    variants : Variants
        Of the file.
    """
    *above, name = path
    short = {long: short for short, long in CABLES.items()}
    if name in CABLES and variants.value_at((*above, CABLES[name])) is not None:
        return CABLES[name], f"{_cut(key, 1)}{CABLES[name]}.{LENGTH}"
    if above and above[-1] in short:
        other = short[above[-1]]
        is_given = variants.value_at((*above[:-1], other)) is not None
        return (other, f"{_cut(key, 2)}{other}") if is_given else None
    for kind, names in ONE_OF:
        if path[0] == kind and len(path) == 3 and name in names:
            return _other_of(names, key, path, variants)
    return None


def _other_of(
    names: tuple[str, ...], key: str, path: Path, variants: Variants
) -> tuple[str, str] | None:
    """Return the other one of several keys of which a file has one."""
    for other in names:
        if other != path[-1] and variants.value_at((*path[:-1], other)) is not None:
            return other, f"{_cut(key, 1)}{other}"
    return None


def _cut(key: str, count: int) -> str:
    """Return a key without its last names, with the point before them."""
    return f"{key.rsplit('.', count)[0]}."
