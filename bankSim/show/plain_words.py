"""Sentences that speak of file and command line, told to people who have neither before them."""

from collections.abc import Mapping
from dataclasses import replace

from bankSim.show.blocks import Section

PLAIN = {
    # how sure it is
    "Which of them count: the question matters.": "Which of them count most can be worked out.",
    "A value that you know goes into the file as a plain number; one that you know roughly as "
    "{ value = ..., sd = ... } or { low = ..., high = ... }.": "A value that is known better can "
    "be put in as one number, or with a narrower spread; then ask again.",
    "Nothing: the file gives every value exactly. Give a key a spread to see what it does: "
    "{ value = 84.0, sd = 2.0 }.": "Nothing: every value was given as exactly known, so this "
    "range tells less than it seems to.",
    "A draw can be run again alone, with its whole story: --draw NUMBER (from 0). What to "
    "measure so that the range gets narrower: the question matters.": "A draw can be run again "
    "alone by its number (the first one is 0) and the seed. What to measure so that the range "
    "gets narrower can be worked out, too.",
    "So many draws did not reach the precision wanted; ask for more with --draws.": "So many "
    "draws did not reach the precision wanted; more of them would.",
    # when the run ends
    'The run stops here because stop is "bank empty"; ': "The run was asked to stop at an empty "
    "bank; ",
    'stop = "end" would follow it.': "a run of the whole time would follow it.",
    "for that, give a longer duration_h": "for that, let the run be longer",
    # what to do
    "and write it into the file: lead = { ..., fuse_A = ... }.": "and predict again with it.",
    "and write it into the file: main = { ..., fuse_A = ... }.": "and predict again with it.",
    "write that rule into the file if it is there.": "if it is there, predict again with it.",
    "write them into the file if they are there.": "if they are there, predict again with them.",
    "and write it into the file as continuous_charge_A.": "and hold that against it.",
    "Check its voltage in the file.": "Check the voltage that it holds.",
    "a longer at_most_h: it counts": "a longer limit: it counts",
    "Not checked: what the file does not say": "Not checked: what was not told",
}


def in_plain_words(text: str) -> str:
    """Return a sentence without options of the command line and keys of the file."""
    return reworded(text, PLAIN)


def reworded(text: str, words: Mapping[str, str]) -> str:
    """Return a text with sentences, or parts of them, put in other words.

    Parameters
    ----------
    text : str
    words : mapping
        From what may stand there to what shall stand there.
    """
    for ours, theirs in words.items():
        text = text.replace(ours, theirs)
    return text


def plain_section(section: Section) -> Section:
    """Return a section with its lines in plain words; its table stays."""
    return replace(section, lines=tuple(map(in_plain_words, section.lines)))
