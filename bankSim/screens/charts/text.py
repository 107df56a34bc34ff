"""Names and sentences made safe for plotly, which reads tags, entities and formulas in texts."""

import re

from bankSim.sim.numbers import clean

# signs that look alike and mean nothing to plotly
HARMLESS = str.maketrans({"<": "‹", ">": "›", "$": "＄", "{": "(", "}": ")"})
ENTITY = re.compile(r"&(?=#?\w+;)")
LONGEST = 24


def safe_text(text: str, longest: int | None = None) -> str:
    """Return one printable line in which plotly finds no tag, entity, formula or placeholder.

    Parameters
    ----------
    text : str
        As somebody wrote it.
    longest : int, optional
        Letters; what is longer ends in "...".
    """
    return ENTITY.sub("＆", clean(text, longest).translate(HARMLESS))


def safe_name(name: str) -> str:
    """Return a name short enough to stand beside a line."""
    return safe_text(name, LONGEST)
