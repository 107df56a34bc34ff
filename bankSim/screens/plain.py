"""Words from files and people, shown as written: never as markup, formula, picture or link."""

import re

from bankSim.sim.numbers import clean

# A word joiner (U+2060: no width, no break) between them keeps the screen library from making links
# of addresses, and arrows or dashes of signs; it looks at words after all escapes are read.
_JOINER = "\u2060"
_ADDRESSES_AND_SIGNS = re.compile(
    r"(?<=:)(?=//)|(?<=www)(?=\.)|(?<=@)|(?<=-)(?=[->])|(?<=[<>~])(?=[=-])", re.IGNORECASE
)
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
    return _MARKUP.sub(r"\\\1", _ADDRESSES_AND_SIGNS.sub(_JOINER, clean(text, longest)))
