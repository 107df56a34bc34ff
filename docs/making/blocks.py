"""Marked blocks inside pages that people write, and tables in Markdown."""

import re
from collections.abc import Callable, Mapping, Sequence

Maker = Callable[[], str]
_MARK = re.compile(r"(<!-- made by docs/make\.py: ([\w -]+) -->\n)(.*?)(<!-- end -->)", re.DOTALL)


def has_marks(text: str) -> bool:
    """Tell whether a page holds a marked block."""
    return _MARK.search(text) is not None


def filled(text: str, makers: Mapping[str, Maker]) -> str:
    """Return a page with every marked block made anew."""
    return _MARK.sub(lambda found: f"{found[1]}{makers[found[2]]()}\n{found[4]}", text)


def table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Return a table; bars inside cells are escaped."""
    lines = [head, ["---"] * len(head), *rows]
    return "\n".join("| " + " | ".join(_cell(cell) for cell in line) + " |" for line in lines)


def _cell(text: str) -> str:
    return " ".join(str(text).split()).replace("|", "\\|")
