"""The quick band of a visitor who goes on to another bank, or leaves."""

import time

import pytest

from bankSim.errors import SimulationError
from bankSim.screens import jobs
from bankSim.screens.answers import scenario_of
from bankSim.screens.happens import band
from bankSim.screens.ready import ready_draft


def test_a_band_that_nobody_wants_any_more_ends_at_its_next_draw():
    job = jobs.Job("1")
    job.stop()
    with pytest.raises(jobs.Stopped):
        band._drawn(scenario_of(ready_draft("coffee-cart")), job.progress)


def test_a_band_that_was_cut_short_is_no_answer(monkeypatch):
    draft = ready_draft("coffee-cart")
    monkeypatch.setattr(band, "_BANDS", type(band._BANDS)(4))
    job = jobs.Job(draft.digest, was_cut_short=True)
    job.over.set()
    assert band.band_if_quick(draft, job) is None
    assert len(band._BANDS) == 0


def test_a_band_that_cannot_be_found_leaves_the_run_on_the_page(opened, weak_text, monkeypatch):
    def fails(*_args, **_more):
        raise SimulationError("draw 3: the network could not be solved")

    monkeypatch.setattr(band, "quick_spread", fails)
    at = opened(f"# without a band\n{weak_text}", with_band=False)
    until = time.monotonic() + 20.0
    while not at.warning and time.monotonic() < until:
        time.sleep(0.05)
        at.run()
    assert not at.exception
    assert "draw 3" in at.warning[0].value
    assert "Cautions" in [one.value for one in at.header]
