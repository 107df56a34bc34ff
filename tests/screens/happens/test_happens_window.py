"""The time window: its slider, closer looks, and what becomes of it when the run changes."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bankSim.screens.happens import window as w


class _Run:
    """A run of which only the end is known."""

    def __init__(self, end_time_s):
        self.end_time_s = end_time_s


@given(end_s=st.floats(1e-3, 1e8), ends=st.tuples(st.floats(0.0, 1.0), st.floats(0.0, 1.0)))
def test_a_window_stays_inside_the_run_and_on_the_slider(end_s, ends):
    result = _Run(end_s)
    own = w.scale(result)
    chosen = w.from_scale((ends[0] * own.last, ends[1] * own.last), own, result)
    assert 0.0 <= chosen.start_s < chosen.end_s <= end_s * (1.0 + 1e-9)
    low, high = w.on_scale(chosen, own)
    assert 0.0 <= low < high <= own.last
    # the slider shows at least what is seen, outward by a step at most
    slack = own.step * 1e-3
    assert low * own.factor <= chosen.start_s + slack * own.factor
    assert high * own.factor >= min(chosen.end_s, own.last * own.factor) - slack * own.factor


@pytest.mark.parametrize("end_s", [0.5, 30.0, 3600.0, 43_871.4, 108_000.0, 3.2e7])
def test_the_whole_run_is_the_whole_slider(end_s):
    result = _Run(end_s)
    own = w.scale(result)
    assert w.on_scale(w.whole(result), own) == (0.0, own.last)
    assert own.last * own.factor >= end_s * (1.0 - 1e-9)
    assert own.last * own.factor - end_s <= 1.001 * own.step * own.factor
    assert 100 <= own.last / own.step <= 401


def test_a_whole_window_stays_whole_when_the_run_gets_longer():
    before, after = _Run(100.0), _Run(250.0)
    assert w.fitted(w.whole(before), 100.0, after) == w.whole(after)


def test_a_part_stays_where_it_was_when_the_run_changes():
    assert w.fitted(w.Window(10.0, 20.0), 100.0, _Run(250.0)) == w.Window(10.0, 20.0)
    assert w.fitted(w.Window(10.0, 90.0), 100.0, _Run(50.0)) == w.Window(10.0, 50.0)


def test_a_part_beyond_the_end_gives_way_to_the_whole():
    shorter = _Run(50.0)
    assert w.fitted(w.Window(80.0, 90.0), 100.0, shorter) == w.whole(shorter)


def test_a_closer_look_holds_the_moment(weak):
    for time_s in (0.0, 0.5 * weak.end_time_s, weak.end_time_s):
        seen = w.closer(weak, time_s)
        assert seen.start_s <= time_s <= seen.end_s
        assert seen.end_s - seen.start_s <= 2.0 * w.MOST_CLOSER_S


def test_every_cut_out_is_in_the_closer_look_of_some_spot(weak):
    outs = [event for event in weak.events if event.cuts_out]
    assert len(outs) == 2
    looks = [w.closer(weak, spot.time_s) for spot in w.spots(weak)]
    for event in outs:
        assert any(seen.start_s <= event.time_s <= seen.end_s for seen in looks)


def test_words_of_a_window_tell_its_ends_apart():
    assert w.window_words(w.Window(147_600.0, 147_960.0)) == "41.000 h to 41.100 h"
    assert w.window_words(w.Window(0.0, 43_200.0)) == "0 h to 12.0 h"
