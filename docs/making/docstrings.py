"""Reads the project's docstrings: what it is, its parameters, and the other sections."""

import inspect
import re
from dataclasses import dataclass

_HEAD = re.compile(r"^([A-Z]\w+)\n-{3,}$", re.MULTILINE)
_UNIT = re.compile(r"\[([^\[\]]+)\]")
_BY_ENDING = {
    "Ah": "Ah", "Wh": "Wh", "A": "A", "V": "V", "W": "W", "s": "s", "h": "h", "C": "degC",
    "ohm": "ohm", "mohm": "mohm", "kg": "kg", "K": "K", "percent": "%",
}  # fmt: skip


@dataclass(frozen=True)
class Item:
    """One parameter, or several that share a line."""

    name: str
    kind: str
    text: str

    @property
    def unit(self) -> str:
        """What stands in brackets at the end, else what the name ends in; empty for none."""
        last = self.text.strip().splitlines()[-1:] or [""]
        found = _UNIT.findall(last[0]) if last[0].rstrip().endswith("]") else []
        ending = _BY_ENDING.get(self.name.rpartition("_")[2], "")
        return (found[-1].split(" per ")[0] if len(found) == 1 else ending) or ending

    @property
    def meaning(self) -> str:
        """The text without its unit."""
        one_line = " ".join(self.text.split())
        return re.sub(r"(\s*\[[^\[\]]+\],?)+$", "", one_line).strip()


@dataclass(frozen=True)
class Doc:
    """A docstring in parts."""

    lead: str
    sections: dict[str, str]

    def items(self, section: str = "Parameters") -> list[Item]:
        """Return the entries of a section, one for each name."""
        found: list[Item] = []
        for name, kind, text in _entries(self.sections.get(section, "")):
            found += [Item(one.strip(), kind, text) for one in name.split(",")]
        return found


def read(thing: object) -> Doc:
    """Return the docstring of a function or class in parts."""
    text = inspect.cleandoc(inspect.getdoc(thing) or "")
    parts = _HEAD.split(text)
    sections = {head: body.strip("\n") for head, body in zip(parts[1::2], parts[2::2], strict=True)}
    return Doc(parts[0].strip(), sections)


def _entries(body: str) -> list[tuple[str, str, str]]:
    """Split a section in entries: name, kind, text."""
    found: list[tuple[str, str, list[str]]] = []
    for line in body.splitlines():
        if line and not line.startswith(" "):
            name, _, kind = line.partition(" : ")
            found.append((name, kind, []))
        elif found:
            found[-1][2].append(line.strip())
    return [(name, kind, "\n".join(lines).strip()) for name, kind, lines in found]
