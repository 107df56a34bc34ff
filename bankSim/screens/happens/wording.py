"""Stories and advice speak of file and command line; on the screen they name its places."""

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

PLACES = {
    "and write it into the file: lead = { ..., fuse_A = ... }.": "and enter it here: Your bank, "
    "Batteries, Lead, Fuse.",
    "write that rule into the file if it is there.": "if it is there, enter it here: Your bank, "
    "Batteries, Protection.",
    "write them into the file if they are there.": "if they are there, enter them here: Your bank, "
    "Batteries, Protection, or Loads, Its own cut-off.",
    "and write it into the file as continuous_charge_A.": "and enter it here: Your bank, "
    "Batteries, Limits and insides, Most charge on the label.",
    "Check its voltage in the file.": "Check the voltage that it holds: Your bank, Chargers.",
    "Not checked: what the file does not say": "Not checked: what cannot be entered or was left "
    "open",
}


def on_screen(text: str) -> str:
    """Return an advice that says where on the pages something is entered."""
    for ours, theirs in PLACES.items():
        text = text.replace(ours, theirs)
    return text


def for_screen(section: Section) -> Section:
    """Return a section whose lines name pages instead of options of the command line."""
    return replace(section, lines=tuple(_told(line) for line in section.lines))


def _told(line: str) -> str:
    for ours, theirs in WORDS.items():
        line = line.replace(ours, theirs)
    return line
