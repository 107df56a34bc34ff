"""Scenarios that are ready to start from: shipped with the program, by a short word."""

from bankSim.scenario.draft import Draft
from bankSim.scenario.starter import starter_text


def first_draft() -> Draft:
    """Return what a new visitor finds."""
    return Draft(starter_text(), name="bank.toml")
