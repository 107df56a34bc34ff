"""Batteries charged while hot: from which heat, current and time on, and what is advised."""

from dataclasses import replace

import pytest
from made_results import Course, made
from pytest import approx
from simple_banks import affine_cell, bank_of, battery

from bankSim.sim.cautions.heat import of_heat

ZERO_K = 273.15


def found(word, celsius, amps=-10.0, times_s=(0.0, 1000.0), cells=6):
    one = replace(battery("a", *[affine_cell()] * cells), chemistry=word)
    celsius = [celsius] * len(times_s) if isinstance(celsius, float) else celsius
    course = Course(A=amps, K=[ZERO_K + one for one in celsius])
    return list(of_heat(made(bank_of(one), list(times_s), course)))


# lithium, and what may be lithium, above 45 degC, lead-acid above 40; 0.5 % of 100 Ah is 0.5 A;
# for longer than 10 minutes
@pytest.mark.parametrize(
    ("word", "celsius", "amps", "lasts_s", "told"),
    [
        ("LFP", 44.9, -10.0, 1e4, False), ("LFP", 45.1, -10.0, 1e4, True),
        (None, 44.9, -10.0, 1e4, False), (None, 45.1, -10.0, 1e4, True),
        ("AGM", 39.9, -10.0, 1e4, False), ("AGM", 40.1, -10.0, 1e4, True),
        ("LFP", 50.0, -0.49, 1e4, False), ("LFP", 50.0, -0.51, 1e4, True),
        ("LFP", 50.0, 10.0, 1e4, False),
        ("LFP", 50.0, -10.0, 590.0, False), ("LFP", 50.0, -10.0, 610.0, True),
    ],
)  # fmt: skip
def test_how_hot_for_how_long(word, celsius, amps, lasts_s, told):
    assert len(found(word, celsius, amps, (0.0, lasts_s))) == told


def test_how_lithium_is_told():
    # 60 degC while it gives, 51.23 at most while it is charged
    times_s, amps = (0.0, 100.0, 100.0, 1900.0), [5.0, 5.0, -5.0, -5.0]
    (one,) = found("LFP", [60.0, 60.0, 51.23, 51.0], amps, times_s)
    assert (one.topic, one.severity, one.unit) == ("charged while hot", "warning", "degC")
    assert (one.value, one.limit) == (approx(51.23), 45.0)
    assert one.text == (
        '"a" is charged at up to 51.2 degrees C, above 45 degrees C for 30.0 min in all; makers '
        "usually end charging there."
    )
    assert one.advice.startswith("Give it air and shade")
    (unknown,) = found(None, 51.0)
    assert unknown.text.endswith("; if it is lithium, makers usually end charging there.")


# 4 mV a cell and K above 25 degC: 6 cells at 45 degC want 0.48 V less, 3 cells 0.24 V
@pytest.mark.parametrize(("cells", "less"), [(6, "0.48"), (3, "0.24")])
def test_how_lead_acid_is_told(cells, less):
    (one,) = found("gel", 45.0, cells=cells)
    assert one.limit == 40.0
    assert "above 40 degrees C for 16.7 min in all; a lead-acid battery that is hot" in one.text
    assert f"there it wants about {less} V less than at 25 degrees C." in one.advice


def test_each_battery_is_told_for_itself():
    bank = bank_of(*(battery(name, affine_cell()) for name in "abc"))
    courses = [Course(A=-5.0, K=ZERO_K + celsius) for celsius in (20.0, 50.0, 20.0)]
    assert [one.text[:3] for one in of_heat(made(bank, [0.0, 1000.0], *courses))] == ['"b"']
