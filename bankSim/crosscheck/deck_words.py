"""The small parts of a netlist: numbers, comments, tables, long lines."""

import re
from collections.abc import Iterable

import numpy as np

from bankSim.model.curve import Curve, Floats, table_rows

TABLE_ERROR_V = 2e-5
LONGEST_COMMENT = 60
LINE_WIDTH = 96


def number(value: float) -> str:
    """Write a number with 15 digits, in a form that SPICE reads. [any unit]"""
    return f"{value:.15g}"


def comment(text: str, longest: int = LONGEST_COMMENT) -> str:
    """Return a comment line; of foreign text only [A-Za-z0-9 _-] is left, and not too much.

    Everything that could end the line or be read as a directive becomes a space.
    """
    harmless = re.sub(r"[^A-Za-z0-9 _-]", " ", text)
    return "* " + " ".join(harmless.split())[:longest]


def folded(line: str) -> str:
    """Break a long line of words into continuation lines.

    A comment goes on as comments: what follows a plus belongs to the last line that is none.
    """
    if len(line) <= LINE_WIDTH:
        return line
    mark = "*" if line.startswith("*") else "+"
    lines, current = [], ""
    for word in line.split(" "):
        if current and len(current) + len(word) >= LINE_WIDTH:
            lines.append(current)
            current = f"{mark} {word}"
        else:
            current = f"{current} {word}" if current else word
    return "\n".join([*lines, current])


def nested(function: str, terms: Iterable[str]) -> str:
    """Return min or max of many terms, as SPICE knows it for two only."""
    first, *rest = terms
    for term in rest:
        first = f"{function}({first}, {term})"
    return first


def pwl(curve: Curve, argument: str, scale: float = 1.0, part: float = 1.0) -> str:
    """Return the curve as a SPICE expression in `argument`; a constant becomes a number.

    `scale` multiplies it; it is read at 1 - (1 - argument) / part. [1], [1]

    Beyond its table SPICE's pwl() goes on in a straight line as the curve does; one point on
    each side sets the slope. Smooth pieces get points in between until the straight lines are
    within `TABLE_ERROR_V` of the curve.
    """
    z, y = table_rows(curve, _between(curve).tolist())
    below, above = z[0] - 1.0, z[-1] + 1.0
    z, y = np.array([below, *z, above]), scale * np.array([curve(below), *y, curve(above)])
    if np.ptp(y) == 0.0:
        return number(float(y[0]))
    if part != 1.0:
        z = 1.0 - (1.0 - z) * part
    pairs = ", ".join(f"{number(a)}, {number(b)}" for a, b in zip(z, y, strict=True))
    return f"pwl({argument}, {pairs})"


def _between(curve: Curve) -> Floats:
    """Return states of charge at which smooth pieces need extra points."""
    h = np.diff(curve.knots)
    c = curve.coefficients
    bend = np.maximum(np.abs(2.0 * c[:, 2]), np.abs(2.0 * c[:, 2] + 6.0 * c[:, 3] * h))
    parts = np.ceil(h * np.sqrt(bend / (8.0 * TABLE_ERROR_V))).astype(int)
    extra = [
        np.linspace(start, start + width, count + 1)[1:-1]
        for start, width, count in zip(curve.knots, h, parts, strict=False)
        if count > 1
    ]
    return np.concatenate(extra) if extra else np.empty(0)
