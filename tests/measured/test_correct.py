import math

import pytest
from pytest import approx

from bankSim.errors import ParameterError
from bankSim.measured.correct import (
    Exponent,
    Wanted,
    at_rate,
    capacity_part,
    corrected,
    lead_per_K,
    usual_exponent,
)
from bankSim.measured.log import LogError
from bankSim.measured.uncertainty import Budget, Contribution, Shape
from bankSim.model.peukert import time_from_rating_h

MEASURED = Budget(80.0, "Ah", (Contribution("meter", 0.4, "Ah"),))


def fix(hours=10.0, temperature_C=15.0, **words):
    return corrected(MEASURED, hours, temperature_C, Wanted(**words), "a.csv")


def test_lead_acid_at_freezing():
    # published pair 0.006 (10-20 h) and 0.01 (1-3 h): 85 % at 0 degC and 10 h, 75 % at 1 h
    assert capacity_part("AGM", 0.0, 10.0) == approx(0.85)
    assert capacity_part("gel", 0.0, 20.0) == approx(0.85)
    assert capacity_part("flooded", 0.0, 1.0) == approx(0.75)
    assert lead_per_K(6.5) == approx(0.008)  # half way between 3 h and 10 h


@pytest.mark.parametrize(("at_C", "part"), [(-20, 0.7), (0, 0.8), (25, 1.0), (55, 0.95)])
def test_lfp_as_a_published_specification_promises(at_C, part):
    assert capacity_part("LFP", at_C, 3.0) == approx(part)


@pytest.mark.parametrize(
    ("exponent", "amperes", "hours", "charge"),
    [(1.2, 10.0, 8.70551, 87.055), (1.2, 25.0, 2.89912, 72.478), (1.15, 50.0, 1.41589, 70.795)],
)
def test_peukert_leads_back_to_the_rating(exponent, amperes, hours, charge):
    # 100 Ah at 20 h, worked examples of Peukert's law
    assert at_rate(charge, hours, 20.0, exponent) == approx(100.0, rel=1e-4)
    rating = at_rate(charge, hours, 20.0, exponent)
    assert time_from_rating_h(amperes, rating, 20.0, exponent) == approx(hours, rel=1e-4)


def test_a_correction_is_shown_with_its_change_and_own_uncertainty():
    new, (told,) = fix(names=("temperature",), chemistry="AGM")
    assert new.value == approx(80.0 / 0.94)
    assert told.change_Ah == approx(new.value - 80.0)
    assert "0.006" in told.source
    shares = {one.name: one.share for one in new.contributions}
    assert shares["meter"] == approx(0.4 / 0.94)
    # half of 5.106 Ah as limits
    assert shares["temperature correction"] == approx(5.1064 / 2 / 3**0.5, rel=1e-4)
    # 2 K at 0.6 %/K of C25: dC/dT = C L / (1 - 10 L)^2
    assert shares["temperature reading"] == approx(2 / 3**0.5 * 80 * 0.006 / 0.94**2, rel=1e-3)
    assert new.combined > MEASURED.combined


def test_no_correction_at_25_degrees_and_at_the_same_rate():
    new, told = fix(
        hours=20.0, temperature_C=25.0, names=("temperature", "rate"), chemistry="flooded"
    )
    assert new.value == approx(80.0)
    assert [one.factor for one in told] == approx([1.0, 1.0])


def test_corrections_multiply():
    both, told = fix(hours=5.0, names=("temperature", "rate"), chemistry="AGM")
    assert both.value == approx(80.0 * told[0].factor * told[1].factor)
    assert both.value == approx(80.0 + told[0].change_Ah + told[1].change_Ah)


def test_an_exponent_of_ones_own():
    new, (told,) = fix(hours=5.0, names=("rate",), exponent=1.1)
    assert new.value == approx(80.0 * 4.0 ** (1 - 1 / 1.1))
    assert "1.1" in told.text


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ({"names": ("temperature",), "chemistry": "NMC"}, "expected LFP, AGM, gel or flooded"),
        ({"names": ("temperature",)}, "--chemistry None"),
        ({"names": ("rate",), "chemistry": "NMC"}, "or --peukert"),
        ({"names": ("temperature",), "chemistry": "AGM", "temperature_C": None}, "a.csv: no temp"),
        ({"names": ("temperature",), "chemistry": "AGM", "temperature_C": -100.0}, "nearer to 25"),
    ],
)
def test_what_cannot_be_corrected_is_refused(words, told):
    with pytest.raises(LogError, match=told):
        fix(**words)


@pytest.mark.parametrize(
    "words",
    [
        {"names": ("colour",)},
        {"names": ("rate", "rate")},
        {"to_rate_h": 0.0},
        {"exponent": 0.9},
        {"exponent": float("nan")},
    ],
)
def test_nonsense_is_refused(words):
    with pytest.raises(ParameterError):
        Wanted(**words)


def test_the_ends_of_what_is_allowed():
    # an exponent of 1 is a battery whose Ah do not depend on the rate; above 2 none is known
    assert [Wanted(exponent=one).exponent for one in (1.0, 2.0)] == [1.0, 2.0]
    assert (Wanted().to_rate_h, Wanted(to_rate_h=0.5).to_rate_h) == (20.0, 0.5)
    with pytest.raises(ParameterError, match="1 to 2"):
        Wanted(exponent=2.01)
    with pytest.raises(ParameterError, match="more than 0"):
        Wanted(to_rate_h=math.inf)


@pytest.mark.parametrize(("temperature_C", "fine"), [(-41.0, True), (-47.0, False)])
def test_a_temperature_that_leaves_less_than_a_third_is_refused(temperature_C, fine):
    # lead-acid in 1 h: 1 - 0.01 x 66 = 34 %, 1 - 0.01 x 72 = 28 %; the limit is 30 %
    words = {"names": ("temperature",), "chemistry": "AGM", "hours": 1.0}
    if fine:
        new, _ = fix(temperature_C=temperature_C, **words)
        assert new.value == approx(80.0 / 0.34)
        return
    with pytest.raises(LogError, match="nearer to 25"):
        fix(temperature_C=temperature_C, **words)


def test_a_thermometer_near_a_bend_is_taken_within_half_a_kelvin():
    # LFP: 0.8 % a kelvin up to 25 degC, 0.05 / 30 a kelvin less above; at 25 degC the slope of
    # 80 Ah / part over 1 K is the mean of both sides
    new, _ = fix(temperature_C=25.0, names=("temperature",), chemistry="LFP")
    share = next(one.share for one in new.contributions if one.name == "temperature reading")
    below, above = 80.0 / (1.0 - 0.5 * 0.008), 80.0 / (1.0 - 0.5 * 0.05 / 30.0)
    assert share == approx(abs(above - below) * 2.0 / math.sqrt(3.0))
    # at 24.4 degC both sides are below the bend: the slope of 1 / part, 0.008 / part^2
    new, _ = fix(temperature_C=24.4, names=("temperature",), chemistry="LFP")
    share = next(one.share for one in new.contributions if one.name == "temperature reading")
    part = 1.0 - 0.6 * 0.008
    assert share == approx(80.0 * 0.008 / part**2 * 2.0 / math.sqrt(3.0), rel=1e-4)


def test_lines_of_corrections_are_assumed_and_the_same_in_all_repeats():
    both, _ = fix(hours=5.0, names=("temperature", "rate"), chemistry="AGM", exponent=1.1)
    told = {one.name: one for one in both.contributions if one.name != "meter"}
    assert sorted(told) == ["Peukert's exponent", "temperature correction", "temperature reading"]
    assert all(one.assumed and one.shared for one in told.values())


def test_an_exponent_of_ones_own_is_uncertain_by_a_fiftieth():
    # own choice: +- 0.02. dC/dk = C ln(20 / 5) / k^2, C = 80 Ah x 4^(1 - 1/k)
    new, _ = fix(hours=5.0, names=("rate",), exponent=1.2)
    line = next(one for one in new.contributions if one.name == "Peukert's exponent")
    assert (line.width, line.shape) == (0.02, Shape.RECTANGULAR)
    slope = new.value * math.log(4.0) / 1.2**2
    assert line.share == approx(slope * 0.02 / math.sqrt(3.0), rel=1e-3)


def test_below_an_exponent_of_1_nothing_changes():
    # the step of 0.01 down from 1 reaches no battery: half of the slope is left
    new, _ = fix(hours=5.0, names=("rate",), exponent=1.0)
    line = next(one for one in new.contributions if one.name == "Peukert's exponent")
    up = 80.0 * (4.0 ** (1.0 - 1.0 / 1.01) - 1.0)
    assert line.sensitivity == approx(up / 0.02)


def test_an_exponent_found_by_the_tests_goes_first():
    own = Exponent(1.3, 0.05, Shape.NORMAL, "both tests", "their scatter")
    wanted = Wanted(("rate",), "AGM", exponent=1.1)
    new, (told,) = corrected(MEASURED, 5.0, 25.0, wanted, "a.csv", own)
    assert (new.value, told.source) == (approx(80.0 * 4.0 ** (1.0 - 1.0 / 1.3)), "both tests")
    line = next(one for one in new.contributions if one.name == "Peukert's exponent")
    assert (line.width, line.shape, line.assumed) == (0.05, Shape.NORMAL, False)
    assert line.source == "their scatter"


def test_a_discharge_of_no_length_has_no_rate():
    with pytest.raises(LogError, match=r"a\.csv: a discharge of no length"):
        fix(hours=0.0, names=("rate",), exponent=1.1)
    quick, _ = fix(hours=0.5, names=("rate",), exponent=1.1)
    assert quick.value == approx(80.0 * 40.0 ** (1.0 - 1.0 / 1.1))


def test_nothing_measured_stays_nothing():
    new, (told,) = corrected(Budget(0.0, "Ah", ()), 5.0, 25.0, Wanted(("rate",), "AGM"), "a.csv")
    assert (new.value, told.factor, told.change_Ah) == (0.0, 1.0, 0.0)


@pytest.mark.parametrize(
    ("chemistry", "low", "high", "words"),
    [
        ("LFP", 1.01, 1.05, "the middle of what is published"),
        ("gel", 1.10, 1.25, "that of a typical gel battery"),
        ("flooded", 1.2, 1.6, "that of a typical flooded battery"),
    ],
)
def test_the_usual_exponent_says_where_it_comes_from(chemistry, low, high, words):
    # all of these lie within what an encyclopaedia has published, so half of that span counts
    found = usual_exponent(chemistry)
    assert low <= found.value <= high
    assert found.width == approx((high - low) / 2.0)
    assert found.source.startswith(words)
    assert f"published: {low:.2f} to {high:.2f}" in found.source
    assert (found.shape, found.assumed) == (Shape.RECTANGULAR, True)
