"""Options that take all numbers behind them: ``--full 3.45 3.60 3.50`` without quotes.

A command line knows options with one value, or with a fixed number. Here the words behind such an
option, up to the next option, are put together before they are looked at.
"""

from typing import Any

from typer.core import TyperCommand


def gathered(words: list[str], greedy: tuple[str, ...]) -> list[str]:
    """Return the words with everything behind a greedy option as one word.

    Parameters
    ----------
    words : list of str
    greedy : tuple of str
        Options as typed, with their dashes.
    """
    out: list[str] = []
    open_option = False
    for word in words:
        if word.startswith("-") and len(word) > 1 and not word[1:2].isdigit():
            option, _, value = word.partition("=")
            open_option = option in greedy
            out += [option, value] if open_option and value else [word]
        elif open_option and out and not out[-1].startswith("--"):
            out[-1] = f"{out[-1]} {word}"
        else:
            out.append(word)
    return out


class SnapshotCommand(TyperCommand):
    """The command ``snapshot``."""

    greedy: tuple[str, ...] = ("--full", "--delivered-Ah", "--battery-V")

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Gather, then read as usual."""
        return super().parse_args(ctx, gathered(args, self.greedy))


class DeeperCommand(SnapshotCommand):
    """The command ``deeper``: every option may have two sides."""

    greedy = ("--cells", "--Ah", "--kg", "--names", "--Wh", "--at-A", "--chemistry")
