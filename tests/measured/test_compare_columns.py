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


BEGAN = datetime(2024, 5, 1, 8, 0)


def own_log(part, ahead_s=0.0):
    """The log of one battery over a part of the test, by the clock."""
    at_s = TIME[part]
    began = BEGAN + timedelta(seconds=float(at_s[0]) + ahead_s)
    return Log("own.csv", at_s - at_s[0], 13.0 + 0.0 * at_s, ONE[part], starts_at=began)


@pytest.mark.parametrize(
    ("part", "words"),
    [
        (slice(0, 100), None),
        (slice(0, 97), None),  # 30 s short: three samples
        (slice(0, 95), "ends 50.0 s before"),
        (slice(0, 70), "ends 5.00 min before the bank's current does, while its own flows: from "),
        # the bank's current begins at 110 s
        (slice(31, 100), "begins 3.33 min after the bank's current does, while its own flows: "),
        (slice(14, 100), None),
    ],
)
def test_what_a_log_of_its_own_does_not_cover_is_told(part, words):
    log = log_with({"new current": TWO}, starts_at=BEGAN)
    found = battery_currents(log, ["old", "new"], logs={"old": own_log(part)})
    told = [one for one in found.warnings if one.startswith('the log of "old"')]
    assert len(told) == (words is not None)
    assert words is None or words in told[0]
    inside = np.zeros(TIME.size, bool)
    inside[part] = True
    assert found.current_A[0] == approx(np.where(inside, ONE, 0.0))


def test_a_log_of_its_own_that_ends_without_current_lacks_nothing():
    # cut off at 500 s; its logger died at 600 s
    gone = np.where(TIME <= 500.0, ONE, 0.0)
    own = Log("own.csv", TIME[:61], 13.0 + 0.0 * TIME[:61], gone[:61], starts_at=BEGAN)
    log = log_with({"new current": ONE + TWO - gone}, starts_at=BEGAN)
    assert battery_currents(log, ["old", "new"], logs={"old": own}).warnings == ()


def test_with_one_clock_only_the_start_of_the_current_counts():
    own = Log("own.csv", TIME[5:] - 50.0, (13.0 - 0.1 * ON)[5:], ONE[5:])
    log = log_with({"new current": TWO}, starts_at=BEGAN)
    found = battery_currents(log, ["old", "new"], logs={"old": own})
    assert found.current_A[0] == approx(ONE)
    assert found.told[0] == (
        'current of "old": own.csv, put in time by the start of the current, since not both logs '
        "have a clock"
    )
    assert found.told[1] == 'current of "new": column "new current"'
    idle = Log("idle.csv", TIME, 13.0 + 0.0 * TIME, 0.0 * TIME)
    with pytest.raises(LogError, match=r"idle.csv: no current flows; expected the "):
        battery_currents(log, ["old", "new"], logs={"old": idle})


def test_that_no_battery_was_measured_is_told():
    told = battery_currents(log_with({}), ["old", "new"]).told
    assert told == ("no current of single batteries was found: only the bank is compared",)


@pytest.mark.parametrize("ahead_s", [-86400.0, 86400.0])
def test_clocks_a_day_apart_are_refused(ahead_s):
    own = own_log(slice(0, 100), ahead_s)
    with pytest.raises(LogError, match=r"own.csv: put in time by the clock, it has no instant in "):
        battery_currents(log_with({}, starts_at=BEGAN), ["old", "new"], logs={"old": own})


def test_a_column_that_is_half_empty_is_filled_by_lines():
    half = np.where(np.arange(TIME.size) % 2, np.nan, TIME)
    log = log_with({"old current": half})
    found = battery_currents(log, ["old", "new"])
    assert found.current_A[0][:-1] == approx(TIME[:-1])
    half[0] = np.nan  # 49 of 100
    with pytest.raises(LogError, match="has 49 numbers in 100 rows; expected a current in most"):
        battery_currents(log_with({"old current": half}), ["old", "new"])


@pytest.mark.parametrize("share", [0.028, 0.032])
def test_a_gap_of_three_hundredths_of_what_flows_is_a_warning(share):
    # 10 A throughout: the root mean square of a steady gap is the gap
    log = Log("b.csv", TIME, 13.0 - 0.0 * ON, np.full(TIME.size, 10.0),
              others={"old current": np.full(TIME.size, 4.0),
                      "new current": np.full(TIME.size, 6.0 + 10.0 * share)})  # fmt: skip
    found = battery_currents(log, ["old", "new"])
    words = f"within {10 * share:.2f} A (rms), {100 * share:.1f} % of what usually flows"
    assert any(words in text for text in found.told)
    assert bool(found.warnings) is (share > 0.03)


@pytest.mark.parametrize("count", [8, 9])
def test_signs_of_many_batteries(count):
    # nine are turned one by one, as each flows with the bank
    names = [f"b{n}" for n in range(count)]
    others = {f"{name} current": (-1.0) ** n * (n + 1) * ON for n, name in enumerate(names)}
    total = sum(n + 1 for n in range(count)) * ON
    log = Log("b.csv", TIME, 13.0 - 0.1 * ON, total, others=others)
    found = battery_currents(log, names)
    assert found.current_A == approx(np.outer(np.arange(1.0, count + 1.0), ON))


def test_of_all_signs_those_are_taken_that_add_up_best():
    # one battery is charged by the other all along: alone, its sign would be turned
    one, other = 8.0 * ON, -3.0 * ON
    log = Log("b.csv", TIME, 13.0 - 0.1 * ON, one + other,
              others={"old current": one, "new current": other})  # fmt: skip
    found = battery_currents(log, ["old", "new"])
    assert found.current_A == approx(np.array([one, other]))
    assert not any("was turned" in text for text in found.told)


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
