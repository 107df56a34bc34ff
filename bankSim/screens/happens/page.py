"""The page from top to bottom: answer, cautions, course, cut-outs, charge, events, basis."""

import html

import streamlit as st

from bankSim.scenario.record import Scenario
from bankSim.screens.desk import desk
from bankSim.screens.happens.band import await_band, band_begun, band_if_quick
from bankSim.screens.happens.cautions_part import show_cautions
from bankSim.screens.happens.chances import chances_html
from bankSim.screens.happens.course import show_course
from bankSim.screens.happens.cut_outs import show_cut_outs
from bankSim.screens.happens.harder import ask_harder, found_harder, show_harder
from bankSim.screens.happens.parts import show_charge, show_events, show_rest, show_varied
from bankSim.screens.happens.wording import told_on_screen
from bankSim.screens.jobs import Job
from bankSim.screens.runs import result_or_wait, scenario_or_stop
from bankSim.show.blocks import Story
from bankSim.show.story import tell
from bankSim.sim.result import Result
from bankSim.study.quick_fan import QuickSpread


def show() -> None:
    """Show what will happen to the bank on the visitor's desk."""
    draft = desk().draft
    scenario = scenario_or_stop(draft)
    job = band_begun(draft, scenario)
    result = result_or_wait(draft, scenario)
    harder = found_harder(draft)
    spread = harder.spread if harder is not None else band_if_quick(draft, job)
    story = _story(draft.digest, result)
    _answer(story, result, spread)
    _band(scenario, spread, job)
    if harder is not None:
        with st.expander("What looking harder found"):
            show_harder(harder)
    elif spread is not None:
        ask_harder(draft, scenario)
    show_cautions(result)
    show_course(result, spread)
    show_cut_outs(result)
    show_charge(result, spread)
    show_events(draft, result)
    show_rest(draft, result, story.sections)


@st.cache_resource(max_entries=24, show_spinner=False)
def _story(digest: str, _result: Result) -> Story:
    return tell(_result)


def _answer(story: Story, result: Result, spread: QuickSpread | None) -> None:
    """Show the headline, its first sentence large, and the chances below."""
    first, *others = map(told_on_screen, story.headline)
    rest = f"<p>{html.escape(' '.join(others))}</p>" if others else ""
    st.html(f'<div class="answer"><p class="first">{html.escape(first)}</p>{rest}</div>')
    if spread is not None:
        st.html(chances_html(result.scenario, spread, result))


def _band(scenario: Scenario, spread: QuickSpread | None, job: Job | None) -> None:
    """Explain the chances, or say that they are on their way."""
    if spread is not None:
        show_varied(scenario, spread)
    elif job is not None:
        await_band(job)
