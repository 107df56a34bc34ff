"""Stories and advice speak of file and command line; on the screen they name its places."""

from dataclasses import replace

from bankSim.show.blocks import Section
from bankSim.show.plain_words import reworded

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
    "Nothing: the file gives every value exactly. Give a key a spread to see what it does: "
    "{ value = 84.0, sd = 2.0 }.": "Nothing: the file gives every value exactly. Give one a spread "
    "to see what it does: page Your bank, How do you know?",
    'The run stops here because stop is "bank empty"; ': "The run stops here, at an empty bank; ",
    'stop = "end" would follow it.': "to follow it, choose on the page Your bank, Place and time, "
    "that the run ends after the whole time.",
    "for that, give a longer duration_h": "for that, give a longer time (Your bank, Place and "
    "time, Longest time)",
}

PLACES = {
    "and write it into the file: lead = { ..., fuse_A = ... }.": "and enter it here: Your bank, "
    "Batteries, Lead, Fuse.",
    "and write it into the file: main = { ..., fuse_A = ... }.": "and enter it here: Your bank, "
    "Wiring, Main conductors, Fuse.",
    "write that rule into the file if it is there.": "if it is there, enter it here: Your bank, "
    "Batteries, Protection.",
    "write them into the file if they are there.": "if they are there, enter them here: Your bank, "
    "Batteries, Protection, or Loads, Its own cut-off.",
    "and write it into the file as continuous_charge_A.": "and enter it here: Your bank, "
    "Batteries, Limits and insides, Most charge on the label.",
    "Check its voltage in the file.": "Check the voltage that it holds: Your bank, Chargers.",
    "a longer at_most_h: it counts": "Your bank, Chargers, For at most: it counts",
    "Not checked: what the file does not say": "Not checked: what cannot be entered or was left "
    "open",
}


def on_screen(text: str) -> str:
    """Return an advice that says where on the pages something is entered."""
    return reworded(text, PLACES)


def for_screen(section: Section) -> Section:
    """Return a section whose lines name pages instead of options of the command line."""
    return replace(section, lines=tuple(map(told_on_screen, section.lines)))


def told_on_screen(line: str) -> str:
    """Return a sentence of a story or a headline that names pages instead of options."""
    return reworded(line, WORDS)
