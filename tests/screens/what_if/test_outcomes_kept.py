"""Outcomes of sliders are kept as long as there is room for them."""

from bankSim.screens.ready import ready_draft
from bankSim.screens.what_if import outcome as kept


def test_long_courses_do_not_pile_up(monkeypatch):
    bench = kept.bench_of(ready_draft("coffee-cart"))
    size = kept.outcome(bench, {}).result.trace.nbytes
    room = kept.Shelf(kept.KEPT, int(2.5 * size), lambda one: one.result.trace.nbytes)
    monkeypatch.setattr(kept, "_OUTCOMES", room)
    knob = next(iter(bench.knobs.values()))
    for steps in range(5):
        found = kept.outcome(bench, {knob.key: knob.start - steps * knob.step})
    assert 1 <= len(room) <= 3
    assert kept.outcome(bench, {knob.key: knob.start - 4 * knob.step}) is found


def test_the_room_for_outcomes_is_bounded_in_bytes():
    assert 0 < kept._OUTCOMES._most_bytes <= 400_000_000
