"""Long work of one visitor: in a thread of its own, with progress, and stopped by a button."""

import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import streamlit as st

from bankSim.errors import SimulationError
from bankSim.screens.plain import plain

MOST_AT_ONCE = 2  # of all visitors together; others wait their turn
MOST_SHORT = 4  # jobs of a second or so
_ROOM = threading.BoundedSemaphore(MOST_AT_ONCE)
_SHORT = threading.BoundedSemaphore(MOST_SHORT)
_KEY = "jobs"
PERCENT = "per cent"  # stage of a run: how much of its longest duration is done

Progress = Callable[[str, int, int], None]


class Stopped(Exception):  # noqa: N818 - nothing went wrong
    """Raised inside a job whose visitor wants it no more."""


@dataclass
class Job:
    """Work under way or done.

    Parameters
    ----------
    digest : str
        Of everything that it was asked; another one means that its answer is of no use.
    """

    digest: str
    stage: str = "waiting for its turn"
    done: int = 0
    total: int = 0
    answer: Any = None
    trouble: BaseException | None = None
    over: threading.Event = field(default_factory=threading.Event)
    wanted: bool = True
    is_watched: Callable[[], bool] = field(default=lambda: True)
    was_cut_short: bool = False

    def progress(self, stage: str, done: int, total: int) -> None:
        """Note how far it is; raise `Stopped` when nobody wants it any more or the visitor left."""
        self.stage, self.done, self.total = stage, done, total
        if not (self.wanted and self.is_watched()):
            raise Stopped

    def stop(self) -> None:
        """Ask it to stop at its next sign of life."""
        self.wanted = False


def job_of(name: str, digest: str) -> Job | None:
    """Return the job of this name in this session, if it is about the same question."""
    job: Job | None = _jobs().get(name)
    if job is None or job.digest != digest or not job.wanted or job.was_cut_short:
        return None
    return job


def was_stopped(name: str, digest: str) -> bool:
    """Tell whether the visitor stopped the job of this name about this question."""
    job = _jobs().get(name)
    return job is not None and job.digest == digest and not job.wanted


def start(
    name: str, digest: str, work: Callable[[Progress], Any], *, is_short: bool = False
) -> Job:
    """Begin a job; one of the same name that is still at work is stopped.

    Parameters
    ----------
    name : str
        One job of a name at a time in a session.
    digest : str
    work : callable
        Calls no Streamlit; told how to report progress, which also stops it.
    is_short : bool
        Takes a second or so; then it does not wait for the long jobs of others.
    """
    former = _jobs().get(name)
    if former is not None:
        former.stop()
    job = Job(digest, is_watched=_visitor_is_here())
    _jobs()[name] = job
    room = _SHORT if is_short else _ROOM
    threading.Thread(target=_run, args=(job, work, room), daemon=True).start()
    return job


def _run(job: Job, work: Callable[[Progress], Any], room: threading.Semaphore) -> None:
    with room:
        try:
            job.progress("starting", 0, 0)
            job.answer = work(job.progress)
        except Stopped:
            job.was_cut_short = True
        except BaseException as trouble:
            job.trouble = trouble
        finally:
            job.over.set()


def answer_of(job: Job, what: str) -> Any:
    """Show how far a job is until it is done, then return its answer; None while there is none.

    Parameters
    ----------
    job : Job
    what : str
        What is being done, for the visitor; markdown.
    """
    if not job.over.is_set():
        _watch(job, what)
        return None
    if isinstance(job.trouble, SimulationError):
        tell_trouble(job.trouble)
        return None
    if job.trouble is not None:
        raise job.trouble
    return job.answer


def tell_trouble(trouble: SimulationError) -> None:
    """Show why something could not be worked out."""
    for line in str(trouble).splitlines():
        st.error(plain(line))


@st.fragment(run_every=0.5)
def _watch(job: Job, what: str) -> None:
    if job.over.is_set() or not job.wanted:
        st.rerun()
    part = min(job.done / job.total, 1.0) if job.total else 0.0
    st.progress(part, text=f"{what}: {_how_far(job)}")
    st.button("Stop", key=f"stop {what}", on_click=job.stop)


def _how_far(job: Job) -> str:
    if job.total == 0:
        return plain(job.stage)
    if job.stage == PERCENT:
        return f"{job.done} % of its longest duration"
    return f"{plain(job.stage)} {job.done:,} of at most {job.total:,}"


def _visitor_is_here() -> Callable[[], bool]:
    """Return what tells, from any thread, whether the present visitor still has the page open."""
    from streamlit.runtime import exists, get_instance
    from streamlit.runtime.scriptrunner import get_script_run_ctx

    context = get_script_run_ctx()
    if context is None or not exists():
        return lambda: True
    session, server = context.session_id, get_instance()
    return lambda: server.is_active_session(session)


def _jobs() -> dict[str, Job]:
    found: dict[str, Job] = st.session_state.setdefault(_KEY, {})
    return found
