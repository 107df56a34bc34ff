"""Words from files and people, shown as written: never as markup, formula, picture or link."""

import re

from bankSim.sim.numbers import clean

_MARKUP = re.compile(r"([\\`*_{}\[\]()<>#+\-.!|~$:&\"'=^/@])")


def plain(text: str, longest: int = 20_000) -> str:
    """Return text that Streamlit's markdown shows letter for letter, on one line.

    Every label, heading, caption, option and message of the screen is markdown; whatever a person
    or a file can write into it goes through here first.

    Parameters
    ----------
    text : str
    longest : int
        Letters kept.
    """
    return _MARKUP.sub(r"\\\1", clean(text, longest))
