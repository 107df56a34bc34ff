from datetime import datetime, timedelta

import numpy as np
import pytest
from pytest import approx

from bankSim.measured.compare_columns import battery_currents, is_current, words_of
from bankSim.measured.log import CHARGE_POSITIVE, Log, LogError

TIME = np.arange(0.0, 1000.0, 10.0)
ON = np.where(TIME > 100.0, 1.0, 0.0)
ONE, TWO = 4.0 * ON, (6.0 + 0.001 * TIME) * ON


def log_with(others, **more):
    return Log("b.csv", TIME, 13.0 - 0.1 * ON, ONE + TWO, others=others, **more)


@pytest.mark.parametrize(
    "header",
    [
        "old current [A]",
        "OldCurrent",
        "old_A",
        "I old (A)",
        "old mA",
        "old amps",
        "Strom old",
        "courant old",
    ],
)
def test_headers_that_speak_of_a_current(header):
    assert is_current(words_of(header))


@pytest.mark.parametrize(
    "header",
    [
        "old voltage [V]",
        "old Ah",
        "old power W",
        "old temperature C",
        "old",
        "Spannung old",
        "Leistung old A",
    ],
)
def test_headers_that_do_not(header):
    assert not is_current(words_of(header))


def test_columns_are_found_by_name_and_in_milliamperes():
    found = battery_currents(log_with({"old I [mA]": 1e3 * ONE, "new, A": TWO}), ["old", "new"])
    assert found.current_A == approx(np.array([ONE, TWO]))
    assert found.warnings == ()


def test_the_longest_name_that_fits_takes_a_column():
    log = log_with({"old 2 current": TWO, "old current": ONE})
    assert battery_currents(log, ["old", "old 2"]).current_A == approx(np.array([ONE, TWO]))


@pytest.mark.parametrize("names", [("A", "B"), ("B", "A")])
def test_a_unit_is_not_taken_for_the_name_of_a_battery(names):
    log = log_with({"A.current_A": ONE, "B.current_A": TWO})
    expected = [ONE if name == "A" else TWO for name in names]
    assert battery_currents(log, names).current_A == approx(np.array(expected))
    one_given = battery_currents(log, names, {"B": "B.current_A"})
    assert one_given.current_A == approx(np.array(expected))


def test_two_columns_for_one_battery_are_refused():
    log = log_with({"old current": ONE, "old amps": ONE, "new current": TWO})
    with pytest.raises(LogError, match=r"all look like the current of \"old\".*--column"):
        battery_currents(log, ["old", "new"])
    given = battery_currents(log, ["old", "new"], {"old": "old amps"})
    assert given.current_A == approx(np.array([ONE, TWO]))


@pytest.mark.parametrize("signs", [(1, 1), (-1, 1), (1, -1), (-1, -1)])
def test_signs_are_turned_until_currents_add_up(signs):
    # Kirchhoff's current law
    log = log_with({"old current": signs[0] * ONE, "new current": signs[1] * TWO})
    found = battery_currents(log, ["old", "new"])
    assert found.current_A.sum(axis=0) == approx(log.current_A)
    assert sum("was turned" in text for text in found.told) == signs.count(-1)


def test_a_file_with_charge_positive_turns_all():
    log = log_with({"old current": -ONE, "new current": -TWO}, sign=CHARGE_POSITIVE)
    found = battery_currents(log, ["old", "new"])
    assert found.current_A == approx(np.array([ONE, TWO]))
    assert not any("was turned" in text for text in found.told)


def test_a_single_missing_current_is_what_is_left():
    found = battery_currents(log_with({"new current": -TWO}), ["old", "new"])
    assert found.current_A == approx(np.array([ONE, TWO]))
    assert any("what is left" in text for text in found.told)


def test_two_missing_currents_stay_unknown():
    found = battery_currents(log_with({"c current": ONE}), ["a", "b", "c"])
    assert np.isnan(found.current_A[:2]).all()
    assert np.isfinite(found.current_A[2]).all()


def test_currents_that_do_not_add_up_are_a_warning():
    found = battery_currents(
        log_with({"old current": 1.5 * ONE, "new current": TWO}), ["old", "new"]
    )
    (warning,) = found.warnings
    assert "one of the meters is off" in warning
    assert "1.9 A" in warning  # 0.5 x 4 A in 89 of 100 samples: 2 A x sqrt(0.89), closed form


def test_a_log_of_its_own_is_put_in_time_by_the_clock():
    began = datetime(2024, 5, 1, 8, 0)
    own = Log("own.csv", TIME, 13.0 - 0.1 * ON, ONE, starts_at=began + timedelta(seconds=50))
    found = battery_currents(log_with({}, starts_at=began), ["old", "new"], logs={"old": own})
    later = np.interp(TIME - 50.0, TIME, ONE, left=0.0)
    assert found.current_A[0] == approx(later)
    assert "by the clock" in found.told[0]


def test_without_a_clock_it_is_put_by_the_start_of_the_current():
    own = Log("own.csv", TIME[5:] - 50.0, (13.0 - 0.1 * ON)[5:], ONE[5:])
    found = battery_currents(log_with({}), ["old", "new"], logs={"old": own})
    assert found.current_A[0][10:-6] == approx(ONE[10:-6])


@pytest.mark.parametrize(
    ("columns", "logs", "words"),
    [
        ({"odl": "old current"}, {}, "no battery 'odl'; expected one of: old, new"),
        ({"old": "current old"}, {}, "no column 'current old'"),
        ({"old": "sparse"}, {}, "expected a current in most"),
        ({"old": "old current"}, {"old": None}, "a column and a log"),
    ],
)
def test_misuse_is_told(columns, logs, words):
    sparse = np.full(TIME.size, np.nan)
    sparse[:3] = 1.0
    log = log_with({"old current": ONE, "sparse": sparse})
    with pytest.raises(LogError, match=words):
        battery_currents(log, ["old", "new"], columns, logs)
