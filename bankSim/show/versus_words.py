"""Words for what two scenarios are compared in: charge given, hours, charge taken in."""

from dataclasses import dataclass

from bankSim.study.answers import BANK, CHARGED, RUNTIME, Answer
from bankSim.study.versus import CHARGING, UNTIL_OFF


@dataclass(frozen=True, slots=True)
class Words:
    """How one answer is spoken of.

    Parameters
    ----------
    noun : str
        As in "for hours".
    counted : str
        In tables.
    does : str
        Behind the name of a side.
    nothing : str
        Behind "neither", where both do nothing.
    more, less : str
    less_is_better : bool
    until : str
        In front of the sentence, what ends the hours; "" where `does` says it.
    """

    noun: str
    counted: str
    does: str
    nothing: str
    more: str = "more"
    less: str = "less"
    less_is_better: bool = False
    until: str = ""


_WORDS = {
    BANK.word: Words("Ah", "Ah delivered", "delivers", "delivers anything"),
    RUNTIME.word: Words(
        "hours", "hours fed", "feeds its loads", "feeds its loads", "longer", "shorter"
    ),
    UNTIL_OFF.word: Words(
        "hours until a load stays off",
        "hours until a load stays off",
        "lasts",
        "lasts any time until a load stays off",
        "longer",
        "shorter",
        until="until a load stays off or the loads cannot be fed",
    ),
    CHARGED.word: Words("Ah taken in", "Ah taken in", "takes in", "takes in anything"),
    CHARGING.word: Words(
        "hours of charging",
        "hours until 95 % is in",
        "has 95 % of its charge in",
        "takes in anything",
        "later",
        "sooner",
        less_is_better=True,
    ),
}


def words_of(answer: Answer) -> Words:
    """Return the words for an answer of `study versus`."""
    return _WORDS[answer.word]
