"""Ah and hours that exist on paper only, and what ends them in truth."""

from collections.abc import Sequence

from bankSim.show.beware import IN_TRUTH
from bankSim.show.study_words import in_cases
from bankSim.sim.numbers import listing
from bankSim.study.traced import CautionChance

FEW = 0.1  # of the cases: with more of them on paper Ah and hours win nothing; own choice


def on_paper(cautions: Sequence[CautionChance]) -> list[CautionChance]:
    """Return the dangers that let Ah and hours exist on paper only, where more than a few have one.

    Parameters
    ----------
    cautions : sequence of CautionChance
        Of one bank.
    """
    return [
        one
        for one in cautions
        if one.topic in IN_TRUTH and one.severity == "danger" and one.chance.value > FEW
    ]


def in_truth(found: Sequence[CautionChance]) -> str:
    """Say what ends them: "in truth a fuse blows first (in all cases)".

    Parameters
    ----------
    found : sequence of CautionChance
        From `on_paper`, of one bank or of several; one is told by its largest chance.
    """
    told = []
    for topic, words in _ends(found).items():
        chances = [one.chance for one in found if one.topic == topic]
        told.append(f"{words} ({in_cases(max(chances, key=lambda one: one.value))})")
    return f"in truth {listing(told)}"


def in_truth_of_one(found: Sequence[CautionChance]) -> str:
    """Say the same without chances, where they are of single draws."""
    return f"in truth {listing(list(_ends(found).values()))}"


def _ends(found: Sequence[CautionChance]) -> dict[str, str]:
    topics = {one.topic for one in found}
    return {topic: words for topic, words in IN_TRUTH.items() if topic in topics}


def marked(told: str, *, paper: bool) -> str:
    """Put "On paper" before a sentence on Ah or hours that are on paper only."""
    return f"On paper, {told[:1].lower()}{told[1:]}" if paper else told
