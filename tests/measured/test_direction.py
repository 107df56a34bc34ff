"""Direction of current told beside it, or not at all: both sides of every limit."""

import numpy as np
import pytest

from bankSim.measured.column import Choice, Column
from bankSim.measured.direction import (
    Pair,
    Unsigned,
    combined,
    find_pair,
    find_unsigned,
    find_words,
    one_signed,
    pair_findings,
    signed,
    unsigned_finding,
    unsigned_sign,
)
from bankSim.measured.header_words import read_header
from bankSim.measured.log import AUTO, CHARGE_POSITIVE, DISCHARGE_POSITIVE, NOTE, WARNING

ROWS = 100


def column(number, header, values):
    values = np.asarray(values, float)
    return Column(number, read_header(header), values, False, int(np.isfinite(values).sum()))


def out_and_in(both=0, charge_A=4.0):
    """Two columns: 5 A out in the first half of the rows, some in in the second."""
    half = np.arange(ROWS) < ROWS // 2
    into = np.where(half, 0.0, charge_A)
    into[:both] = charge_A
    return np.where(half, 5.0, 0.0), into


def pair_of(out, into, headers=("Discharge current / A", "Charge current / A"), **choice):
    columns = [column(1, headers[0], out), column(2, headers[1], into)]
    return find_pair(columns, Choice(**choice))


@pytest.mark.parametrize(
    "headers",
    [
        ("Discharge current / A", "Charge current / A"), ("Entladestrom / A", "Ladestrom / A"),
        ("I- / A", "I+ / A"), ("current out / A", "current in / A"),
    ],
)  # fmt: skip
def test_two_columns_one_for_each_direction(headers):
    assert pair_of(*out_and_in(), headers) == Pair(1, 2)
    assert pair_of(*out_and_in()[::-1], headers[::-1]) == Pair(2, 1)


@pytest.mark.parametrize(("both", "found"), [(2, True), (3, False)])
def test_only_one_of_them_holds_a_current_at_a_time(both, found):
    # 2 of 100 rows may be in between
    assert (pair_of(*out_and_in(both)) is not None) is found


@pytest.mark.parametrize(("little_A", "found"), [(0.09, True), (0.11, False)])
def test_a_fiftieth_of_the_largest_current_is_none(little_A, found):
    # of 5 A: 0.1 A
    out, into = out_and_in()
    into[: ROWS // 2] = little_A
    assert (pair_of(out, into) is not None) is found
    assert pair_of(np.zeros(ROWS), np.zeros(ROWS)) is None


@pytest.mark.parametrize(("turned", "found"), [(2, True), (3, False)])
def test_each_of_them_has_one_sign(turned, found):
    out, into = out_and_in()
    into[-turned:] = -4.0
    assert (pair_of(out, into) is not None) is found
    assert pair_of(-out, -np.abs(into)) == Pair(1, 2)


def test_a_pair_is_no_pair_where_something_else_was_said():
    out, into = out_and_in()
    assert pair_of(out, into, asked={1}, current=1) is None
    assert pair_of(out, into, temperature=2) is None
    columns = [column(k, "Discharge current / A", out) for k in (1, 2)]
    assert find_pair([*columns, column(3, "Charge current / A", into)], Choice()) is None
    third = [column(1, "Discharge current / A", out), column(2, "Charge current / A", into)]
    for values, found in ((out - into, None), (out + into, Pair(1, 2))):
        # a third column that has the sign itself goes first
        columns = [*third, column(3, "Current / A", values)]
        assert find_pair(columns, Choice(current=3)) == found


@pytest.mark.parametrize(
    ("headers", "devices"),
    [
        (("Current out / A", "Current in / A"), ""),
        (("Entladestrom / A", "Ladestrom / A"), ""),
        (("Current out / A", "PV current in / A"), '"PV current in / A"'),
        (("inverter out current / A", "pv in current / A"),
         '"inverter out current / A" and "pv in current / A"'),
    ],
)  # fmt: skip
def test_currents_of_devices_are_the_battery_s_only_where_nothing_else_is_connected(
    headers, devices
):
    columns = [
        column(k, header, values)
        for k, (header, values) in enumerate(zip(headers, out_and_in(), strict=True), 1)
    ]
    made, *warned = pair_findings(columns, find_pair(columns, Choice()))
    assert made.severity == NOTE
    assert [one.severity for one in warned] == ([WARNING] if devices else [])
    assert all(one.text.partition(": by the name not")[0] == devices for one in warned)


def test_two_columns_make_one_current():
    nan = np.nan
    current = combined(np.array([5, nan, 0, -5, 2, nan]), np.array([nan, 3, 4, 0, 1, nan]))
    assert current[:-1].tolist() == [5.0, -3.0, -4.0, 5.0, 1.0]
    assert np.isnan(current[-1])


@pytest.mark.parametrize(("little_A", "one"), [(-0.19, True), (-0.21, False), (np.nan, True)])
@pytest.mark.parametrize("way", [1.0, -1.0])
def test_a_current_of_one_sign(little_A, one, way):
    # 2 % of 10 A are 0.2 A
    assert one_signed(way * np.array([10.0, 3.0, little_A])) is one


def words_at(texts, current, header="Status"):
    columns = [
        column(1, "Current / A", current),
        Column(2, read_header(header), np.full(len(texts), np.nan), False, len(texts)),
    ]
    rows = [[str(value), text] for value, text in zip(current, texts, strict=True)]
    return find_words(columns, rows, Choice(current=1))


@pytest.mark.parametrize(("told", "number"), [(31, 2), (30, 0), (100, 2)])
def test_words_tell_where_they_stand_in_three_tenths_of_the_rows(told, number):
    texts = ["discharge"] * told + ["rest"] * (ROWS - told)
    assert words_at(texts, np.full(ROWS, 5.0)) == number


def test_words_are_read_where_a_current_flows():
    # 90 rows of rest without words; 0.11 A of 5 A flow, 0.09 A do not
    texts = ["charge"] * 10 + ["rest"] * 90
    assert words_at(texts, np.repeat([5.0, 0.09], [10, 90])) == 2
    assert words_at(texts, np.repeat([5.0, 0.11], [10, 90])) == 0
    assert words_at(texts, np.repeat([5.0, -5.0], [10, 90])) == 0  # it has a sign
    assert words_at(texts, np.zeros(ROWS)) == 0


def test_many_different_texts_are_no_words():
    for count, number in ((20, 2), (21, 0)):
        texts = [f"discharge {k % count}" for k in range(ROWS)]
        assert words_at(texts, np.full(ROWS, 5.0)) == number


def test_words_give_a_current_its_sign():
    found = []
    current = signed(
        np.array([5.0, 5.0, 5.0, 0.09, 0.11]), np.array([1.0, -1.0, 0.0, 0.0, 0.0]), "Status",
        np.arange(2, 7), found,
    )  # fmt: skip
    assert current.tolist() == [5.0, -5.0, 5.0, 0.09, 0.11]
    told, warned = found
    assert "1 rows discharge, 1 rows charge" in told.text
    assert (told.severity, warned.severity) == (NOTE, WARNING)
    assert (warned.rows, warned.count) == ((4, 6), 2)  # 2 % of 5 A are 0.1 A
    alone = []
    assert signed(np.array([-5.0]), np.array([1.0]), "x", np.array([2]), alone).tolist() == [5.0]
    assert len(alone) == 1


def stretches(*parts):
    """Stretches of (samples, amperes, whole change of the voltage), and rest between them."""
    volts, amps = [np.full(5, 13.0)], [np.zeros(5)]
    for samples, amperes, change in parts:
        volts += [13.0 + change * np.arange(samples) / (samples - 1), np.full(5, 13.0)]
        amps += [np.full(samples, amperes), np.zeros(5)]
    current = np.concatenate(amps)
    return np.arange(float(current.size)), np.concatenate(volts), current


FALLS, RISES = (40, 5.0, -0.4), (40, 5.0, 0.4)


@pytest.mark.parametrize("way", [1.0, -1.0])
def test_one_sign_that_makes_it_fall_and_rise(way):
    time, volts, amps = stretches(FALLS, RISES)
    assert find_unsigned(AUTO, time, volts, way * amps) == Unsigned(True, 50, 89)
    time, volts, amps = stretches(RISES, FALLS)
    assert find_unsigned(AUTO, time, volts, way * amps) == Unsigned(False, 50, 89)
    assert find_unsigned(DISCHARGE_POSITIVE, time, volts, amps) is None
    assert find_unsigned(AUTO, *stretches(FALLS, FALLS)) is None
    assert find_unsigned(AUTO, *stretches(FALLS, (40, -5.0, 0.4))) is None


@pytest.mark.parametrize(("whole_V", "found"), [(0.138, False), (0.144, True)])
def test_a_stretch_must_move_by_three_quarters_of_a_percent(whole_V, found):
    # from its second quarter on, between medians of three at samples 11 and 38: 27 of 39 steps,
    # 95.5 and 99.7 mV; 0.75 % of 13 V are 97.5 mV
    assert (find_unsigned(AUTO, *stretches(FALLS, (40, 5.0, whole_V))) is not None) is found


@pytest.mark.parametrize(("samples", "found"), [(40, False), (50, True)])
def test_a_tenth_of_the_charge_must_flow_each_way(samples, found):
    # of 441 and 451 samples
    log = stretches((400, 5.0, -0.4), (samples, 5.0, 0.4))
    assert (find_unsigned(AUTO, *log) is not None) is found


@pytest.mark.parametrize(("half_A", "found"), [(5.7, True), (5.8, False)])
def test_a_stretch_ends_where_the_current_changes_by_three_twentieths(half_A, found):
    # of 5 A: 0.75 A. Each half moves too little by itself
    time, volts, amps = stretches(FALLS, (40, 5.0, 0.16))
    amps[70:90] = half_A
    assert (find_unsigned(AUTO, time, volts, amps) is not None) is found


@pytest.mark.parametrize(("samples", "found"), [(3, False), (4, True)])
def test_a_stretch_has_four_samples(samples, found):
    log = stretches((20, 5.0, -0.4), (samples, 5.0, 0.4))
    assert (find_unsigned(AUTO, *log) is not None) is found


@pytest.mark.parametrize(("amperes", "found"), [(0.3, True), (0.2, False)])
def test_a_twentieth_of_the_largest_current_flows(amperes, found):
    log = stretches((20, 5.0, -0.4), (400, amperes, 0.4))
    assert (find_unsigned(AUTO, *log) is not None) is found


def test_what_is_told_of_a_current_without_sign():
    rows = np.arange(2, 200)
    told = unsigned_finding(Unsigned(True, 50, 89), rows)
    assert (told.rows, told.severity, told.spoils) == ((52, 91), WARNING, True)
    assert "first falls and then rises (rows 52 to 91)" in told.text
    assert "first rises and then falls" in unsigned_finding(Unsigned(False, 0, 9), rows).text


@pytest.mark.parametrize(
    ("amperes", "falls", "sign"),
    [
        (0.5, True, DISCHARGE_POSITIVE), (-0.5, True, CHARGE_POSITIVE),
        (0.5, False, CHARGE_POSITIVE), (-0.5, False, DISCHARGE_POSITIVE),
    ],
)  # fmt: skip
def test_the_first_stretch_that_tells_decides(amperes, falls, sign):
    found = unsigned_sign(Unsigned(falls, 0, 9), np.array([amperes]))
    assert found.sign == sign
    assert found.reason.startswith(f"the voltage {'falls' if falls else 'rises'} in the first")
