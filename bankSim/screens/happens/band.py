"""The uncertainty band: at once when it is quick, a moment later when not, finer on demand."""

import streamlit as st

from bankSim.errors import SimulationError
from bankSim.scenario.draft import Draft
from bankSim.scenario.record import Scenario
from bankSim.screens.jobs import Job, Progress, job_of, start
from bankSim.screens.plain import plain
from bankSim.screens.shelf import Shelf
from bankSim.study.quick_fan import QuickSpread, quick_spread

WAITED_S = 0.15  # for a band to come in the same go
BUDGET_S = 3.0  # of a slow bank: longer than that, fewer draws are made
KEPT = 48
_JOB = "band"
_BANDS: Shelf[QuickSpread] = Shelf(KEPT)


def band_begun(draft: Draft, scenario: Scenario) -> Job | None:
    """Begin working out the band of a draft in the background; None when it is at hand."""
    if _BANDS.get(draft.digest) is not None:
        return None
    job = job_of(_JOB, draft.digest)
    if job is not None:
        return job
    return start(
        _JOB,
        draft.digest,
        lambda progress: _drawn(scenario, progress),
        is_short=True,
    )


def _drawn(scenario: Scenario, progress: Progress) -> QuickSpread:
    """Draw, in a thread of its own, as long as somebody wants it."""
    return quick_spread(scenario, budget_s=BUDGET_S, before_each=lambda: progress("draws", 0, 0))


def band_if_quick(draft: Draft, job: Job | None) -> QuickSpread | None:
    """Return the band if it is there or comes within a moment."""
    if job is not None and job.over.wait(WAITED_S) and not job.was_cut_short:
        if isinstance(job.trouble, SimulationError):
            return None  # the run itself stands; `await_band` says why there is no band
        if job.trouble is not None:
            raise job.trouble
        return _BANDS.put(draft.digest, job.answer)
    return _BANDS.get(draft.digest)


@st.fragment(run_every=0.3)
def await_band(job: Job) -> None:
    """Show that the band is on its way; show the page again when it has come."""
    if isinstance(job.trouble, SimulationError):
        for line in str(job.trouble).splitlines():
            st.warning(plain(f"There are no chances for this bank: {line}"))
        return
    if job.over.is_set():
        st.rerun()
    st.caption("The chances and the bands around the lines are being worked out ...")
