"""Fuses that carry nearly their rating for hours."""

from dataclasses import replace

import pytest
from pytest import approx
from simple_banks import affine, bank_of, run, steady, stepped

from bankSim.model.bank import Wiring
from bankSim.model.load import Schedule

NEAR = "fuse near its rating for long"


def topics(bank):
    return {caution.topic: caution for caution in run(bank).cautions}


def carried(load, fuse_A=50.0, hours=3.0, Ah=1000.0):
    battery = replace(affine("a", 1e-3, Ah, z=0.6), fuse_A=fuse_A)
    return topics(bank_of(battery, load=load, duration_s=hours * 3600.0))


# Common practice, no source: a fuse carries 80 % of its rating for hours; here 40 A
@pytest.mark.parametrize("amps", [45.0, -45.0])
def test_a_fuse_near_its_rating_for_hours_is_noted(amps):
    found = carried(steady(amps))[NEAR]
    assert (found.severity, found.value, found.limit) == ("note", approx(45.0), approx(40.0))
    assert found.text == (
        'The 50.0 A fuse of the lead of "a" carries 45.0 A (root mean square) for 3.00 h without a '
        "break, 90 % of its rating; for hours at most 80 % is common practice (no source)."
    )
    assert found.advice.endswith("a larger fuse only if cable and battery allow it.")


@pytest.mark.parametrize(
    ("load", "hours", "noted"),
    [
        (steady(39.9), 3.0, False),
        (steady(45.0), 0.99, False),
        (steady(45.0), 1.0, True),
        (steady(45.0, schedule=Schedule(duty_s=(3500.0, 100.0))), 6.0, False),  # never an hour
        (steady(45.0, schedule=Schedule(duty_s=(3700.0, 100.0))), 6.0, True),
        (stepped([0, 1800, 7200], [45, 39, 44]), 4.0, True),
        (steady(51.0), 3.0, False),  # more than that: overloaded
    ],
)
def test_what_is_short_or_small_or_told_as_worse_is_not_noted(load, hours, noted):
    found = carried(load, hours=hours)
    assert (NEAR in found) is noted
    assert ("fuse overloaded" in found) is (float(load.profile_amount[0]) > 50.0)


def test_of_several_stretches_the_longest_is_told_and_the_main_fuse_counts():
    load = stepped([0, 4000, 4600, 14600], [45, 10, 42, 10])
    bank = bank_of(affine(Ah=1000.0), load=load, duration_s=5 * 3600.0)
    text = topics(replace(bank, wiring=Wiring(main_fuse_A=50.0)))[NEAR].text
    assert "fuse of the main lead carries 42.0 A (root mean square) for 2.78 h" in text
