"""Numbers of time without a unit: the truth is known by making, charge is current times time."""

import pytest
from measured.log_texts import falling, read, volts

from bankSim.measured.log import WARNING

SECONDS = {"s": 1.0, "min": 60.0, "h": 3600.0}
COUNT = 1200


def about_time(log):
    return [one for one in log.findings if "times name no unit" in one.text]


# 5 A for 20 h: 100 Ah; the voltage falls from 13 to 12 V.
@pytest.mark.parametrize("unit", SECONDS)
@pytest.mark.parametrize(
    ("head", "counter"),
    [("Capacity (Ah)", lambda h: 5.0 * h), ("Ah", lambda h: 100.0 - 5.0 * h),
     ("Charge [mAh]", lambda h: 5000.0 * h), ("Wh", lambda h: 5.0 * (13.0 * h - h * h / 40.0))],
)  # fmt: skip
def test_a_counter_settles_the_unit(tmp_path, unit, head, counter):
    def row(i):
        hours = i / 60.0
        return f"{hours * 3600.0 / SECONDS[unit]!r};{13.0 - hours / 20.0};5;{counter(hours):.4f}"

    log = read(tmp_path, falling(f"Time;Voltage;Current;{head}\n", row, COUNT))
    assert log.counted_Ah()[-1] == pytest.approx(5.0 * 1199 / 60.0, rel=1e-9)
    assert "column" in about_time(log)[0].text
    assert about_time(log)[0].severity != WARNING


def test_a_counter_that_begins_anew(tmp_path):
    def row(i):
        return f"{i / 60.0!r};{13.0 - i / 1200.0};5;{5.0 * (i % 400) / 60.0:.4f}"

    log = read(tmp_path, falling("Time;Voltage;Current;Ah\n", row, COUNT))
    assert log.time_s[-1] == pytest.approx(1199 * 60.0)


def test_a_counter_of_something_else_settles_nothing(tmp_path):
    def row(i):
        return f"{i};{13.0 - i / 12000.0};5;{i * 0.3}"

    log = read(tmp_path, falling("Time;Voltage;Current;Ah\n", row, COUNT))
    assert log.time_s[-1] == 1199.0


# A battery hardly empties in 20 s: a warning, but seconds all the same.
@pytest.mark.parametrize(("step", "fall", "warned"), [
    (1 / 60, 1.0, True), (1 / 60, 0.3, False), (1.0, 1.0, False)])  # fmt: skip
def test_without_counter_short_logs_are_warned_of(tmp_path, step, fall, warned):
    def row(i):
        return f"{i * step!r};{13.0 - fall * i / COUNT};5"

    log = read(tmp_path, falling("Time;Voltage;Current\n", row, COUNT))
    assert log.time_s[-1] == pytest.approx(1199 * step)
    (finding,) = about_time(log)
    assert (finding.severity == WARNING) == warned


def test_a_unit_that_is_named_stands(tmp_path):
    def row(i):
        return f"{i / 60.0!r};{13.0 - i / 1200.0};5;{5.0 * i / 60.0:.4f}"

    log = read(tmp_path, falling("Time [min];Voltage;Current;Ah\n", row, COUNT))
    assert log.time_s[-1] == pytest.approx(1199.0)
    assert not about_time(log)


def short_clock(i):
    """Like 1:05."""
    return f"{i // 60}:{i % 60:02d},{volts(i):.2f},5"


@pytest.mark.parametrize(
    ("head", "step_s"),
    [("Elapsed mm:ss", 1.0), ("Time (min:sec)", 1.0), ("Time [hh:mm]", 60.0), ("Elapsed", 60.0)],
)
def test_clocks_of_two_fields(tmp_path, head, step_s):
    # 5 A for 89 steps
    log = read(tmp_path, falling(f"{head},V,A\n", short_clock, 90))
    assert log.time_s[[1, -1]].tolist() == [step_s, 89.0 * step_s]
    assert log.counted_Ah()[-1] == pytest.approx(5.0 * 89.0 * step_s / 3600.0)
    warned = [one.text for one in log.findings if one.severity == WARNING]
    assert [one.startswith("Times such as 0:01 were read as hours and") for one in warned] == (
        [True] if head == "Elapsed" else []
    )


@pytest.mark.parametrize(
    "row",
    [
        lambda i: f"{12 + i // 60}:{i % 60:02d},{volts(i):.2f},5",  # a time of day
        lambda i: f"{i // 60}:{i % 60:02d}:00,{volts(i):.2f},5",
    ],
)
def test_other_clocks_are_not_asked_about(tmp_path, row):
    log = read(tmp_path, falling("Elapsed,V,A\n", row, 90))
    assert log.time_s[-1] == 89.0 * 60.0
    assert log.findings == ()
