"""Scenario files: shipped ones with damage to text or to values, and their tables."""

import copy
import random
import tomllib
from typing import Any

from tests.hostile import shipped
from tests.hostile.mutate import damaged
from tests.hostile.write_toml import toml_text

ODD: tuple[Any, ...] = (
    0, 1, -1, 0.0, 1e-12, 1e-6, 0.5, 1e3, 1e6, 1e12, 1e300, -1e300, float("nan"), float("inf"),
    2**63, -(2**80), True, False, "", "LFP", "AGM", "x" * 300, "=1+1", "<b>", "../../x", "a\nb",
    "\u202e", [], {}, [[]], [0, 1], {"value": 1.0, "sd": 0.1}, {"low": 1, "high": 2}, "18:00",
    {"value": 1, "sd": 1e300}, [1] * 200,
)  # fmt: skip


def scenario(rng: random.Random) -> dict[str, bytes]:
    """A shipped scenario with its tables, damaged in its bytes or in its values."""
    name = rng.choice(sorted(shipped.scenarios()))
    content, files = shipped.scenarios()[name], dict(shipped.tables())
    used = {name: table for name, table in files.items() if name.encode() in content}
    if rng.random() < 0.35:
        content = damaged(rng, content)
    else:
        document = tomllib.loads(content.decode())
        for _ in range(1 + int(rng.expovariate(0.8))):
            change(rng, document)
        content = toml_text(document).encode("utf-8", "surrogatepass")
    if used and rng.random() < 0.15:
        damage = rng.choice(sorted(used))
        used[damage] = damaged(rng, used[damage])
    return {**used, "bank.toml": content}


def places(value: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """List every place of a document below its top."""
    items = value.items() if isinstance(value, dict) else enumerate(value)
    found = []
    for key, inner in items:
        found.append((*path, key))
        if isinstance(inner, dict | list):
            found += places(inner, (*path, key))
    return found


def change(rng: random.Random, document: dict[str, Any]) -> None:
    """Change one value, drop it, double it, or put it where another stands."""
    known = places(document)
    if not known:
        return
    *way, last = rng.choice(known)
    holder: Any = document
    for part in way:
        holder = holder[part]
    what = rng.random()
    if what < 0.12:
        del holder[last]
    elif what < 0.2 and isinstance(holder, list):
        holder.extend([holder[last]] * rng.choice((1, 1, 2, 70)))
    elif what < 0.28:
        holder[last] = _at(document, rng.choice(known))
    else:
        holder[last] = _changed(rng, holder[last])


def _at(document: Any, path: tuple[Any, ...]) -> Any:
    """Return a copy of what stands at a place."""
    for part in path:
        document = document[part]
    return tomllib.loads(toml_text({"x": document}))["x"]


def _changed(rng: random.Random, value: Any) -> Any:
    """Return a number of the same sort, near or far; now and then anything."""
    if isinstance(value, bool) or not isinstance(value, int | float) or rng.random() < 0.25:
        return copy.deepcopy(rng.choice(ODD))  # lists among them would be changed for all cases
    way = rng.random()
    if way < 0.5:
        return type(value)(min(max(value * 10.0 ** rng.uniform(-4, 4), -1e15), 1e15))
    if way < 0.85:
        return type(value)(value * rng.uniform(0.5, 1.5))
    return rng.choice((0, -value, value + 1, value - 1))
