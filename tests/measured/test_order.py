"""Times that rise: midnights, clocks put back, shared stamps, repeated rows, gaps; by hand."""

import numpy as np
import pytest
from pytest import approx

from bankSim.measured.log import NOTE, WARNING
from bankSim.measured.order import find_gaps, gap_findings, put_in_order, written_twice


def ordered(times, *, of_day=False):
    """Rows are counted from 2, below a row of headers."""
    times = np.array(times, float)
    return put_in_order(times, np.arange(times.size) + 2, of_day=of_day)


def told(found):
    return [(one.text, one.severity) for one in found.findings]


TENS = 10.0 * np.arange(30)


@pytest.mark.parametrize("start", [0.0, 86_390.0])
@pytest.mark.parametrize("of_day", [False, True])
def test_what_rises_stays(start, of_day):
    found = ordered(start + TENS, of_day=of_day)
    assert found.time_s == approx(TENS)
    assert found.turn.tolist() == list(range(30))
    assert found.findings == []


def test_newest_first_is_turned():
    found = ordered(TENS[::-1])
    assert found.time_s == approx(TENS)
    assert found.turn.tolist() == list(range(29, -1, -1))
    assert told(found) == [("The newest sample stands first; the order was turned.", NOTE)]
    # two rows: of a clock without date it is midnight
    assert ordered([10.0, 0.0]).turn.tolist() == [1, 0]
    assert ordered([86_390.0, 0.0], of_day=True).time_s.tolist() == [0.0, 10.0]


@pytest.mark.parametrize(("falling", "turned"), [(7, False), (9, True)])
def test_four_fifths_of_all_steps_must_fall(falling, turned):
    # ten steps that change the time, one more that does not
    steps = np.array([-10.0] * falling + [10.0] * (10 - falling) + [0.0])
    found = ordered(np.concatenate([[500.0], 500.0 + np.cumsum(steps)]))
    assert any("newest" in text for text, _ in told(found)) is turned


def test_rows_out_of_order_are_sorted():
    late = TENS[[0, 1, 2, 5, 3, 4, 6, 7, 9, 8, 10, 11]]
    found = ordered(late)
    assert found.time_s == approx(TENS[:12])
    assert late[found.turn] == approx(TENS[:12])
    assert told(found) == [
        ("3 rows (6, 7, 11): written out of order; sorted by time.", WARNING)
    ]  # fmt: skip


def test_midnight_begins_a_new_day():
    found = ordered([86_370, 86_380, 86_390, 0, 10, 86_380, 5, 15], of_day=True)
    steps = [10, 10, 10, 10, 86_370, 25, 10]
    assert np.diff(found.time_s) == approx(steps)
    assert found.findings[0].text == "2 rows (5, 8): past midnight; a new day begins."
    assert found.findings[0].rows == (5, 8)


def test_a_lone_stamp_out_of_line_is_put_between_its_neighbours():
    for odd in (500.0, -500.0):
        times = TENS.copy()
        times[12] = odd
        found = ordered(times)
        assert found.time_s == approx(TENS)
        text = "Row 14: time stamp out of line; put half-way between its neighbours."
        assert told(found) == [(text, WARNING)]


def test_a_clock_put_back_goes_on():
    # by an hour, less the usual 10 s
    times = np.concatenate([TENS, TENS[-1] + 10.0 - 3600.0 + TENS])
    found = ordered(times)
    assert np.diff(found.time_s) == approx(np.full(59, 10.0))
    assert told(found) == [
        ("Row 32: the clock jumps back by 59.8 min, as after a clock change; time goes on with the "
         "usual interval of 10.0 s.", WARNING)
    ]  # fmt: skip
    assert not found.findings[0].loses


@pytest.mark.parametrize(("far_s", "starts_anew"), [(7190.0, False), (7210.0, True)])
def test_a_clock_that_falls_by_more_than_two_hours_was_lost(far_s, starts_anew):
    found = ordered(np.concatenate([TENS + 9000.0, TENS[-1] + 9000.0 - far_s + TENS]))
    assert np.diff(found.time_s) == approx(np.full(59, 10.0))
    (one,) = found.findings
    assert (one.loses, one.on_top) == (starts_anew, starts_anew)
    assert ("falls back by 2.00 h, as when a logger starts anew" in one.text) is starts_anew
    assert one.rows == (32,)


def test_several_falls_are_told_by_their_middle():
    starts = [90_000.0, 60_000.0, 20_000.0, 500.0]
    found = ordered(np.concatenate([start + TENS for start in starts]))
    # they fall back by 30,290, 40,290 and 19,790 s
    assert "3 rows (32, 62, 92): the clock falls back by 8.41 h (the middle of them)" in (
        found.findings[0].text
    )


@pytest.mark.parametrize(
    ("lost_s", "length"), [(3.0 * 86_400.0, "3.00 days"), (3.0 * 365.25 * 86_400.0, "3.00 years")]
)
def test_long_falls_are_told_in_days_or_years(lost_s, length):
    found = ordered(np.concatenate([TENS + lost_s - 290.0, TENS]))
    assert f"falls back by {length}, as when a logger starts anew" in found.findings[0].text


@pytest.mark.parametrize("whole_s", [43_200.0, 86_400.0, 65_536.0])
@pytest.mark.parametrize(("early_s", "over"), [(0.0, True), (4.0, True), (6.0, False)])
def test_a_clock_that_runs_over_loses_nothing(whole_s, early_s, over):
    # the next stamp is due 10 s later, less the whole range; half an interval of slack
    found = ordered(np.concatenate([TENS + whole_s, 300.0 + TENS - early_s]))
    assert np.diff(found.time_s) == approx(np.full(59, 10.0))
    (one,) = found.findings
    assert ("begins anew after half a day, a day or 65536 s" in one.text) is over
    assert one.loses is not over


def test_of_rows_far_apart_no_clock_is_taken_to_run_over():
    # 1000 s apart: a length met by chance
    thousands = 1000.0 * np.arange(30)
    found = ordered(np.concatenate([thousands + 86_400.0, thousands[-1] + 1000.0 + thousands]))
    assert found.findings[0].loses


def test_a_coarse_clock_is_spread_evenly():
    # half-second samples stamped in whole seconds; the first tick holds one of two
    stamps = np.floor(np.arange(0.5, 10.0, 0.5))
    found = ordered(stamps)
    assert np.diff(found.time_s) == approx(np.full(18, 0.5))
    text = (
        "9 rows (4, 6, 8, 10, 12, 14, 16, 18, ...): share the time stamp of the row before; spread "
        "evenly within 1.00 s."
    )
    assert told(found) == [(text, NOTE)]


def test_a_tick_is_filled_no_further_than_its_length():
    # two samples a second, and nothing from 2 s to 60 s: 1.5 s stays 1.5 s
    found = ordered([0, 0, 1, 1, 60, 60, 61, 61])
    assert found.time_s == approx([0, 0.5, 1, 1.5, 60, 60.5, 61, 61.5])


def test_few_shared_stamps_are_kept():
    times = TENS.copy()
    times[7] = times[6]
    found = ordered(times)
    assert found.time_s == approx(times)
    assert told(found) == [("Row 9: the same time stamp as the row before; kept.", NOTE)]
    still = ordered(np.full(5, 3.0))
    assert still.time_s.tolist() == [0.0] * 5
    assert told(still)[0][1] == WARNING


def rows_of(*places):
    """Time, voltage and current of rows, of which some are written again."""
    at = np.array(places, float)
    return 10.0 * at, 13.0 - 0.01 * at, 5.0 + 0.1 * at


def test_rows_written_once_more():
    twice = written_twice(*rows_of(0, 1, 2, 3, 2, 3, 4, 5, 6, 7))
    assert np.flatnonzero(twice).tolist() == [4, 5]
    assert not written_twice(*rows_of(0, 1, 2, 3, 4, 5)).any()


def test_new_rows_after_a_fall_are_kept():
    time_s, voltage_V, current_A = rows_of(0, 1, 2, 3, 2, 3, 4, 5, 6, 7)
    voltage_V[4] += 0.005
    assert not written_twice(time_s, voltage_V, current_A).any()


def test_more_than_half_of_a_file_is_never_left_out():
    again = [0, 1, 2, 3, *[0, 1, 2] * 3]
    assert not written_twice(*rows_of(*again)).any()


def test_a_rest_that_falls_back_is_no_repetition():
    # all alike: a clock put back in a rest
    times = np.concatenate([TENS, TENS[10:22]])
    rest = np.full(times.size, 13.0), np.zeros(times.size)
    assert not written_twice(times, *rest).any()


def test_gaps():
    times = np.concatenate([TENS, 290.0 + 60.0 + TENS])
    (gap,) = find_gaps(times)
    assert (gap.before, gap.length_s, gap.usual_s) == (29, 60.0, 10.0)
    assert find_gaps(np.concatenate([TENS, 290.0 + 50.0 + TENS])) == ()  # five times is none
    assert find_gaps(np.array([0.0, 10.0, 500.0])) == ()
    # a log that turns slower has no gap: neither side counts alone
    slower = np.concatenate([TENS, 290.0 + 100.0 * np.arange(1, 20)])
    assert find_gaps(slower) == ()
    # among rows far apart a gap is longer
    late = np.concatenate([TENS, 290.0 + 100.0 * np.arange(1, 20), 2190.0 + 600.0 + TENS])
    assert [(one.length_s, one.usual_s) for one in find_gaps(late)] == [(600.0, 100.0)]


def test_what_is_told_of_gaps():
    times = np.concatenate([TENS, 350.0 + TENS, 1000.0 + TENS])
    (one,) = gap_findings(find_gaps(times), np.arange(90) + 2)
    assert one.text == (
        "After 2 rows (31, 61) samples are missing; the longest gap is 6.00 min where 10.0 s are "
        "usual. Current and voltage are taken as a straight line across it."
    )
    assert (one.rows, one.count, one.severity) == ((31, 61), 2, WARNING)
    (lone,) = gap_findings(find_gaps(times[:60]), np.arange(60) + 2)
    assert lone.text.startswith("After row 31 samples are missing; the longest gap is 1.00 min")
    assert gap_findings((), np.arange(9)) == []
