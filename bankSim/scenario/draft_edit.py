"""Changes a scenario's text in one place and leaves every other letter as it is.

Each function returns the new text, or None where the text is laid out in a way that it does not
know; the caller compares what the new text says with what it should say.
"""

import re
from typing import Any

from bankSim.scenario.draft_places import Block, Places, Span
from bankSim.scenario.draft_shape import dotted, key_word, literal, stands_alone, tables_text
from bankSim.scenario.lines import Path

_END_OF_ITEM = re.compile(r"[ \t]*,?[ \t]*(?:#[^\n]*)?\n")


def value_at(data: Any, path: Path) -> Any:
    """Return what stands at a path; None when nothing does."""
    for part in path:
        try:
            data = data[part]
        except (KeyError, IndexError, TypeError):
            return None
    return data


def set_text(text: str, path: Path, wanted: dict[str, Any]) -> str | None:
    """Write what `wanted` has at a path.

    Parameters
    ----------
    text : str
        TOML with plain line ends.
    path : tuple of str and int
        A key that is new or has a new value.
    wanted : dict
        The whole document as it shall be.
    """
    places = Places(text)
    if path in places.spans:
        return _replaced(text, *places.spans[path], literal(value_at(wanted, path)))
    if places.under(path):  # a table, or several, becomes something else
        return set_text(_without(text, places.under(path)), path, wanted)
    for length in range(len(path) - 1, -1, -1):
        above = path[:length]
        if above in places.spans:
            return _replaced(text, *places.spans[above], literal(value_at(wanted, above)))
        if above == () or places.headed(above):
            return _add_key(places, above, path, wanted)
    return None


def drop_text(text: str, path: Path, wanted: dict[str, Any]) -> str | None:
    """Take a key away; `wanted` is the document without it."""
    places = Places(text)
    for length in range(1, len(path)):  # tables that hold nothing any more
        above = path[:length]
        if value_at(wanted, above) is None and places.under(above):
            return _without(text, places.under(above))
    if path in places.pairs:
        start, end = places.pairs[path]
        return _replaced(text, places.line_start(start), places.line_end(end), "")
    if path in places.spans:
        return _without_inner(places, path, wanted)
    blocks = places.under(path)
    return _without(text, blocks) if blocks else None


def is_inline(text: str, path: Path) -> bool:
    """Tell whether a value is written behind an equals sign, not under a header."""
    return path in Places(text).spans


def item_text(text: str, array: Path, place: int) -> str | None:
    """Return an item of an array of tables as it is written, its comments too."""
    places = Places(text)
    blocks = places.under((*array, place))
    if blocks:
        return "".join(text[start:end] for start, end in _own(blocks))
    return _inner(places, (*array, place))


def remove_item(text: str, array: Path, place: int, wanted: dict[str, Any]) -> str | None:
    """Take an item out of an array of tables."""
    places = Places(text)
    blocks = places.under((*array, place))
    if blocks:
        return _without(text, blocks)
    if (*array, place) not in places.spans:
        return None
    items = _items(places, array)
    if len(items) == 1:
        return drop_text(text, array, wanted)
    lines = _own_lines(places, array, place)
    if lines is not None:
        return _replaced(text, *lines, "")
    if place + 1 < len(items):
        return _replaced(text, items[place][0], items[place + 1][0], "")
    return _replaced(text, items[place - 1][1], items[place][1], "")


def insert_item(text: str, array: Path, place: int, written: str) -> str | None:
    """Put an item, written as `item_text` gives it, before the item at `place`, or last.

    Parameters
    ----------
    written : str
        With a header when the array has headers or no items yet, in braces otherwise.
    """
    places = Places(text)
    if array in places.spans:
        items = _items(places, array)
        if not items:
            return _replaced(text, *places.spans[array], f"[{written}]")
        if place < len(items):
            return _replaced(text, items[place][0], items[place][0], f"{written}, ")
        return _replaced(text, items[-1][1], items[-1][1], f", {written}")
    here = places.under((*array, place))
    if here:
        return _spliced(text, here[0].start, written)
    before = places.under(array) or places.under(array[:-1])
    return _spliced(text, before[-1].last if before else len(text), written)


def _add_key(places: Places, above: Path, path: Path, wanted: dict[str, Any]) -> str | None:
    """Write a key that is new in a table with a header, or at the top."""
    key, rest = path[len(above)], path[len(above) + 1 :]
    value = value_at(wanted, (*above, key))
    if not isinstance(key, str):
        return None
    inner = [pair for pair in places.pairs if pair[: len(above) + 1] == (*above, key)]
    if inner and rest:
        words = [part for part in path[len(above) :] if isinstance(part, str)]
        line = f"{dotted(words)} = {literal(value_at(wanted, path))}\n"
        return _spliced_line(places, places.line_end(places.pairs[inner[-1]][1]), line)
    if stands_alone(key, value):
        names = [part for part in (*above, key) if isinstance(part, str)]
        blocks = places.under(above)
        where = blocks[-1].last if blocks else _first_array(places)
        return _spliced(places.text, where, tables_text(names, value))
    block = places.headed(above)
    assert block is not None
    return _spliced_line(
        places, _end_of_keys(places, block), f"{key_word(key)} = {literal(value)}\n"
    )


def _end_of_keys(places: Places, block: Block) -> int:
    """Return where a new line of a table goes: below its last key."""
    ends = [end for _, end in places.pairs.values() if block.inside <= end <= block.end]
    if ends:
        return places.line_end(max(ends))
    return block.inside if block.path else block.end


def _first_array(places: Places) -> int:
    """Return where a new table goes: before the first array of tables, or last."""
    arrays = [block.start for block in places.blocks if len(block.path) > 1]
    return arrays[0] if arrays else len(places.text)


def _without_inner(places: Places, path: Path, wanted: dict[str, Any]) -> str | None:
    """Take a key out of braces; braces with nothing in them go too."""
    above = path[:-1]
    value = value_at(wanted, above)
    if value is None:
        return drop_text(places.text, above, wanted)
    if above not in places.spans:
        return None
    return _replaced(places.text, *places.spans[above], literal(value))


def _items(places: Places, array: Path) -> list[Span]:
    found: list[Span] = []
    while (*array, len(found)) in places.spans:
        found.append(places.spans[(*array, len(found))])
    return found


def _own_lines(places: Places, array: Path, place: int) -> Span | None:
    """Return the lines of an item in brackets that shares them with no other, comments too."""
    start, end = places.spans[(*array, place)]
    first, behind = places.line_start(start), places.line_end(end)
    before = places.spans[(*array, place - 1)][1] if place else places.spans[array][0]
    blank_before = not places.text[first:start].strip()
    if not blank_before or not _END_OF_ITEM.fullmatch(places.text[end:behind]):
        return None
    return places.with_comments_above(first, places.line_end(before)), behind


def _inner(places: Places, path: Path) -> str | None:
    span = places.spans.get(path)
    return places.text[slice(*span)] if span else None


def _own(blocks: list[Block]) -> list[Span]:
    """Return what belongs to an item: comments that stand apart below it do not."""
    runs: list[list[Block]] = []
    for block in blocks:
        if runs and runs[-1][-1].end == block.start:
            runs[-1].append(block)
        else:
            runs.append([block])
    return [(run[0].start, run[-1].last) for run in runs]


def _without(text: str, blocks: list[Block]) -> str:
    for start, end in reversed(_own(blocks)):
        head, tail = text[:start], text[end:]
        if head.endswith("\n\n") or not head:
            tail = tail.removeprefix("\n")
        text = head + tail
    return text


def _spliced(text: str, place: int, written: str) -> str:
    """Put whole lines in; tables of the top get an empty line before, all one behind."""
    head, tail = text[:place], text[place:]
    if head and not head.endswith("\n"):
        head += "\n"
    inner = written.startswith("[") and "." in written.split("]", 1)[0]
    if head and not inner and not head.endswith("\n\n"):
        head += "\n"
    written = written.rstrip("\n") + "\n"
    if tail and not tail.startswith("\n"):
        written += "\n"
    return head + written + tail


def _spliced_line(places: Places, place: int, line: str) -> str:
    head, tail = places.text[:place], places.text[place:]
    if head and not head.endswith("\n"):
        head += "\n"
    return head + line + tail


def _replaced(text: str, start: int, end: int, new: str) -> str:
    return text[:start] + new + text[end:]
