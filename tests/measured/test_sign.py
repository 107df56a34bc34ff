"""What tells the direction of a current: both sides of every limit, on logs of a few samples."""

import numpy as np
import pytest

from bankSim.measured.log import AUTO, CHARGE_POSITIVE, DISCHARGE_POSITIVE, NOTE, WARNING
from bankSim.measured.sign import find_sign, present


def sign_of(voltage, current, time_s=None, header="A", **more):
    voltage, current = np.asarray(voltage, float), np.asarray(current, float)
    time = np.arange(float(voltage.size)) if time_s is None else np.asarray(time_s, float)
    said = {"asked": AUTO, "bdf": False} | more
    return find_sign(header=header, time_s=time, voltage_V=voltage, current_A=current, **said)


def course(start_V, *changes):
    """A voltage from its changes, each (samples, in all)."""
    parts = [np.full(count, whole / count) for count, whole in changes]
    return start_V + np.concatenate([[0.0], np.cumsum(np.concatenate(parts))])


def by_steps(found):
    return "current steps up" in found.reason


def by_trend(found):
    return "while the current is" in found.reason


def step(amperes, volts, drift_V=0.0):
    """A current from 0, and its voltage, which drifts by so much a sample."""
    current = np.repeat([0.0, amperes], 10)
    return np.repeat([13.0, 13.0 + volts], 10) + drift_V * np.arange(20), current


@pytest.mark.parametrize(
    ("amperes", "volts", "sign", "way"),
    [
        (10.0, -0.5, DISCHARGE_POSITIVE, "falls"), (-10.0, 0.5, DISCHARGE_POSITIVE, "falls"),
        (10.0, 0.5, CHARGE_POSITIVE, "rises"), (-10.0, -0.5, CHARGE_POSITIVE, "rises"),
    ],
)  # fmt: skip
def test_a_step_through_a_resistance(amperes, volts, sign, way):
    found = sign_of(*step(amperes, volts))
    assert (found.sign, found.severity) == (sign, NOTE)
    assert found.reason.startswith(f"the voltage {way} where the current steps up")


@pytest.mark.parametrize(("leap_A", "told"), [(1.4, False), (1.6, True)])
def test_a_step_is_three_twentieths_of_the_reach(leap_A, told):
    # it climbs slowly to 10 A but for one leap: 15 % of 10 A are 1.5 A
    climb = np.linspace(0.0, 10.0 - leap_A, 100)
    current = np.concatenate([climb[:50], climb[50:] + leap_A])
    voltage = np.repeat([13.0, 12.5], 50)
    assert by_steps(sign_of(voltage, current)) is told


@pytest.mark.parametrize(
    ("pattern", "told"), [([0, 0, 0, 10, 10], True), ([0, 10, 0, 10, 10], False)]
)
def test_a_current_that_leaps_in_most_rows_has_no_steps(pattern, told):
    # 2 and 4 of 5 rows leap
    current = np.tile(np.asarray(pattern, float), 10)
    assert by_steps(sign_of(13.0 - 0.05 * current, current)) is told


@pytest.mark.parametrize(("gap_s", "told"), [(25.0, True), (35.0, False)])
def test_across_a_gap_anything_may_happen(gap_s, told):
    # usually 10 s; three times that is too long
    lengths = np.full(19, 10.0)
    lengths[9] = gap_s
    found = sign_of(*step(10.0, 0.5), time_s=np.concatenate([[0.0], np.cumsum(lengths)]))
    assert by_steps(found) is told


def test_a_cut_out_is_no_step():
    # the voltage vanishes with the current: not "it rises with the current"
    current = np.repeat([10.0, 0.0], 20)
    found = sign_of(np.repeat([13.0, 0.0], 20), current)
    assert (found.sign, found.severity) == (DISCHARGE_POSITIVE, WARNING)
    assert "does not tell" in found.reason
    back = sign_of(np.repeat([0.0, 13.0], 20), current[::-1])  # nor is the return from one
    assert "does not tell" in back.reason


def test_what_drifts_all_along_is_no_answer():
    # 0.1 V a sample, at the step as elsewhere
    assert not by_steps(sign_of(*step(10.0, 0.0, -0.1)))
    found = sign_of(*step(10.0, -0.5, -0.1))
    assert by_steps(found)
    assert found.sign == DISCHARGE_POSITIVE


@pytest.mark.parametrize(("answer_V", "told"), [(0.025, False), (0.035, True)])
def test_an_answer_is_three_times_the_usual_change(answer_V, told):
    # it goes up by 10 mV, stands, comes down by 10 mV: half of all changes are 10 mV or more
    changes = np.tile([0.01, 0.0, -0.01], 13)
    changes[19] = answer_V
    current = np.repeat([0.0, 10.0], 20)
    assert by_steps(sign_of(13.0 + np.cumsum([0.0, *changes]), current)) is told


def test_a_millionth_of_the_voltage_is_no_answer():
    # 13 uV at 13 V
    assert not by_steps(sign_of(*step(10.0, -12e-6)))
    assert by_steps(sign_of(*step(10.0, -14e-6)))


@pytest.mark.parametrize(("second_V", "told"), [(-0.05, True), (-0.1, False)])
def test_steps_decide_from_a_correlation_of_six_tenths(second_V, told):
    # +10 A and -10 A answered by -0.5 V and x: (-5 - 10 x) / (root 200 x root(0.25 + x^2)), which
    # is -0.633 for -0.05 V and -0.555 for -0.1 V
    current = np.repeat([0.0, 10.0, 0.0], 10)
    voltage = np.repeat([13.0, 12.5, 12.5 + second_V], 10)
    assert by_steps(sign_of(voltage, current)) is told


@pytest.mark.parametrize(("steps", "sign"), [(2, CHARGE_POSITIVE), (3, DISCHARGE_POSITIVE)])
def test_three_steps_outweigh_the_trend(steps, sign):
    # 5 A and 6 A by turns, 10 mohm as in a discharge; it rises by 0.2 V all the same
    current = 5.0 + np.repeat(np.arange(steps + 1) % 2, 60)
    voltage = 13.0 + np.linspace(0.0, 0.2, current.size) - 0.01 * (current - 5.0)
    found = sign_of(voltage, current)
    assert (found.sign, found.severity) == (sign, WARNING)
    assert "would say the opposite" in found.reason
    assert found.reason.startswith("the voltage falls where") is (steps == 3)


@pytest.mark.parametrize(
    ("amperes", "whole_V", "sign", "words"),
    [
        (5.0, -0.1, DISCHARGE_POSITIVE, "falls while the current is positive"),
        (5.0, 0.1, CHARGE_POSITIVE, "rises while the current is positive"),
        (-5.0, -0.1, CHARGE_POSITIVE, "falls while the current is negative"),
        (-5.0, 0.1, DISCHARGE_POSITIVE, "rises while the current is negative"),
    ],
)
@pytest.mark.parametrize("samples", [2, 30, 1000])
def test_the_voltage_falls_while_discharging(amperes, whole_V, sign, words, samples):
    found = sign_of(course(13.0, (samples, whole_V)), np.full(samples + 1, amperes))
    assert (found.sign, found.severity, found.reason) == (sign, NOTE, f"the voltage {words}")


def test_two_samples_have_no_trend():
    assert not by_trend(sign_of([13.0, 12.0], [5.0, 5.0]))


@pytest.mark.parametrize(("fall_V", "told"), [(0.025, False), (0.027, True)])
def test_a_trend_is_two_thousandths_of_the_voltage(fall_V, told):
    # of 13 V: 26 mV
    assert by_trend(sign_of(course(13.0, (40, -fall_V)), np.full(41, 5.0))) is told


@pytest.mark.parametrize(("down_V", "up_V", "told"), [(0.6, 0.4, False), (0.7, 0.3, True)])
def test_a_trend_goes_one_way_for_most_of_it(down_V, up_V, told):
    # 0.2 and 0.4 V remain of 1 V up and down: three tenths decide
    found = sign_of(course(13.0, (20, -down_V), (20, up_V)), np.full(41, 5.0))
    assert by_trend(found) is told
    assert found.sign == DISCHARGE_POSITIVE


@pytest.mark.parametrize(("weak_A", "words"), [(1.9, "falls"), (2.1, "rises")])
def test_a_trend_is_read_where_much_flows(weak_A, words):
    # falls by 0.1 V at 10 A, rises by 0.2 V at a fifth of it or just less
    voltage = course(13.0, (20, -0.1), (21, 0.2))
    current = np.repeat([10.0, weak_A], [21, 21])
    assert f"{words} while the current is positive" in sign_of(voltage, current).reason


def test_a_trend_counts_the_current_and_not_the_charge_of_a_row():
    # 2 A for long rows, 20 A for short ones: only the latter count
    time = np.concatenate([np.arange(20.0), 20.0 + 100.0 * np.arange(20.0)])
    voltage = course(13.0, (19, -0.1), (20, 0.2))
    found = sign_of(voltage, np.repeat([20.0, 2.0], 20), time)
    assert "falls while the current is positive" in found.reason


def test_lone_readings_make_no_trend():
    voltage = course(13.0, (40, -0.1))
    voltage[7], voltage[19], voltage[30] = 13.9, 12.0, 13.9
    assert sign_of(voltage, np.full(41, 5.0)).reason.startswith("the voltage falls while")


def test_a_trend_is_not_read_across_a_cut_out():
    # rises by 0.1 V in each of two stretches; between them it vanishes and stands 0.5 V lower
    voltage = np.concatenate([course(13.0, (20, 0.1)), np.zeros(5), course(12.5, (20, 0.1))])
    found = sign_of(voltage, np.full(voltage.size, 5.0))
    assert found.reason.startswith("the voltage rises while")


def test_samples_that_show_the_voltage_of_the_battery():
    # two samples beside a cut-out may be half-way; below half of the usual 12 V it has cut out
    for low_V, gone in ((0.0, True), (5.9, True), (6.1, False)):
        seen = present(np.array([12.0] * 10 + [low_V] * 3 + [12.0] * 10))
        expected = [not (gone and 8 <= k <= 14) for k in range(23)]
        assert seen.tolist() == expected
    # where that would leave nothing, only the dead ones go
    assert present(np.array([12.0, 12.0, 0.0, 12.0, 12.0])).tolist() == [
        True,
        True,
        False,
        True,
        True,
    ]
    assert present(np.zeros(4)).all()
    assert present(np.zeros(0)).size == 0
    # the usual voltage is that of living samples, however few: here a tenth
    few = present(np.array([0.0] * 44 + [12.0] * 6))
    assert few.tolist() == [False] * 46 + [True] * 4


def test_words_of_a_header_stand_beside_what_is_seen():
    falls = course(13.0, (40, -0.1)), np.full(41, 5.0)
    agree = sign_of(*falls, header="Discharge current")
    assert agree.reason.endswith(', and the header "Discharge current" speaks of discharge')
    assert agree.severity == NOTE
    against = sign_of(*falls, header="Charge current")
    assert (against.sign, against.severity) == (DISCHARGE_POSITIVE, WARNING)
    assert 'although the header "Charge current" speaks of charge' in against.reason


@pytest.mark.parametrize(
    ("header", "bdf", "sign"),
    [
        ("Ladestrom", False, CHARGE_POSITIVE), ("Entladestrom", False, DISCHARGE_POSITIVE),
        ("corriente de descarga", False, DISCHARGE_POSITIVE), ("carga", False, CHARGE_POSITIVE),
        ("courant de décharge", False, DISCHARGE_POSITIVE), ("A", True, CHARGE_POSITIVE),
        ("I_dchg [A]", False, DISCHARGE_POSITIVE), ("I chg (A)", False, CHARGE_POSITIVE),
        ("Corrente di scarica", False, DISCHARGE_POSITIVE), ("Laadstroom", False, CHARGE_POSITIVE),
        ("DisCharge Current", False, DISCHARGE_POSITIVE),
    ],
)  # fmt: skip
def test_a_header_alone_tells_it_where_nothing_is_seen(header, bdf, sign):
    found = sign_of(np.full(9, 13.0), np.full(9, 5.0), header=header, bdf=bdf)
    assert (found.sign, found.severity) == (sign, NOTE)


@pytest.mark.parametrize(
    "header", ["Strom (+ Laden / - Entladen) [A]", "Charge (+), discharge (-)", "Channel 1 current"]
)
def test_a_header_that_names_both_directions_tells_none(header):
    found = sign_of(np.full(9, 13.0), np.full(9, -5.0), header=header)
    assert found.severity == WARNING
    assert found.reason.startswith("the voltage does not tell")
    falls = course(13.0, (40, -0.1)), np.full(41, -5.0)
    assert sign_of(*falls, header=header).severity == NOTE  # and contradicts nothing


@pytest.mark.parametrize(
    ("amperes", "sign"),
    [(5.0, DISCHARGE_POSITIVE), (0.5, DISCHARGE_POSITIVE), (0.0, DISCHARGE_POSITIVE),
     (-5.0, CHARGE_POSITIVE)],
)  # fmt: skip
def test_without_any_hint_a_discharge_is_assumed(amperes, sign):
    found = sign_of(np.full(9, 13.0), np.full(9, amperes))
    assert (found.sign, found.severity) == (sign, WARNING)
    assert "a discharge was assumed" in found.reason


def test_what_was_asked_for_goes_first():
    found = sign_of(*step(10.0, 0.5), asked=DISCHARGE_POSITIVE)
    assert (found.sign, found.reason) == (DISCHARGE_POSITIVE, "as given on the command line")
