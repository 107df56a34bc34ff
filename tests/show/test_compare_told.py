"""A prediction against a test in sentences, on numbers written by hand."""

from types import SimpleNamespace

import pytest

from bankSim.measured.compare_found import MEASURED, SCENARIO, Compared, Residual, Stop
from bankSim.measured.compare_frame import MODEL_PART, MODEL_V_A_CELL
from bankSim.show import compare_story
from bankSim.show.compare_story import (
    OUTLASTS,
    _accuracy,
    _agreement,
    _numbers,
    _reading,
    _stops,
    _voltage,
    headline,
)


def number(measured, predicted=100.0, *, text="charge given", unit="Ah", battery=None, error=0.5,
           inside=True, low=90.0, high=110.0):  # fmt: skip
    gap = measured - predicted
    part = None if unit == "h" else gap / predicted
    return Compared("key", text, unit, battery, predicted, measured, gap, part, low, high, error,
                    inside)  # fmt: skip


def hours(measured, predicted=10.0, **more):
    return number(measured, predicted, text="stops after", unit="h", **more)


def told(Ah=97.0, stop_h=9.5, *more, **changes):
    """What is said of the bank and how far off it is, of 100.0 Ah and 10.00 h predicted."""
    plain = {
        "numbers": (number(Ah), hours(stop_h), *more), "load": SCENARIO, "outlasts": False,
        "mean_currents_A": lambda: (10.0, 10.0), "inside_band": 0.987, "consistent": True,
        "farther": 0.25, "warnings": (), "explained": None,
    }  # fmt: skip
    return headline(SimpleNamespace(**(plain | changes)))


@pytest.fixture(autouse=True)
def no_causes(monkeypatch):
    """Causes are told elsewhere."""
    monkeypatch.setattr(compare_story, "best_words", lambda _: [])


@pytest.mark.parametrize(
    ("Ah", "stop_h", "words"),
    [
        (97.0, 9.5, "97.00 Ah, 3.0 Ah (3.0 %) less than the 100.0 Ah predicted; its current "
         "stopped 9.50 h after the scenario's start, 30 min earlier than predicted."),
        (103.0, 10.25, "103.0 Ah, 3.0 Ah (3.0 %) more than the 100.0 Ah predicted; its current "
         "stopped 10.2 h after the scenario's start, 15 min later than predicted."),
        (100.5, 9.99, "100.5 Ah, as predicted (100.0 Ah) within the accuracy of the meter; its "
         "current stopped 9.99 h after the scenario's start, 36 s earlier"),
        (99.4, 10.0 - 1.0 / 3600.0, "0.60 Ah (0.60 %) less than"),
    ],
)  # fmt: skip
def test_how_far_the_bank_is_off(Ah, stop_h, words):
    assert words in told(Ah, stop_h)[0]


def test_a_bank_driven_by_the_measured_current():
    first = told(load=MEASURED)[0]
    assert "9.50 h after its first current" in first
    least = told(load=MEASURED, outlasts=True)[0]
    assert "at least 3.0 Ah (3.0 %) less than" in least
    assert "at least 30 min earlier than predicted. The predicted bank was not empty" in least
    assert least.endswith(OUTLASTS)
    assert "for 1.4 times the test" in OUTLASTS


@pytest.mark.parametrize(
    ("farther", "words"),
    [(0.0, "no draw is"), (0.004, "1 of 100 draws are"), (0.25, "25 of 100 draws are")],
)
def test_how_many_draws_are_as_far_off(farther, words):
    assert told(farther=farther)[1] == (
        f"The test is consistent with the prediction: {words} as far off in the worst number; the "
        "voltage is in its predicted band for 99 % of the time."
    )


def test_what_sticks_out_is_named_by_whom_it_belongs_to():
    outside = [
        number(80.0, inside=False, battery="old"),
        hours(5.0, battery="old", inside=False),
        number(0.3, 0.5, text="share of the charge", unit="", battery="new", inside=False),
    ]
    assert (
        "not consistent with the prediction: 25 of 100 draws are as far off in the worst number; "
        'outside the 5 to 95 % range: charge given of "old", when "old" stops and share of the '
        'charge of "new"; the voltage' in told(97.0, 9.5, *outside, consistent=False)[1]
    )
    bank = told(numbers=(number(80.0, inside=False), hours(9.0, inside=False)))[1]
    assert "charge given of the bank and when the bank stops" in bank


def test_warnings_are_sentences():
    found = told(warnings=("the clock was put forward", "is it this one?"))
    assert found[2:] == ["Beware: The clock was put forward.", "Beware: Is it this one?"]


@pytest.mark.parametrize(
    ("predicted_A", "measured_A", "words"),
    [
        (10.0, 20.0, "the test load is 2.0 times the scenario's (on average 20.0 A against 10.0 A"),
        (10.0, 19.9, ""),
        (20.0, 10.0, "the test load is only 1/2.0 of the scenario's (on average 10.0 A against"),
        (20.0, 10.1, ""),
    ],
)
def test_twice_or_half_the_load_is_another_test(predicted_A, measured_A, words):
    first = told(mean_currents_A=lambda: (predicted_A, measured_A))[0]
    assert first.startswith("Beware: the test load" if words else "The bank gave")
    assert words in first
    assert told(mean_currents_A=lambda: None)[0].startswith("The bank gave")
    driven = told(mean_currents_A=lambda: (predicted_A, measured_A), load=MEASURED)
    assert driven[0].startswith("The bank gave")


def test_rows_of_numbers_have_signs_and_percent():
    share = number(0.3, 0.325, text="share", unit="", battery="old", low=0.28, high=0.35)
    rows = _numbers(
        SimpleNamespace(numbers=(number(97.0), hours(10.5, inside=False), share))
    ).grid.rows
    assert rows == (
        (
            "bank",
            "charge given [Ah]",
            "100.0",
            "97.00",
            "-3.0 (-3.0 %)",
            "90.00 to 110.0",
            "inside",
        ),
        ("bank", "stops after [h]", "10.00", "10.50", "+0.50", "90.00 to 110.0", "OUTSIDE"),
        ("old", "share [%]", "32.5", "30.0", "-2.5", "28.0 to 35.0", "inside"),
    )


def test_when_each_current_stops():
    found = SimpleNamespace(
        stops=(
            Stop("old", 5.0, 4.5, 12.0, 12.1), Stop("new", None, 6.0, None, 11.9),
            Stop("third", 6.0, 6.25, 11.8, 11.7),
        ),
        order_predicted=(("old",), ("third", "new")),
        order_measured=(("old",), ("new",), ("third",)),
    )  # fmt: skip
    made = _stops(found)
    assert made.grid.rows == (
        ("old", "5.00 h at 12.00 V", "4.50 h at 12.10 V", "30 min earlier"),
        ("new", "with the bank", "6.00 h at 11.90 V", "-"),
        ("third", "6.00 h at 11.80 V", "6.25 h at 11.70 V", "15 min later"),
    )
    assert made.lines[0].startswith(
        'Predicted: "old", then "third" and "new". Measured: "old", then "new", then "third". No c'
    )
    assert _stops(SimpleNamespace(stops=())) is None


SAME = "The same order."
OTHER = "Another order than predicted."
LOOSE = "No contradiction, but what stops together in one does not in the other."


@pytest.mark.parametrize(
    ("predicted", "measured", "said"),
    [
        ((("a",), ("b",)), (("a",), ("b",)), SAME),
        ((("a",), ("b",)), (("b",), ("a",)), OTHER),
        ((("a", "b"),), (("b",), ("a",)), LOOSE),
        ((("a", "b"), ("c",)), (("b", "a"), ("c",)), SAME),  # together in both, a second apart
        ((("a",), ("b", "c")), (("a", "b"), ("c",)), LOOSE),
        ((("a",), ("b",), ("c",)), (("a",), ("c",), ("b",)), OTHER),
        ((("a",), ("b",), ("c",)), (("a", "b", "c"),), LOOSE),
    ],
)
def test_whether_the_order_is_the_predicted_one(predicted, measured, said):
    assert _agreement(predicted, measured) == said


def read(load):
    told = ("the log starts at noon", "two gaps")
    made = _reading(SimpleNamespace(load=load, log_file="bench\n.csv", told=told))
    assert made.title == "How bench?.csv was read"
    assert made.lines[1:] == ("The log starts at noon.", "Two gaps.")
    return made.lines[0]


def test_which_load_the_prediction_had():
    assert read(SCENARIO).startswith("The prediction has the scenario's own loads; --load measured")
    assert read(MEASURED).startswith("The bank was driven by the measured current")


def test_how_well_meters_and_the_model_are_known_to_do():
    meter = SimpleNamespace(current_percent=0.5, voltage_percent=0.1)
    first, second = _accuracy(SimpleNamespace(meter=meter)).lines
    assert first.startswith("Meters: current 0.50 %, voltage 0.10 % of the reading")
    # own choices: theory says what they are for
    assert f"units of {100.0 * MODEL_PART:.1f} % of Ah and time" in second
    assert f"{1000.0 * MODEL_V_A_CELL:.0f} mV a cell of 3.2 V" in second


def test_the_voltage_over_time():
    found = SimpleNamespace(
        residual=Residual(0.0123, -0.0456, 2.5, (0.01, -0.002, -0.0336)), draws=200,
        inside_band=0.876, inside_currents=(("old", 0.5), ("new", 1.0)),
    )  # fmt: skip
    assert _voltage(found).lines == (
        "Measured less predicted while both run: 12 mV rms, at most -46 mV after 2.50 h; means of "
        "the first, second and last third: +10 mV, -2 mV, -34 mV.",
        "The measured voltage lies inside the band of 5 to 95 % of 200 draws for 88 % of the time.",
        'Each current lies inside its own band: "old" 50 % and "new" 100 % of the time.',
    )
    short = SimpleNamespace(residual=Residual(0.0123, 0.0456, 2.5, ()), draws=200,
                            inside_band=1.0, inside_currents=())  # fmt: skip
    assert _voltage(short).lines[0].endswith("at most +46 mV after 2.50 h.")
    assert len(_voltage(short).lines) == 2
