"""What comes out with some sliders moved: asked once, then kept for a while."""

import json
import threading
from dataclasses import dataclass
from functools import cached_property

import streamlit as st

from bankSim.scenario.draft import Draft
from bankSim.scenario.lines import Path
from bankSim.scenario.record import Scenario
from bankSim.scenario.variant import Variants
from bankSim.screens.answers import predicted, scenario_of
from bankSim.screens.shelf import Shelf
from bankSim.screens.what_if.bank_knobs import knobs_of
from bankSim.screens.what_if.knob import Knob, Settings, edits
from bankSim.sim.result import Result
from bankSim.study.traced import Fan

KEPT, BENCHES_KEPT = 64, 8
MOST_BYTES = 300_000_000  # of all outcomes kept; a run over months has a course of 20 MB and more
BAND_DRAWS, BAND_POINTS, BAND_BUDGET_S = 48, 120, 0.06


@dataclass(frozen=True)
class Bench:
    """A sound draft, and all that can be moved on it.

    Parameters
    ----------
    draft : Draft
    variants : Variants
    knobs : dict of str to Knob
    """

    draft: Draft
    variants: Variants
    knobs: dict[str, Knob]
    lock: threading.Lock

    @cached_property
    def scenario(self) -> Scenario:
        """The draft as it stands."""
        return self.variants.scenario

    def edits(self, settings: Settings) -> dict[Path, object]:
        """Return what moved sliders write."""
        return edits(self.knobs, settings, self.variants.value_at)

    def moved(self, settings: Settings) -> dict[str, float]:
        """Return the settings that differ from the draft, in a fixed order.

        In the units of the sliders.
        """
        known = {key: value for key, value in settings.items() if key in self.knobs}
        return {key: known[key] for key in sorted(known) if self.knobs[key].is_moved(known[key])}

    def variant(self, settings: Settings) -> Scenario:
        """Return the scenario with sliders moved, or raise its `ScenarioError`."""
        wanted = self.edits(settings)
        if not wanted:
            return self.scenario
        with self.lock:  # tables that are read once are shared
            return self.variants.with_values(wanted)

    def changed_draft(self, settings: Settings) -> Draft:
        """Return the draft with what moved sliders write."""
        return self.draft.with_values(self.edits(settings))

    def digest(self, settings: Settings) -> str:
        """Return a word that changes with the draft and with every moved slider."""
        return f"{self.draft.digest} {json.dumps(self.moved(settings))}"


@dataclass(frozen=True)
class Outcome:
    """A run with its band."""

    result: Result
    fan: Fan


_OUTCOMES: Shelf[Outcome] = Shelf(KEPT, MOST_BYTES, lambda one: one.result.trace.nbytes)


def bench_of(draft: Draft) -> Bench:
    """Return the bench of a draft, or raise the `ScenarioError` of one that is not sound."""
    return _bench(draft.digest, draft)


def outcome(bench: Bench, settings: Settings) -> Outcome:
    """Return what comes out with sliders moved.

    Raises
    ------
    ScenarioError
        When the sliders make no sound scenario together.
    """
    digest = bench.digest(settings)
    return _OUTCOMES.get(digest) or _OUTCOMES.put(digest, _outcome(bench, settings))


@st.cache_resource(max_entries=BENCHES_KEPT, show_spinner=False)
def _bench(digest: str, _draft: Draft) -> Bench:
    scenario = scenario_of(_draft)
    return Bench(_draft, Variants(scenario).read(), knobs_of(scenario), threading.Lock())


def _outcome(bench: Bench, settings: Settings) -> Outcome:
    from bankSim.sim.run import simulate
    from bankSim.study.quick_fan import quick_fan

    scenario = bench.variant(settings)
    fan = quick_fan(scenario, draws=BAND_DRAWS, points=BAND_POINTS, budget_s=BAND_BUDGET_S)
    is_base = scenario is bench.scenario
    return Outcome(predicted(bench.draft) if is_base else simulate(scenario), fan)
