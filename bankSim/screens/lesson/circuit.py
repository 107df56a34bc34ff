"""Draws the circuit of a step as SVG: batteries between two rails, their leads, the load."""

import html
from collections.abc import Sequence
from dataclasses import dataclass

from bankSim.screens.charts.look import FONT, Look

APART, LEFT, TOP, BOTTOM = 88.0, 46.0, 26.0, 214.0
BATTERY_Y, PLATES = 150.0, 4


@dataclass(frozen=True)
class Branch:
    """One battery of the drawing.

    Parameters
    ----------
    name : str
    note : str
        Below it, a word or two.
    current : str
        Beside its lead, with unit; empty before the answer.
    long : bool
        Its lead is long.
    weak : bool
        One of its cells is lower than the others.
    out : bool
        Its electronics block.
    """

    name: str
    note: str = ""
    current: str = ""
    long: bool = False
    weak: bool = False
    out: bool = False

    @property
    def words(self) -> str:
        """Return it in words."""
        parts = [self.note, "long lead" * self.long, "one cell low" * self.weak]
        parts += ["cut out" * self.out, self.current]
        told = ", ".join(part for part in parts if part)
        return f"{self.name} ({told})" if told else self.name


def circuit_words(branches: Sequence[Branch], load: str) -> str:
    """Return what the drawing shows, for people who cannot see it."""
    told = "; ".join(branch.words for branch in branches)
    return f"Circuit: batteries in parallel on one load of {load}: {told}."


def circuit_svg(branches: Sequence[Branch], load: str, look: Look) -> str:
    """Return the drawing as an SVG document.

    Parameters
    ----------
    branches : sequence of Branch
    load : str
        Beside the load, e.g. "60 A".
    look : Look
    """
    last = LEFT + APART * len(branches)
    wide = last + 62.0
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide:.0f} 262" '
        f'width="{wide:.0f}" height="262" font-family="{html.escape(FONT)}" font-size="14" '
        f'fill="{look.ink}" stroke-linecap="round">',
        _line(LEFT, TOP, last, TOP, look.ink, 3),
        _line(LEFT, BOTTOM, last, BOTTOM, look.ink, 3),
        _text(LEFT - 20, TOP + 5, "+"),
        _text(LEFT - 20, BOTTOM + 5, "\N{MINUS SIGN}"),
    ]
    for place, branch in enumerate(branches):
        parts += _branch(LEFT + APART * place, branch, look, look.colour(place))
    parts += _load(last, load, look)
    return "".join([*parts, "</svg>"])


def _branch(x: float, branch: Branch, look: Look, colour: str) -> list[str]:
    lead = 52.0 if branch.long else 24.0
    bottom = TOP + 12 + lead
    parts = [
        _line(x, TOP, x, TOP + 12, colour, 2),
        f'<rect x="{x - 6}" y="{TOP + 12}" width="12" height="{lead}" fill="none" '
        f'stroke="{colour}" stroke-width="2"/>',
        *_switch(x, bottom, branch.out, colour, look),
        *_plates(x, branch.weak, colour, look),
        _line(x, BATTERY_Y + 22, x, BOTTOM, colour, 2),
        _text(x, BOTTOM + 20, branch.name, bold=True),
        _text(x, BOTTOM + 38, branch.note, size=12),
    ]
    if branch.current:
        parts.append(_text(x + 12, TOP + 29, branch.current, anchor="start", bold=True))
    return parts


def _switch(x: float, top: float, out: bool, colour: str, look: Look) -> list[str]:
    end = BATTERY_Y - 22
    if not out:
        return [_line(x, top, x, end, colour, 2)]
    return [
        _line(x, top, x, end - 26, colour, 2),
        _line(x, end - 4, x + 13, end - 24, look.alert, 3),
        _line(x, end - 4, x, end, colour, 2),
        _text(x - 8, end - 10, "out", anchor="end", size=12),
    ]


def _plates(x: float, weak: bool, colour: str, look: Look) -> list[str]:
    parts = []
    for place in range(PLATES):
        y = BATTERY_Y - 22 + 12.5 * place
        low = weak and place == 1
        shade = look.alert if low else colour
        parts.append(_line(x - 17, y, x + 17, y, shade, 2))
        parts.append(_line(x - 8, y + 5.5, x + 8, y + 5.5, shade, 5))
        if low:
            parts.append(_text(x + 21, y + 8, "low", anchor="start", size=12))
    return parts


def _load(x: float, load: str, look: Look) -> list[str]:
    return [
        _line(x, TOP, x, 96, look.ink, 2),
        f'<rect x="{x - 31}" y="96" width="62" height="52" rx="3" fill="none" '
        f'stroke="{look.ink}" stroke-width="2"/>',
        _line(x, 148, x, BOTTOM, look.ink, 2),
        _text(x, 120, "load", size=12),
        _text(x, 138, load, size=12, bold=True),
    ]


def _line(x1: float, y1: float, x2: float, y2: float, colour: str, width: float) -> str:
    return (
        f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" '
        f'stroke="{colour}" stroke-width="{width}"/>'
    )


def _text(
    x: float, y: float, text: str, *, anchor: str = "middle", size: int = 14, bold: bool = False
) -> str:
    weight = ' font-weight="700"' if bold else ""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" font-size="{size}"{weight}>'
        f"{html.escape(text)}</text>"
    )
