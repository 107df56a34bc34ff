"""Several batteries named in one sentence, without a list that nobody reads."""

from collections.abc import Sequence

from bankSim.sim.numbers import listing, quoted
from bankSim.sim.result import Result

MOST_NAMED = 4


def names(result: Result, places: Sequence[int]) -> str:
    """Name the batteries in these places, or say that it is all of them where that is shorter."""
    if len(places) > MOST_NAMED and len(set(places)) == len(result.batteries):
        return f"all {len(places)} batteries"
    return listing([quoted(result.batteries[place].name) for place in places], MOST_NAMED)


def amounts(result: Result, places: Sequence[int], texts: Sequence[str], most: int = 4) -> str:
    """Name each battery with a text behind it, the first `most`; the others are counted."""
    told = [
        f"{quoted(result.batteries[place].name)} {text}".rstrip()
        for place, text in zip(places, texts, strict=True)
    ]
    return listing(told, most)


def sentence(text: str) -> str:
    """Begin with a capital letter, as "All 16 batteries" at the start of a sentence."""
    return text[:1].upper() + text[1:]
