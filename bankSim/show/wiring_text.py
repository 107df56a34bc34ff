"""How wide texts of a drawing are at most, and how a name is made to fit."""

from bankSim.sim.numbers import clean

# Advance of letters in em, rounded up, of a sans-serif that is wider than most; bold adds BOLDER.
CLASSES = (
    (0.36, " ijlI'|.,:;"),
    (0.52, 'frt/\\"-*!()[]`'),
    (0.60, "czsvxykJL_?"),
    (0.70, "abdeghnopquFTEPSXYZ0123456789$"),
    (0.80, "ABCDGHKNRUV&OQ"),
    (0.88, "w+<>=~^#M\N{MINUS SIGN}\N{MULTIPLICATION SIGN}"),
    (1.02, "mW@%"),
)
ADVANCE_EM = {mark: em for em, marks in CLASSES for mark in marks}
UNKNOWN_EM = 1.05
BOLDER = 1.15
DOTS = "..."


def width_px(text: str, size_px: float, *, bold: bool = False) -> float:
    """Return how wide a line of text is at most. [px]

    Parameters
    ----------
    text : str
    size_px : float
        Of the font. [px]
    bold : bool
    """
    em = sum(_advance_em(mark) for mark in text)
    return em * size_px * (BOLDER if bold else 1.0)


def _advance_em(mark: str) -> float:
    return ADVANCE_EM.get(mark, UNKNOWN_EM)


def fitting(name: str, room_px: float, size_px: float, *, bold: bool = False) -> str:
    """Return a name on one printable line, its end left out where there is no room for it."""
    line = clean(name)
    if width_px(line, size_px, bold=bold) <= room_px:
        return line
    while line and width_px(line + DOTS, size_px, bold=bold) > room_px:
        line = line[:-1]
    return line.rstrip() + DOTS


def fitting_size(text: str, room_px: float, size_px: float, *, bold: bool = False) -> float:
    """Return the size at which a text that must not be cut has room, `size_px` at most. [px]"""
    width = width_px(text, size_px, bold=bold)
    return size_px if width <= room_px else size_px * room_px / width


def in_two(text: str, room_px: float, size_px: float) -> list[str]:
    """Break a list of facts at the comma next to its middle, when one line has no room for it."""
    parts = text.split(", ")
    if width_px(text, size_px) <= room_px or len(parts) < 2:
        return [text]
    splits = [(", ".join(parts[:n]), ", ".join(parts[n:])) for n in range(1, len(parts))]
    return list(min(splits, key=lambda two: max(width_px(line, size_px) for line in two)))
