"""Stories speak to the command line here and there; on the screen they name the pages."""

from dataclasses import replace

from bankSim.show.blocks import Section

WORDS = {
    "Which of them count: the question matters.": "Which of them count most: page What if.",
    "A value that you know goes into the file as a plain number; one that you know roughly as "
    "{ value = ..., sd = ... } or { low = ..., high = ... }.": "A value that you know better "
    "goes in on the page Your bank; the file also takes a spread, as "
    "{ value = ..., sd = ... } or { low = ..., high = ... }.",
    "A draw can be run again alone, with its whole story: --draw NUMBER (from 0). What to "
    "measure so that the range gets narrower: the question matters.": "What to measure so that "
    "the range gets narrower: page What if.",
    "So many draws did not reach the precision wanted; ask for more with --draws.": "So many "
    "draws did not reach the precision wanted.",
}


def for_screen(section: Section) -> Section:
    """Return a section whose lines name pages instead of options of the command line."""
    return replace(section, lines=tuple(_told(line) for line in section.lines))


def _told(line: str) -> str:
    for ours, theirs in WORDS.items():
        line = line.replace(ours, theirs)
    return line
