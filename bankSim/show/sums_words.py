"""What each step from the labels to the bank takes or gives, in words; and its middle."""

from bankSim.show.study_words import MIDDLE
from bankSim.study.spread import Band
from bankSim.study.sums import Part, SumsResult

WHERE = {
    "held": "to age, generous labels and what was not charged",
    "equal cells": "to what cannot be drawn before a cut-out (limit, current, cold)",
    "alone": "to weak cells (locked in behind them)",
    "no leads": "to the order of the cut-outs and how the current is shared",
    "bank": "to the wiring (leads, links, main cable)",
}
GAINED = {
    "held": "that the cells hold beyond the label",
    "equal cells": "from below 0 % of the charge",
    "alone": "by cells that differ",
    "no leads": "by the order of the cut-outs and how the current is shared",
    "bank": "by the wiring (leads, links, main cable)",
}
CAUSES = {
    "held": "age, label, charge",
    "equal cells": "not drawn before cut-out",
    "alone": "weak cells",
    "no leads": "order, sharing",
    "bank": "wiring",
}


def is_single(result: SumsResult) -> bool:
    """Tell whether there is one battery only, so that nothing is shared."""
    return len(result.plan.scenario.bank.batteries) == 1


def middle(band: Band) -> float:
    """Return the median. In the unit of the answer."""
    return band.percentiles[MIDDLE].value


def change_of(part: Part) -> float:
    """Return the median change against the step before; 0 for the first step.

    In the unit of the answer.
    """
    return 0.0 if part.change is None else middle(part.change)
