"""Looking harder: the whole study of the spread as a job, and what it tells."""

from dataclasses import dataclass

import numpy as np
import streamlit as st

from bankSim.kernels.arrays import Floats
from bankSim.scenario.draft import Draft
from bankSim.scenario.record import Scenario
from bankSim.screens.frame import show_section
from bankSim.screens.happens.wording import for_screen, told_on_screen
from bankSim.screens.jobs import Progress, answer_of, job_of, start, was_stopped
from bankSim.screens.pictures import show_drawn
from bankSim.screens.plain import plain
from bankSim.screens.shelf import Shelf
from bankSim.show.blocks import Story
from bankSim.show.files import png_of
from bankSim.show.unknowns_table import TITLE
from bankSim.sim.cautions.lost_takers import LOSES_TAKERS
from bankSim.study.quick_fan import QuickSpread
from bankSim.study.spread import Band, SpreadResult

KEPT = 12
DPI = 110
FIGURES = {
    "chances": "What the bank delivers, and when each battery cuts out, in all cases",
    "shares": "Between which numbers each battery ends up",
}
SHOWN_ELSEWHERE = ("Safety", TITLE)
_JOB = "look harder"


@dataclass(frozen=True, eq=False)
class Harder:
    """What a study found, made ready to be shown.

    Parameters
    ----------
    spread : QuickSpread
        In the form of the quick one.
    story : Story
    pictures : tuple of (str, bytes)
        Name and PNG.
    """

    spread: QuickSpread
    story: Story
    pictures: tuple[tuple[str, bytes], ...]


_FOUND: Shelf[Harder] = Shelf(KEPT)


def found_harder(draft: Draft) -> Harder | None:
    """Return what looking harder found, if somebody did and it is done."""
    job = job_of(_JOB, draft.digest)
    if job is not None and isinstance(job.answer, Harder):
        _FOUND.put(draft.digest, job.answer)
    return _FOUND.get(draft.digest)


def ask_harder(draft: Draft, scenario: Scenario) -> None:
    """Offer to look harder, or show how far that is."""
    job = job_of(_JOB, draft.digest)
    if job is not None:
        answer_of(job, "Looking harder")
        return
    if was_stopped(_JOB, draft.digest):
        st.caption("Stopped; the bands shown are those of the quick look.")
    st.button(
        "Look harder",
        key="look harder",
        icon=":material/search:",
        on_click=_begin,
        args=(draft, scenario),
        help="Runs up to 10,000 random cases until the numbers are settled. Takes from some "
        "seconds to some minutes; you can stop it.",
    )


def _begin(draft: Draft, scenario: Scenario) -> None:
    start(_JOB, draft.digest, lambda progress: _study(scenario, progress))


def show_harder(found: Harder) -> None:
    """Show the story and the pictures of a study."""
    st.markdown(" ".join(plain(told_on_screen(line)) for line in found.story.headline))
    for name, picture in found.pictures:
        words = FIGURES.get(name)
        show_drawn(picture, words or name, f"harder-{name}", caption=words)
    for section in found.story.sections:
        if section.title not in SHOWN_ELSEWHERE:
            show_section(for_screen(section))


def as_quick(result: SpreadResult) -> QuickSpread:
    """Return a study's result in the form of the quick band, so that the same charts show it."""
    ranked = sorted(result.batteries, key=lambda one: -one.first.value)
    return QuickSpread(
        fan=result.traced.fan,
        bank_Ah=_three(result.main),
        first=tuple((one.name, one.first.value) for one in ranked if one.first.value > 0.0),
        nobody=result.nobody.value,
        together=result.together.value,
        cut_out_h={
            one.name: _three(one.cut_out_h) for one in result.batteries if one.cut_out_h is not None
        },
        cuts_out={one.name: one.at_all.value for one in result.batteries},
        delivered_Ah={one.name: _three(one.delivered) for one in result.batteries},
        stranded_Ah={one.name: _three(one.stranded) for one in result.batteries},
        runtime_h=_three(result.runtime),
        draws=result.draws.count,
        blocks_charge=_any_block(result),
        loses_takers=sum(
            one.chance.value for one in result.traced.cautions if one.topic == LOSES_TAKERS
        ),
    )


def _any_block(result: SpreadResult) -> float:
    """Return the part of the draws run in full in which any battery blocks its charge. [1]"""
    hours = [one.hours for one in result.traced.happenings.charge_blocks]
    return float(np.isfinite(hours).any(axis=0).mean()) if hours else 0.0


def _three(band: Band) -> Floats:
    """Return the 5, 50 and 95 % points."""
    if not band.percentiles:
        return np.full(3, np.nan)
    return np.array([band.percentiles[place].value for place in (0, 2, 4)])


def _study(scenario: Scenario, progress: Progress) -> Harder:
    """Make the study and its pictures, in a thread of its own."""
    from bankSim.show.spread_story import tell_spread
    from bankSim.study.blocks import threads
    from bankSim.study.plan import make_plan
    from bankSim.study.spread import study_spread

    plan = make_plan(scenario)
    with threads() as workers:
        result = study_spread(plan, workers, progress=progress)
    progress("drawing", 0, 0)
    return Harder(as_quick(result), tell_spread(result), _pictures(result))


def _pictures(result: SpreadResult) -> tuple[tuple[str, bytes], ...]:
    from bankSim.show.study_figures import study_figures

    drawn = study_figures(result).items()
    return tuple((name, png_of(figure, DPI)) for name, figure in drawn if name in FIGURES)
