"""Names and sentences made safe for plotly, which reads tags, entities and formulas in texts."""

from bankSim.sim.numbers import clean

# single guillemets, double prime, small percent sign, full-width dollar and others that look alike
# and mean nothing
HARMLESS = str.maketrans({"<": "‹", ">": "›", "&": "＆", "$": "＄", "{": "❴", "}": "❵"})
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
    return clean(text, longest).translate(HARMLESS)


def safe_name(name: str) -> str:
    """Return a name short enough to stand beside a line."""
    return safe_text(name, LONGEST)
