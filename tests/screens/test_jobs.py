"""Long work: its answer, its trouble, its turn, and that it stops when nobody wants it."""

import threading
import time

import pytest
from streamlit.testing.v1 import AppTest

from bankSim.screens import jobs


@pytest.fixture
def started(monkeypatch):
    """Start jobs without a page; they are kept in a dictionary."""
    kept: dict[str, jobs.Job] = {}
    monkeypatch.setattr(jobs, "_jobs", lambda: kept)
    yield jobs.start
    for job in kept.values():
        job.stop()
        job.over.wait(5.0)


def _endless(began: threading.Event):
    def work(progress):
        began.set()
        for count in range(100_000):
            progress("counting", count, 100_000)
            time.sleep(0.001)
        raise AssertionError("never stopped")

    return work


def test_an_answer_comes_back(started):
    job = started("a", "1", lambda progress: progress("adding", 1, 2) or 42)
    assert job.over.wait(5.0)
    assert (job.answer, job.trouble, job.stage, job.done, job.total) == (42, None, "adding", 1, 2)


def test_trouble_is_kept_for_the_page(started):
    job = started("a", "1", lambda progress: 1 / 0)
    assert job.over.wait(5.0)
    assert isinstance(job.trouble, ZeroDivisionError)


def test_stop_ends_the_work_without_trouble(started):
    began = threading.Event()
    job = started("a", "1", _endless(began))
    assert began.wait(5.0)
    job.stop()
    assert job.over.wait(5.0)
    assert job.answer is None
    assert job.trouble is None


def test_a_new_question_stops_the_old_one(started):
    began = threading.Event()
    old = started("a", "1", _endless(began))
    assert began.wait(5.0)
    new = started("a", "2", lambda progress: "new")
    assert old.over.wait(5.0)
    assert new.over.wait(5.0)
    assert (old.answer, new.answer) == (None, "new")


def test_only_an_answer_to_the_same_question_is_found(started):
    job = started("a", "1", lambda progress: 1)
    assert jobs.job_of("a", "1") is job
    assert jobs.job_of("a", "2") is None
    assert jobs.job_of("b", "1") is None
    job.stop()
    assert jobs.job_of("a", "1") is None


def test_work_stops_when_the_visitor_has_left(started, monkeypatch):
    here = threading.Event()
    here.set()
    monkeypatch.setattr(jobs, "_visitor_is_here", lambda: here.is_set)
    began = threading.Event()
    job = started("a", "1", _endless(began))
    assert began.wait(5.0)
    here.clear()
    assert job.over.wait(5.0)
    assert job.trouble is None


def test_no_more_than_two_work_at_a_time(started):
    at_work, most, lock = [], [], threading.Lock()

    def work(progress):
        with lock:
            at_work.append(1)
            most.append(len(at_work))
        time.sleep(0.05)
        with lock:
            at_work.pop()

    made = [started(f"job {number}", "1", work) for number in range(6)]
    assert all(job.over.wait(10.0) for job in made)
    assert max(most) == jobs.MOST_AT_ONCE


def _page():
    import time

    import streamlit as st

    from bankSim.errors import ScenarioError
    from bankSim.screens import jobs

    def fine(progress):
        progress("adding", 1, 2)
        return "the **answer**"

    def wrong(progress):
        raise ScenarioError(["x: **wrong**"])

    for name, work in (("fine", fine), ("wrong", wrong)):
        job = jobs.job_of(name, "1") or jobs.start(name, "1", work)
        job.over.wait(5.0)
        found = jobs.answer_of(job, name)
        if found is not None:
            st.text(found)
    time.sleep(0.0)


def test_a_page_shows_answers_and_mendable_trouble():
    page = AppTest.from_function(_page, default_timeout=10).run()
    assert not page.exception
    assert [text.value for text in page.text] == ["the **answer**"]
    assert [error.value for error in page.error] == [r"x\: \*\*wrong\*\*"]
