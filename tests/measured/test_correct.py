import pytest
from pytest import approx

from bankSim.errors import ParameterError
from bankSim.measured.correct import Wanted, at_rate, capacity_part, corrected, lead_per_K
from bankSim.measured.log import LogError
from bankSim.measured.uncertainty import Budget, Contribution
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
