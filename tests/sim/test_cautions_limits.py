"""How bad a current above a label limit is, by size and time."""

from dataclasses import replace

import pytest
from simple_banks import affine

from bankSim.sim.cautions.limits import limit_for, limit_of

GIVEN = replace(affine(), continuous_discharge_A=100.0, continuous_charge_A=50.0)
ASSUMED = replace(GIVEN, limits_assumed=("continuous_discharge_A",))


def test_which_limit_and_how_it_is_told():
    out, into = limit_of(GIVEN, "discharge"), limit_of(GIVEN, "charge")
    assert (out.amperes, out.text, out.severity) == (100.0, "its label allows 100 A", "danger")
    assert (into.amperes, into.text) == (50.0, "its label allows 50.0 A")
    taken = limit_of(ASSUMED, "discharge")
    assert taken.text == "its label was not given, 100 A is assumed"
    assert taken.severity == "warning"
    assert limit_of(ASSUMED, "charge") == into
    assert limit_of(affine(), "discharge") is None
    # discharge current is positive
    assert [limit_for(GIVEN, amps).amperes for amps in (-1.0, 0.0, 1.0)] == [50.0, 100.0, 100.0]


# up to 1.2 times (SLIGHTLY_ABOVE), or below twice (FAR_ABOVE) for less than 10 s (SHORT_S), it is a
# warning, either way of the current
@pytest.mark.parametrize(
    ("amps", "above_s", "severity"),
    [
        (119.0, 1e9, "warning"), (121.0, 1e9, "danger"),
        (-119.0, 1e9, "warning"), (-121.0, 1e9, "danger"),
        (199.0, 9.0, "warning"), (199.0, 11.0, "danger"), (201.0, 9.0, "danger"),
        (-199.0, 9.0, "warning"), (-201.0, 9.0, "danger"),
    ],
)  # fmt: skip
def test_how_bad_it_is_above_a_label(amps, above_s, severity):
    assert limit_of(GIVEN, "discharge").severity_of(amps, above_s) == severity


# an assumed limit: danger only from 3 times (BEYOND_ANY) for 10 s, or 6 times however short
@pytest.mark.parametrize(
    ("amps", "above_s", "severity"),
    [
        (299.0, 1e9, "warning"), (301.0, 11.0, "danger"), (301.0, 9.0, "warning"),
        (599.0, 9.0, "warning"), (601.0, 0.1, "danger"), (-301.0, 11.0, "danger"),
    ],
)  # fmt: skip
def test_how_bad_it_is_above_what_is_assumed(amps, above_s, severity):
    assert limit_of(ASSUMED, "discharge").severity_of(amps, above_s) == severity


def test_any_current_is_far_above_a_limit_of_nothing():
    nothing = replace(ASSUMED, continuous_discharge_A=0.0)
    assert limit_of(nothing, "discharge").severity_of(0.5, 0.1) == "danger"


# within a tenth for less than a second an assumed limit is met (AS_GOOD_AS, AN_INSTANT_S)
@pytest.mark.parametrize(
    ("battery", "amps", "above_s", "met"),
    [
        (GIVEN, 99.0, 9.0, True), (GIVEN, 101.0, 0.1, False), (GIVEN, -101.0, 0.1, False),
        (ASSUMED, 99.0, 9.0, True), (ASSUMED, 101.0, 1.1, False), (ASSUMED, 109.0, 0.9, True),
        (ASSUMED, 111.0, 0.9, False), (ASSUMED, -111.0, 0.9, False),
    ],
)  # fmt: skip
def test_what_meets_a_limit(battery, amps, above_s, met):
    assert limit_of(battery, "discharge").is_met(amps, above_s) == met
