"""The run of a draft for a page: at once when it is short, else as a job with progress and Stop."""

import time
from collections.abc import Callable
from typing import Any

import streamlit as st

from bankSim.errors import SimulationError
from bankSim.model.bank import Bank
from bankSim.scenario.draft import Draft
from bankSim.scenario.record import Scenario
from bankSim.screens.answers import checked, keep, known
from bankSim.screens.bank.fault_words import fault_lines
from bankSim.screens.frame import foot
from bankSim.screens.jobs import (
    PERCENT,
    Progress,
    answer_of,
    job_of,
    start,
    tell_trouble,
    was_stopped,
)
from bankSim.screens.plain import plain
from bankSim.screens.router import page_of
from bankSim.sim.result import Result

SHORT_S = 0.8
STEPS = 5_000  # between two looks at the clock
MOST_FAULTS, LONGEST_FAULT = 12, 500
_JOB = "run"


def scenario_or_stop(draft: Draft) -> Scenario:
    """Return the scenario of a draft; where something is wrong, say what, and end the page."""
    found = checked(draft)
    if found.scenario is not None:
        return found.scenario
    st.error("**This bank cannot be predicted yet.** Something in it has to be put right first:")
    lines = fault_lines(draft, found)
    for line in lines[:MOST_FAULTS]:
        st.markdown(f"- {plain(line, LONGEST_FAULT)}")
    if len(lines) > MOST_FAULTS:
        st.markdown(f"- and {len(lines) - MOST_FAULTS} more")
    st.markdown("Each of these is also told at its field on the page *Your bank*.")
    st.page_link(page_of("your_bank"), label="**Mend it on Your bank**", icon=":material/build:")
    foot()
    st.stop()


def result_or_wait(draft: Draft, scenario: Scenario) -> Result:
    """Return the run of a draft, every value in the middle.

    A run that takes long goes on in a job; the page then ends with its progress, and is shown
    again when it is done.
    """
    found = known(draft)
    if found is not None:
        return found
    if was_stopped(_JOB, draft.digest):
        _offer_again(draft, scenario)
    job = job_of(_JOB, draft.digest)
    if job is None:
        engine = _engine(scenario)
        try:
            if _ends_soon(engine):
                return keep(draft, _result(scenario, engine))
        except SimulationError as trouble:
            tell_trouble(trouble)
            foot()
            st.stop()
        job = start(_JOB, draft.digest, lambda progress: _finished(scenario, engine, progress))
    answer = answer_of(job, "Predicting this bank, which takes a while")
    if answer is None:
        foot()
        st.stop()
    result: Result = keep(draft, answer)
    return result


def _offer_again(draft: Draft, scenario: Scenario) -> None:
    st.info("Stopped. Nothing is predicted for this bank as long as you do not want it.")
    again = st.button("Predict it", type="primary", key="run again")
    if again:
        engine = _engine(scenario)
        start(_JOB, draft.digest, lambda progress: _finished(scenario, engine, progress))
        st.rerun()
    foot()
    st.stop()


def _engine(scenario: Scenario) -> Any:
    from bankSim.sim.engine import Engine

    return Engine(scenario.bank)


def _short_s(bank: Bank) -> float:
    """How long a page marches before it makes a job of it: with balancers it runs twice. [s]"""
    from bankSim.sim.balancing import LONGER, has_balancers

    return SHORT_S / (1 + LONGER) if has_balancers(bank) else SHORT_S


def _ends_soon(engine: Any) -> bool:
    """March for a moment; tell whether the run has ended."""
    until = time.perf_counter() + _short_s(engine.bank)
    while time.perf_counter() < until:
        if engine.go_on(min(STEPS, engine.steps_at_once)):
            return True
    return False


def _finished(scenario: Scenario, engine: Any, progress: Progress) -> Result:
    """March to the end in a thread of its own."""
    from bankSim.sim.run import parts_of

    def tell(part: float) -> None:
        progress(PERCENT, round(100.0 * part), 100)

    first, second = parts_of(scenario.bank, tell)
    return _result(scenario, engine.finish(first), second)


def _result(
    scenario: Scenario, engine: Any, progress: Callable[[float], None] | None = None
) -> Result:
    from bankSim.sim.run import result_of

    return result_of(scenario, engine, progress)
