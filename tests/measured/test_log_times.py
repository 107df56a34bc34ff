"""Clocks of all kinds against datetime of the standard library; time that falls, stands, leaps."""

from datetime import datetime, timedelta

import numpy as np
import pytest
from measured.log_texts import COUNT, falling, read, told, volts

from bankSim.measured.capacity_test import Question, evaluate_tests
from bankSim.measured.clock import NONE, is_clock, read_stamp
from bankSim.measured.log import WARNING
from bankSim.measured.verdict import Word

WHEN = datetime(2024, 3, 14, 15, 9, 26)
EPOCH = datetime(1970, 1, 1)
WRITTEN = [
    "%Y-%m-%d %H:%M:%S", "%Y-%m-%dT%H:%M:%S", "%Y-%m-%dT%H:%M:%SZ", "%Y/%m/%d %H:%M:%S",
    "%d.%m.%Y %H:%M:%S", "%d/%m/%Y %H:%M:%S", "%d-%m-%Y %H:%M:%S", "%d.%m.%y, %H:%M:%S",
    "%d-%b-%Y %H:%M:%S", "%d %B %Y %H:%M:%S", "%b %d, %Y %I:%M:%S %p", "%Y%m%dT%H%M%S",
    "%Y%m%d %H:%M:%S", "%Y-%m-%d_%H:%M:%S", "%Y%m%d%H%M%S", "%d/%m/%Y %I:%M:%S p. m.",
    "%d mrt %Y %H:%M:%S", "%d mars %Y %H:%M:%S",
]  # fmt: skip


@pytest.mark.parametrize("form", WRITTEN)
def test_dates_as_the_standard_library_writes_them(form):
    stamp = read_stamp(WHEN.strftime(form))
    assert stamp is not None
    assert EPOCH + timedelta(microseconds=stamp.day_first) == WHEN
    assert stamp.dated


@pytest.mark.parametrize(
    ("text", "month"),
    [("1 juin 2024", 6), ("1 juil. 2024", 7), ("1 juillet 2024", 7), ("1 Jul 2024", 7),
     ("1 jun 2024", 6), ("1 giugno 2024", 6), ("1 luglio 2024", 7), ("1 mei 2024", 5)],
)  # fmt: skip
def test_months_that_begin_alike(text, month):
    stamp = read_stamp(text)
    assert EPOCH + timedelta(microseconds=stamp.day_first) == datetime(2024, month, 1)


def test_stamps_without_any_mark(tmp_path):
    # 20240314155900 is followed by 20240314160000: a minute, not 4100 s
    def row(i):
        return f"{WHEN + timedelta(minutes=i):%Y%m%d%H%M%S},{volts(i):.2f},5"

    log = read(tmp_path, falling("timestamp,V,A\n", row))
    assert np.diff(log.time_s).tolist() == [60.0] * (COUNT - 1)
    assert log.starts_at == WHEN


def test_month_first_and_what_cannot_be():
    stamp = read_stamp("3/14/2024 15:09:26.5")
    assert stamp.day_first == NONE
    assert EPOCH + timedelta(microseconds=stamp.month_first) == WHEN + timedelta(seconds=0.5)
    both = read_stamp("03/04/2024")
    assert EPOCH + timedelta(microseconds=both.day_first) == datetime(2024, 4, 3)
    assert EPOCH + timedelta(microseconds=both.month_first) == datetime(2024, 3, 4)


@pytest.mark.parametrize(
    ("text", "seconds"),
    [("0:00:01", 1), ("125:00:00.25", 450000.25), ("1:30", 5400), ("12:15 AM", 900),
     ("2d 01:00:00", 176400), ("1.02:00:00", 93600), ("1h 2m 3s", 3723), ("1 day, 0:00:05", 86405),
     ("2024-03-14T16:09:26+01:00", (WHEN - EPOCH).total_seconds())],
)  # fmt: skip
def test_elapsed_times_and_zones(text, seconds):
    assert read_stamp(text).day_first == round(seconds * 1e6)


@pytest.mark.parametrize(
    "text",
    [
        "12.81",
        "-5",
        "20240399120000",
        "30240314120000",
        "1,234",
        "abc",
        "",
        "12:61:00",
        "2024-13-45 10:00",
        "99/99/2024",
        "1-2-",
    ],
)
def test_no_clock(text):
    assert not is_clock(text)


def day_log(folder, stamps):
    """One row a stamp."""
    return read(
        folder, falling("Time,V,A\n", lambda i: f"{stamps[i]},{volts(i):.2f},5", len(stamps))
    )


def test_past_midnight(tmp_path):
    stamps = [f"23:59:{i:02d}" for i in range(60)] + [f"00:00:{i:02d}" for i in range(60)]
    log = day_log(tmp_path, stamps * 1)
    assert log.time_s == pytest.approx(np.arange(120))
    assert "Row 62: past midnight" in told(log)
    assert not any(one.severity == WARNING for one in log.findings)


def test_clock_change_goes_on_with_the_usual_interval(tmp_path):
    minutes = [*range(60, 180, 5), *range(120, 240, 5)]
    stamps = [f"2024-10-27 {m // 60:02d}:{m % 60:02d}" for m in minutes]
    log = day_log(tmp_path, stamps)
    assert np.diff(log.time_s) == pytest.approx(300.0)
    assert "Row 26: the clock jumps back by 55.0 min" in told(log)
    assert log.starts_at == datetime(2024, 10, 27, 1)


def test_one_stamp_out_of_line(tmp_path):
    stamps = list(range(COUNT))
    stamps[9] = 3
    log = day_log(tmp_path, stamps)
    assert log.time_s == pytest.approx(np.arange(COUNT))
    assert "Row 11: time stamp out of line" in told(log)


def test_shared_seconds_are_spread_and_few_kept(tmp_path):
    log = day_log(tmp_path, [f"10:00:{i // 4:02d}" for i in range(80)])
    assert log.time_s == pytest.approx(np.arange(80) / 4)
    assert "60 rows (3, 4, 5, 7" in told(log)
    few = day_log(tmp_path, [*range(20), 19, *range(20, 50)])
    assert few.time_s[20] == few.time_s[19] == 19.0
    assert "Row 22: the same time stamp" in told(few)


def test_newest_first_is_turned(tmp_path):
    log = day_log(tmp_path, [f"2024-01-01 00:00:{59 - i:02d}" for i in range(60)])
    assert log.time_s == pytest.approx(np.arange(60))
    assert log.rows[0] == 61
    assert log.voltage_V[0] == pytest.approx(volts(59))
    assert "newest sample stands first" in told(log)


@pytest.mark.parametrize(("form", "word"), [("{d}/1/2024", "day"), ("1/{d}/2024", "month")])
def test_day_or_month_by_the_even_clock(tmp_path, form, word):
    stamps = [f"{form.format(d=d)} {h:02d}:00" for d in range(1, 13) for h in range(0, 24, 6)]
    log = day_log(tmp_path, stamps)
    assert np.diff(log.time_s) == pytest.approx(21600.0)
    assert f"the {word} first" in told(log)


def test_gaps_are_found_where_they_are(tmp_path):
    steps = [1.0] * 20 + [500.0] + [1.0] * 20 + [60.0] * 20  # the slow end is no gap
    log = day_log(tmp_path, np.concatenate([[0.0], np.cumsum(steps)]).tolist())
    assert [(gap.before, gap.length_s, gap.usual_s) for gap in log.gaps] == [(20, 500.0, 1.0)]
    assert "After row 22 samples are missing; the longest gap is 8.33 min" in told(log)


def test_spreadsheet_days(tmp_path):
    # Day 45000 of a spreadsheet is 2023-03-15 (datetime: 1899-12-30 + 45000 days).
    log = day_log(tmp_path, [f"{45000 + i / 24:.9f}" for i in range(30)])
    assert log.starts_at == datetime(1899, 12, 30) + timedelta(days=45000)
    assert np.diff(log.time_s) == pytest.approx(3600.0, abs=1e-3)


def findings_by_row(log):
    return [row for one in log.findings for row in one.rows]


# Samples of one second; the places written are those of the list. Time and charge are known.
@pytest.mark.parametrize(
    ("places", "twice", "lasts"),
    [([*range(20), 18, 19, *range(20, 60)], 2, 59), ([*range(20), 18, *range(20, 60)], 1, 59),
     ([*range(30), *range(20, 60)], 10, 59), ([*range(60), *range(55, 60)], 5, 59),
     ([*range(20), 19, *range(20, 60)], 0, 59), ([*range(20), 21, 20, *range(22, 60)], 0, 59)],
)  # fmt: skip
def test_rows_written_twice(tmp_path, places, twice, lasts):
    text = "Time [s],V,A\n" + "".join(f"{i},{13 - i / 100:.2f},5\n" for i in places)
    log = read(tmp_path, text)
    assert log.count == len(places) - twice
    assert log.time_s[-1] == lasts
    assert log.counted_Ah()[-1] == pytest.approx(5.0 * lasts / 3600.0)
    assert ("written once more" in told(log)) == (twice > 0)
    rows = findings_by_row(log)
    assert len(rows) == len(set(rows))


def test_a_lone_stamp_back_in_time_is_told_once(tmp_path):
    rows = [(i, 13 - i / 100) for i in range(60)]
    rows.insert(20, (18, 12.795))
    log = read(tmp_path, "Time [s],V,A\n" + "".join(f"{t},{v:.3f},5\n" for t, v in rows))
    assert log.count == 61
    assert findings_by_row(log) == [22]


def test_an_hour_again_after_a_clock_change_is_kept(tmp_path):
    # Rest at one voltage: the same stamps and values, yet no row stands there twice.
    stamps = [*range(0, 7200, 60), *range(3600, 9000, 60)]
    log = read(tmp_path, "Time [s],V,A\n" + "".join(f"{t},12.80,0\n" for t in stamps))
    assert log.count == len(stamps)
    assert log.time_s[-1] == 60.0 * (len(stamps) - 1)


@pytest.mark.parametrize(
    "places",
    [[*range(30), *range(39, 29, -1), *range(40, 60)], [*range(20), 21, 20, *range(22, 60)]],
)  # fmt: skip
def test_rows_out_of_order_are_sorted(tmp_path, places):
    text = "Time [s],V,A\n" + "".join(f"{i},{13 - i / 100:.2f},5\n" for i in places)
    log = read(tmp_path, text)
    assert log.time_s == pytest.approx(np.arange(60))
    assert log.voltage_V == pytest.approx(13 - np.arange(60) / 100)
    assert "sorted by time" in told(log)
    assert log.rows.tolist() == [places.index(i) + 2 for i in range(60)]


def drained(minute):
    """A voltage that falls by 1 mV a minute."""
    return 12.6 - 0.001 * minute


def sunday_log(folder, clock, *, every=1, count=300, passed=None):
    """Load of 5 A from half past midnight on; `clock` turns minutes passed into minutes shown."""
    first = datetime(2026, 3, 29, 0, 30)
    rows = []
    for k in range(count):
        minute = every * k
        shown = first + timedelta(minutes=clock(minute))
        volts_ = drained(minute if passed is None else passed(minute))
        rows.append(f"{shown:%Y-%m-%d %H:%M:%S},{volts_:.3f},5")
    return read(folder, "Time,V,A\n" + "\n".join(rows) + "\n")


def put_forward(minute):
    """The clock skips from 2 to 3 o'clock, as in most of Europe on 29 March 2026."""
    return minute + 60 * (minute >= 90)


@pytest.mark.parametrize("every", [1, 5, 10])
def test_summer_time_that_begins_is_no_hour(tmp_path, every):
    log = sunday_log(tmp_path, put_forward, every=every, count=300 // every)
    assert np.diff(log.time_s) == pytest.approx(60.0 * every)
    assert "the clock jumps forward by one hour at 02:00 on 2026-03-29" in told(log)
    assert "samples are missing" not in told(log)
    assert not log.gaps
    assert log.counted_Ah()[-1] == pytest.approx(5.0 * (300 - every) / 60.0, rel=1e-9)


def test_an_hour_that_the_voltage_shows_has_passed(tmp_path):
    log = sunday_log(tmp_path, put_forward, passed=put_forward)
    assert "jumps forward" not in told(log)
    assert len(log.gaps) == 1


@pytest.mark.parametrize(
    "clock",
    [lambda m: m + 60 * (m >= 110), lambda m: m + 50 * (m >= 90), lambda m: m + 120 * (m >= 90),
     lambda m: m + 60 * (m >= 90) + 1440, lambda m: m + 60 * (m >= 90) + 7 * 1440 * 8],
)  # fmt: skip
def test_other_hours_days_and_lengths_are_gaps(tmp_path, clock):
    # at 2:20, 50 min, 2 h, on a Monday, on a Sunday in May
    log = sunday_log(tmp_path, clock)
    assert "jumps forward" not in told(log)
    assert len(log.gaps) == 1


def test_clocks_of_a_zone_of_their_own_do_not_change(tmp_path):
    first, rows = datetime(2026, 3, 29, 0, 30), []
    for k in range(300):
        shown = first + timedelta(minutes=put_forward(k))
        rows.append(f"{shown:%Y-%m-%dT%H:%M:%S}+01:00,{drained(k):.3f},5")
    log = read(tmp_path, "Time,V,A\n" + "\n".join(rows) + "\n")
    assert "jumps forward" not in told(log)


def test_a_clock_that_starts_anew_is_no_clock_change(tmp_path):
    stamps = [datetime(2026, 3, 29, 8) + timedelta(minutes=k) for k in range(60)]
    stamps += [datetime(2000, 1, 1) + timedelta(minutes=k) for k in range(60)]
    log = day_log(tmp_path, [f"{one:%Y-%m-%d %H:%M}" for one in stamps])
    assert np.diff(log.time_s) == pytest.approx(60.0)
    assert "falls back by 26.2 years" in told(log)
    assert "starts anew" in told(log)
    assert "does not show" in told(log)
    assert "as after a clock change" not in told(log)
    assert len(log.doubts) == 1


def test_a_logger_that_started_anew_in_a_test_proves_no_miss(tmp_path):
    first, again = datetime(2026, 5, 2, 8), datetime(2000, 1, 1)
    rows = []
    for k in range(1000):
        shown = first + timedelta(minutes=k) if k < 500 else again + timedelta(minutes=k - 500)
        flows = 10 <= k < 970
        volts_ = 12.75 - 0.9 * k / 970 - 1.2 * np.exp((k - 970) / 9.0) if flows else 12.4
        rows.append(f"{shown:%Y-%m-%d %H:%M:%S},{volts_:.3f},{5.24 if flows else 0:.2f}")
    log = read(tmp_path, "Time,V,A\n" + "\n".join(rows) + "\n")
    answer, _ = evaluate_tests([log], [""], Question(rated_Ah=100.0))
    assert answer.measured.together.word is Word.UNDECIDED
    assert "started anew in it (row 502)" in answer.trials[0].not_full


@pytest.mark.parametrize("form", ["%Y-%m-%d %I:%M:%S", "%I:%M:%S", "day", "counter"])
def test_a_clock_that_runs_over_lost_nothing(tmp_path, form):
    # 12 hours without am or pm; seconds of the day; seconds in 16 bits
    begin, rows = datetime(2026, 5, 2, 6), []
    for k in range(1000):
        moment = begin + timedelta(minutes=k)
        whole = {"day": 86_400, "counter": 65_536}.get(form)
        shown = (50_000 + 60 * k) % whole if whole else moment.strftime(form)
        flows = 10 <= k < 970
        volts_ = 12.75 - 0.9 * k / 970 - 1.2 * np.exp((k - 970) / 9.0) if flows else 12.7
        rows.append(f"{shown},{volts_:.3f},{5.24 if flows else 0:.2f}")
    head = "time_s" if form in ("day", "counter") else "Time"
    log = read(tmp_path, f"{head},V,A\n" + "\n".join(rows) + "\n")
    assert np.diff(log.time_s) == pytest.approx(60.0)
    assert "starts anew" not in told(log)
    assert "begins anew after half a day" in told(log)
    answer, _ = evaluate_tests([log], [""], Question(rated_Ah=100.0))
    assert answer.trials[0].not_full == ""
    assert answer.measured.together.word is Word.NOT_MET


def test_nearly_half_a_day_is_no_clock_that_runs_over(tmp_path):
    begin = datetime(2026, 5, 2, 8)
    minutes = [*range(600), *range(600 - 717, 0)]
    log = day_log(tmp_path, [f"{begin + timedelta(minutes=k):%Y-%m-%d %H:%M}" for k in minutes])
    assert "starts anew" in told(log)
