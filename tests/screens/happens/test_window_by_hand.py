"""The window of time and the moments to look at, by hand; the choice of cut-outs in words."""

from types import SimpleNamespace

import pytest
from made_results import event
from pytest import approx

from bankSim.screens.happens import switchings, window
from bankSim.sim.result import RELEASE, TRIP


def run(end_s=36_000.0, *events):
    return SimpleNamespace(end_time_s=end_s, events=events)


def out(time_s, name="old", blocks="discharge", what=TRIP):
    return event(time_s, what, name, blocks=blocks)


@pytest.mark.parametrize(
    ("end_s", "reach_s"), [(100.0, 60.0), (3000.0, 60.0), (36_000.0, 720.0), (1e6, 3600.0)]
)
def test_a_closer_look_takes_a_fiftieth_of_the_run_within_a_minute_and_an_hour(end_s, reach_s):
    assert window.reach_of(run(end_s)) == approx(reach_s)
    middle = window.closer(run(end_s), 0.5 * end_s)
    assert middle == window.Window(
        approx(max(0.0, 0.5 * end_s - reach_s)), approx(min(end_s, 0.5 * end_s + reach_s))
    )


@pytest.mark.parametrize(
    ("events", "words"),
    [
        ((out(7200.0),), ['"old" out, 2.00 h']),
        # within 180 s, a quarter of the reach of 720 s, of the first: one look
        ((out(7200.0), out(7380.0, "new"), out(7381.0, "third")),
         ['"old" out and 1 more, 2.00 h', '"third" out, 2.05 h']),
        ((out(60.0, what=RELEASE), out(1800.0, blocks="both")), ['"old" back, 1.00 min',
                                                                  '"old" out, 30.0 min']),
        ((out(60.0, blocks="charge"), out(90.0, blocks="charge", what=RELEASE)), []),
        ((out(60.0, None, what=RELEASE), out(0.5, "a")), ['"a" out, 0.500 s']),
    ],
)  # fmt: skip
def test_moments_to_look_at_are_cut_outs_and_returns(events, words):
    assert [spot.words for spot in window.spots(run(36_000.0, *events))] == words


@pytest.mark.parametrize(
    ("end_s", "unit", "step", "last"),
    [(36_000.0, "h", 0.05, 10.0), (36_100.0, "h", 0.05, 10.05), (7200.0, "min", 0.5, 120.0),
     (100.0, "s", 0.5, 100.0), (0.0, "s", 5e-6, 0.001)],
)  # fmt: skip
def test_the_slider_has_round_steps_to_the_end_or_just_beyond(end_s, unit, step, last):
    # 10 h / 400 = 0.025 h -> 0.05; 120 min / 400 = 0.3 -> 0.5; 100 s / 400 = 0.25 -> 0.5
    own = window.scale(run(end_s))
    assert (own.unit, own.step, own.last) == (unit, approx(step), approx(last))


def test_the_slider_shows_a_window_outward_and_never_nothing():
    own = window.scale(run())  # steps of 0.05 h
    seen = [window.on_scale(window.Window(3600.0 * a, 3600.0 * b), own)
            for a, b in ((1.02, 2.01), (1.0, 2.0), (9.99, 10.0), (3.0, 3.0))]  # fmt: skip
    assert seen == [approx((1.0, 2.05)), approx((1.0, 2.0)), approx((9.95, 10.0)),
                    approx((3.0, 3.05))]  # fmt: skip


@pytest.mark.parametrize(
    ("ends", "hours"),
    [((2.0, 1.0), (1.0, 2.0)), ((3.0, 3.0), (2.95, 3.05)), ((0.0, 0.0), (0.0, 0.05)),
     ((10.0, 10.0), (9.95, 10.0)), ((3.0, 3.02), (2.95, 3.07)), ((3.0, 3.03), (3.0, 3.03))],
)  # fmt: skip
def test_what_is_chosen_on_the_slider_is_never_empty(ends, hours):
    result = run()
    chosen = window.from_scale(ends, window.scale(result), result)
    assert chosen.hours == approx(hours)


@pytest.mark.parametrize(
    ("seen", "former_s", "kept"),
    [((10.0, 90.0), 100.0, (10.0, 50.0)), ((49.5, 90.0), 100.0, (0.0, 50.0)),
     ((49.0, 90.0), 100.0, (49.0, 50.0)), ((10.0, 100.0), 100.0, (10.0, 50.0)),
     ((10.0, 20.0), None, (0.0, 50.0))],
)  # fmt: skip
def test_a_window_is_fitted_to_a_shorter_run_of_50_s(seen, former_s, kept):
    assert window.fitted(window.Window(*seen), former_s, run(50.0)) == window.Window(*kept)


def test_a_window_to_the_end_follows_it():
    assert window.fitted(window.Window(10.0, 100.0), 100.0, run(80.0)) == window.Window(10.0, 80.0)
    assert window.fitted(None, 100.0, run(80.0)) == window.Window(0.0, 80.0)


@pytest.mark.parametrize(
    ("ends_s", "words"),
    [((0.0, 30.0), "0 s to 30.0 s"), ((600.0, 1200.0), "10.0 min to 20.0 min"),
     ((36_000.0, 36_720.0), "10.000 h to 10.200 h"), ((36_000.0, 36_735.0), "10.0 h to 10.2 h")],
)  # fmt: skip
def test_ends_of_a_window_have_digits_enough(ends_s, words):
    # a fiftieth of the time since the start, 734.4 s before 10.2 h, is where three do no longer
    assert window.window_words(window.Window(*ends_s)) == words


# ---------- cut-outs to choose from


def test_cells_that_read_alike_decide_together_and_none_when_all_do():
    told = event(60.0, TRIP, "old", cell=2, cell_voltages_V=(2.9, 2.5, 2.5004, 2.6))
    rows = switchings.cells_grid(told).rows
    assert [row[1] for row in rows] == ["", "decides", "decides", ""]
    assert rows[2] == ("cell 3", "decides", "2.500 V")
    alike = event(60.0, TRIP, "old", cell=1, cell_voltages_V=(2.5, 2.5, 2.5, 2.5))
    assert {row[1] for row in switchings.cells_grid(alike).rows} == {""}
    assert switchings.cells_grid(event(60.0, TRIP, "old")) is None


@pytest.mark.parametrize(("count", "left"), [(200, 200), (201, 2)])
def test_of_more_than_two_hundred_the_first_of_each_kind_in_order_of_time(count, left):
    events = [out(float(k), "ab"[k % 2]) for k in range(count)]
    found = switchings.choices(run(1e3, *events))
    assert [one.time_s for one in found] == [float(k) for k in range(left)]
