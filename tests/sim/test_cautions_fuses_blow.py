"""Fuses that would blow, that are overloaded, or too large for their cable: from where on."""

from dataclasses import replace

import pytest
from made_results import Course, made
from pytest import approx
from simple_banks import affine, bank_of

from bankSim.model.bank import Wiring
from bankSim.sim.cautions.fuses import of_fuses

BLOW, OVERLOADED, TOO_LARGE = "fuse would blow", "fuse overloaded", "fuse too large for its cable"


def found(times_s, *amps, fuses_A=(100.0,), banks=None, **wiring):
    """What is told of batteries a, b, ... with these currents and fuses."""
    batteries = [
        replace(affine(name), fuse_A=fuse_A) for name, fuse_A in zip("abc", fuses_A, strict=False)
    ]
    bank = bank_of(*(banks or batteries), wiring=Wiring(**wiring))
    result = made(bank, times_s, *(Course(A=one) for one in amps))
    return {one.topic: one for one in of_fuses(result)}


# 6 times its rating for 1 s, twice for a minute, 1.35 times for ten (BLOWS)
@pytest.mark.parametrize(
    ("amps", "lasts_s", "blows"),
    [
        (610.0, 1.1, True), (590.0, 1.1, False), (610.0, 0.9, False),
        (202.0, 61.0, True), (198.0, 61.0, False), (202.0, 59.0, False),
        (136.0, 610.0, True), (134.0, 610.0, False), (136.0, 590.0, False),
    ],
)  # fmt: skip
def test_when_a_fuse_would_blow(amps, lasts_s, blows):
    told = found([0.0, lasts_s], amps)
    assert set(told) == {BLOW if blows else OVERLOADED}


def test_what_blows_first_is_told():
    # 50 A but for 65 s of 205 A from 100 s on: after 60 s of that
    times_s = [0.0, 100.0, 100.0, 165.0, 165.0, 800.0]
    one = found(times_s, [50.0, 50.0, 205.0, 205.0, 50.0, 50.0])[BLOW]
    assert (one.severity, one.value, one.limit, one.unit) == ("danger", approx(205.0), 100.0, "A")
    assert one.text == (
        'The 100 A fuse of the lead of "a" would blow after about 2.7 min: it carries 205 A (root '
        "mean square) over 1.0 min, 2.0 times its rating. Fuses never blow in this prediction, so "
        "what follows is on paper only; nothing would then come out of the bank or go into it."
    )
    assert one.advice == (
        "Use less power at a time; a larger fuse only if cable and battery allow it."
    )


# b then carries the 140 A of both: 1.35 times its fuse is 135 A or 141 A; one without a fuse
# bears all
@pytest.mark.parametrize(
    ("fuse_A", "what"),
    [
        (100.0, '; "b" would then carry all, and its fuse would follow.'),
        (104.5, '; "b" would then carry all.'),
        (None, '; "b" would then carry all.'),
    ],
)
def test_whose_fuse_follows(fuse_A, what):
    one = found([0.0, 610.0], 138.0, 2.0, fuses_A=(100.0, fuse_A))[BLOW]
    assert one.text.endswith(what)


def test_whose_fuses_follow_together():
    # both carry 140 A: 1.35 times the sum of 51 A and 52 A is 139 A
    one = found([0.0, 610.0], 138.0, 1.0, 1.0, fuses_A=(100.0, 51.0, 52.0))[BLOW]
    assert one.text.endswith('"b" and "c" would then carry all, and their fuses would follow.')


def test_behind_the_main_fuse_nothing_is_left():
    one = found([0.0, 610.0], 70.0, 70.0, fuses_A=(None, None), main_fuse_A=100.0)[BLOW]
    assert one.text.startswith("The 100 A fuse of the main lead would blow")
    assert one.text.endswith("nothing would then come out of the bank or go into it.")


# over a minute: up to its rating, a tenth more (BEARS), beyond
@pytest.mark.parametrize(
    ("amps", "severity", "what"),
    [
        (99.0, None, ""),
        (101.0, "warning", "gets hot, though most bear a tenth more."),
        (109.0, "warning", "gets hot, though most bear a tenth more."),
        (111.0, "danger", "may blow in time."),
    ],
)
def test_how_bad_an_overload_is(amps, severity, what):
    told = found([0.0, 300.0], amps)
    assert set(told) == ({OVERLOADED} if severity else set())
    if severity:
        one = told[OVERLOADED]
        assert (one.severity, one.value, one.limit, one.unit) == (severity, amps, 100.0, "A")
        assert one.text == (
            f'The lead of "a" carries up to {amps:.0f} A, {amps:.0f} A (root mean square) over a '
            f"minute; its fuse is rated for 100 A and {what}"
        )


# for 40 of 60 s: 150 A are 122 A on the mean of squares, 110 A are 90 A
@pytest.mark.parametrize(
    ("amps", "severity", "what"),
    [
        (150.0, "danger", "122 A (root mean square) over a minute; its fuse"),
        (110.0, "warning", "for less than a minute; its 100 A fuse may or may not blow."),
    ],
)
def test_an_overload_of_less_than_a_minute(amps, severity, what):
    one = found([0.0, 100.0, 100.0, 140.0, 140.0, 200.0], [0.0, 0.0, amps, amps, 0.0, 0.0])
    assert one[OVERLOADED].severity == severity
    assert f"carries up to {amps:.0f} A, {what}" in one[OVERLOADED].text


def test_near_its_rating_for_less_than_an_hour_late_in_a_run():
    assert found([0.0, 3000.0, 3000.0, 6000.0], [0.0, 0.0, 90.0, 90.0]) == {}


# 25 mm2 carry 170 A with the best insulation (ALLOWED_A); 1.5 times that are 255 A (FAR_TOO_LARGE)
@pytest.mark.parametrize(
    ("fuse_A", "severity"),
    [(169.0, None), (171.0, "warning"), (254.0, "warning"), (256.0, "danger")],
)
def test_a_fuse_too_large_for_its_cable(fuse_A, severity):
    one = replace(affine(), fuse_A=fuse_A, lead_area_mm2=25.0)
    told = found([0.0, 10.0], 1.0, banks=[one])
    assert set(told) == ({TOO_LARGE} if severity else set())
    if severity:
        caution = told[TOO_LARGE]
        assert (caution.severity, caution.value, caution.limit) == (severity, fuse_A, 170.0)
        assert caution.text.startswith(
            f'The fuse of the lead of "a" is rated for {fuse_A:.0f} A; its 25 mm2 carry 170 A even '
            "with insulation for 105 degrees C"
        )


def test_no_fuse_makes_a_wrong_pair_right():
    low, high = replace(affine("a"), fuse_A=100.0), affine("b", base=25.6, span=1.2)
    advice = found([0.0, 300.0], -150.0, 150.0, banks=[low, high])[OVERLOADED].advice
    assert advice == "Do not connect them: they differ in number of cells or in chemistry."
