"""Options that take all numbers behind them: ``--full 3.45 3.60 3.50`` without quotes.

A command line knows options with one value, or with a fixed number. Here the words behind such an
option, up to the next option, are put together before they are looked at. Some options do so only
when the voltages have been typed already: ``--delivered-Ah 148 2.31 2.52`` leaves the voltages
alone, and so does ``--delivered-Ah 148 / 149 2.31 2.52``.
"""

from typing import Any

from typer.core import TyperCommand


def gathered(words: list[str], greedy: tuple[str, ...], careful: tuple[str, ...] = ()) -> list[str]:
    """Return the words with everything behind a greedy option as one word.

    Parameters
    ----------
    words : list of str
    greedy : tuple of str
        Options as typed, with their dashes, that take all words up to the next option.
    careful : tuple of str
        Options that do so only where numbers stand before all options; else they take one word,
        and more only across slashes.
    """
    if words and _is_number(words[0]):
        greedy, careful = (*greedy, *careful), ()
    out: list[str] = []
    taking, option = False, ""
    for word in words:
        if word.startswith("-") and len(word) > 1 and not _is_number(word[1:]):
            option, _, value = word.partition("=")
            taking = option in (*greedy, *careful)
            out += [option, value] if taking and value else [word]
        elif taking and out[-1] != option and _goes_on(out[-1], word, option in greedy):
            out[-1] = f"{out[-1]} {word}"
        else:
            taking = taking and out[-1] == option
            out.append(word)
    return out


def _is_number(word: str) -> bool:
    return word[:1].isdigit() or word[:1] == "."


def _goes_on(before: str, word: str, takes_all: bool) -> bool:
    """Tell whether a word belongs to what an option has taken so far."""
    return takes_all or word.startswith("/") or before.endswith("/")


def without_minus(words: list[str], flags: tuple[str, ...] = ("--no-plots", "--help")) -> list[str]:
    """Return the words with the minus of loose numbers as another mark.

    A command line would take "-2.5" among the voltages for an option; with the mark it comes to
    where voltages are read, which tells what is wrong with it.
    """
    out: list[str] = []
    for before, word in zip(["", *words], words, strict=False):
        value = before.startswith("--") and "=" not in before and before not in flags
        loose = word.startswith("-") and _is_number(word[1:]) and not value
        out.append(f"\N{MINUS SIGN}{word[1:]}" if loose else word)
    return out


class SnapshotCommand(TyperCommand):
    """The command ``snapshot``."""

    greedy: tuple[str, ...] = ("--full",)
    careful: tuple[str, ...] = ("--delivered-Ah", "--battery-V")

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Gather, then read as usual."""
        return super().parse_args(ctx, without_minus(gathered(args, self.greedy, self.careful)))


class DeeperCommand(SnapshotCommand):
    """The command ``deeper``: every option may have two sides."""

    greedy = ("--cells", "--Ah", "--kg", "--names", "--Wh", "--at-A", "--chemistry")
    careful = ()
