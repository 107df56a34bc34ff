"""Text that a command prints, or writes where it was asked to."""

import sys
from pathlib import Path

from bankSim.show.targets import write_text


def print_or_write(text: str, out: Path | None) -> None:
    """Print a text to standard output, or write it to a checked file and say so."""
    if out is None:
        sys.stdout.write(text)
    else:
        write_text(text, out)
        print(f"Written: {out}")
