"""Headers that are nothing but a unit."""

import pytest
from measured.log_texts import falling, read
from pytest import approx

from bankSim.measured.log import LogError

SECONDS = {"s": 1.0, "S": 1.0, "min": 60.0, "Min.": 60.0, "MIN": 60.0, "h": 3600.0, "H": 3600.0,
           "ms": 1e-3, "d": 86400.0}  # fmt: skip


@pytest.mark.parametrize(("unit", "seconds"), SECONDS.items())
def test_a_bare_unit_of_time(tmp_path, unit, seconds):
    # closed form: row i lies at i unit
    log = read(tmp_path, falling(f"{unit}\tvolts\tamps\n", lambda i: f"{i}\t{13 - i / 100:.2f}\t5"))
    assert log.time_s == approx(seconds * (log.rows - log.rows[0]))
    assert log.uses[0].meaning == "time"
    assert not log.uses[0].asked


@pytest.mark.parametrize("head", ["min,V,A,degC", "s,mV,mA,K", "h,V,A,\u00b0C"])
def test_all_headers_are_units(tmp_path, head):
    volts, milli = ("13000", 1000.0) if "mV" in head else ("13.0", 1.0)
    warm = "294.65" if head.endswith("K") else "21.5"
    log = read(tmp_path, falling(f"{head}\n", lambda i: f"{i},{volts},{5 * milli},{warm}"))
    assert [use.meaning for use in log.uses] == ["time", "voltage", "current", "temperature"]
    assert log.voltage_V == approx(13.0)
    assert log.current_A == approx(5.0)
    assert log.temperature_C == approx(21.5)


def test_a_unit_gives_way_to_a_name(tmp_path):
    log = read(tmp_path, falling("time [s],V,A,min\n", lambda i: f"{i},13.0,5,{i}"))
    assert [use.meaning for use in log.uses] == ["time", "voltage", "current", "not used"]


@pytest.mark.parametrize(
    ("head", "row"),
    [
        ("min,max,V,A", "12,14,13.0,5"),  # the lowest and the highest of something
        ("min,V,A", "12.5,13.0,5"),  # stands still
        ("min,min,V,A", "{i},{i},13.0,5"),  # two of them
    ],
)
def test_what_may_be_the_lowest_of_something_is_no_time(tmp_path, head, row):
    with pytest.raises(LogError, match="no column of time found"):
        read(tmp_path, falling(f"{head}\n", lambda i: row.format(i=i)))


def test_a_lone_letter_is_no_temperature_unless_it_can_be(tmp_path):
    log = read(tmp_path, falling("s,V,A,K\n", lambda i: f"{i},13.0,5,{i % 2}"))
    assert log.temperature_C is None
