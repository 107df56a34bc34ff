"""The bank as a drawing: batteries, leads, links, main conductors, loads and chargers."""

from bankSim.model.bank import Bank
from bankSim.scenario.keys import ScenarioKeys
from bankSim.show.wiring_columns import MOST_COLUMNS, MOST_USERS, draw_columns
from bankSim.show.wiring_facts import Facts, wiring_facts
from bankSim.show.wiring_strips import draw_strips
from bankSim.show.wiring_words import wiring_words, words_of
from bankSim.sim.numbers import quoted

__all__ = ["wiring_svg", "wiring_words"]

TITLE = "Wiring of the bank"


def wiring_svg(
    bank: Bank,
    *,
    picked: int | None = None,
    narrow: bool = False,
    keys: ScenarioKeys | None = None,
) -> str:
    """Draw a bank as SVG that needs nothing else and holds no style sheet and no script.

    Parameters
    ----------
    bank : Bank
    picked : int, optional
        Place of a battery, counted from 0, that gets a thick frame.
    narrow : bool
        For a column of about 390 px; otherwise it is made for 960 px. Both scale.
    keys : ScenarioKeys, optional
        What the file says; lengths of cables are nowhere else.

    Returns
    -------
    svg : str
        On a white sheet of its own, so that it reads on any ground and without colours. Names are
        escaped, and shortened to their room; numbers are never cut.
    """
    facts = wiring_facts(bank, keys)
    if narrow or not _fits_columns(facts):
        paper, height_px = draw_strips(facts, picked, narrow=narrow)
    else:
        paper, height_px = draw_columns(facts, picked)
    words = words_of(facts)
    if picked is not None and 0 <= picked < len(facts.sources):
        words.append(f"{quoted(facts.sources[picked].name)} has a thick frame.")
    return paper.svg(height_px, TITLE, words)


def _fits_columns(facts: Facts) -> bool:
    most = max(len(facts.loads), len(facts.chargers))
    return len(facts.sources) <= MOST_COLUMNS and most <= MOST_USERS
