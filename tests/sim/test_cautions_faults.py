"""Short circuits: how much flows into them, which fuses break that, and who has none."""

from dataclasses import replace

import pytest
from made_results import Course, made
from pytest import approx
from simple_banks import affine, bank_of

from bankSim.model.bank import Wiring
from bankSim.sim.cautions.faults import fault_A, of_faults, short_at_terminal_A

BARE, BEYOND = "no fuse at a battery", "short circuit beyond a fuse"


def found(*batteries, main_fuse_A=None):
    bank = bank_of(*batteries, wiring=Wiring(main_fuse_A=main_fuse_A))
    result = made(bank, [0.0, 1.0], *[Course()] * len(batteries))
    return list(of_faults(result))


def one_of(*batteries, topic=BEYOND, **more):
    (one,) = (one for one in found(*batteries, **more) if one.topic == topic)
    return one


def twelve(ohm, name="a", fuse_A=None, lead=0.0, internal_ohm=0.0):
    """Full it rests at 12.0 V; now it is half empty."""
    return replace(
        affine(name, ohm, z=0.5, base=10.0, span=2.0, lead=lead),
        fuse_A=fuse_A, internal_ohm=internal_ohm,
    )  # fmt: skip


# a: 12 V behind 4 + 1 mohm and a lead of 3 mohm, b: behind 6 mohm and a lead of 2 mohm. At a's
# terminal: 12 / 5 m = 2400 A of its own and 12 / (8 + 3) m = 1091 A of b through both leads
A, B = twelve(0.004, "a", lead=0.003, internal_ohm=0.001), twelve(0.006, "b", lead=0.002)


def test_what_a_short_at_a_terminal_draws():
    bank = bank_of(A, B)
    assert short_at_terminal_A(bank, 0) == approx(12.0 / 0.005 + 12.0 / 0.011)
    assert short_at_terminal_A(bank, 1) == approx(12.0 / 0.006 + 12.0 / 0.010)
    assert short_at_terminal_A(bank_of(A), 0) == approx(2400.0)


def test_what_a_fuse_has_to_break_comes_from_one_side():
    # its own 2400 A, or that of the others; behind a fuse of 100 A, of 80 mV at that: 0.8 mohm,
    # less where its lead is given as less
    assert fault_A(bank_of(A, B), 0) == approx(2400.0)
    fused = replace(A, fuse_A=100.0)
    assert fault_A(bank_of(fused, B), 0) == approx(12.0 / 0.0058)
    assert fault_A(bank_of(replace(fused, lead_ohm=0.0002), B), 0) == approx(12.0 / 0.0052)
    # five of B beside: 12 V behind 8 / 5 mohm through the lead of 3 mohm are 2609 A
    assert fault_A(bank_of(A, *[B] * 5), 0) == approx(12.0 / 0.0046)


def test_unequal_batteries_feed_a_fault_as_one_source():
    # Millman: 12 V behind 8 mohm and 13.4 V behind 4 mohm are 12.933 V behind 2.667 mohm
    low, high = twelve(0.008), affine("h", 0.004)
    bank = bank_of(twelve(1.0, "own", lead=0.001), low, high)
    assert fault_A(bank, 0) == approx((12.0 / 8.0 + 13.4 / 4.0) / 0.375 / (1.0 / 375.0 + 0.001))


def test_batteries_without_a_fuse():
    one = one_of(A, B, topic=BARE)
    # 3491 A at a's terminal; where the leads meet 12 / 8 m + 12 / 8 m = 3000 A, no more than that
    assert (one.severity, one.limit, one.unit) == ("warning", None, "A")
    assert one.value == approx(12.0 / 0.005 + 12.0 / 0.011)
    assert one.text == (
        'No fuse is given for "a" and "b". A short at a terminal can draw about 3.5 kA, from the '
        "battery itself and from the others through their leads."
    )
    assert "able to break about 2.4 kA (it sees one side of a fault at most)" in one.advice
    lone = one_of(A, topic=BARE)
    assert lone.text.endswith("A short at a terminal can draw about 2.4 kA.")
    assert "able to break about 2.4 kA, and write it" in lone.advice
    # only b: its own 2000 A and 1200 A
    one = one_of(replace(A, fuse_A=100.0), B, topic=BARE)
    assert one.value == approx(3200.0)
    assert one.text.startswith('No fuse is given for "b".')


def test_a_fault_on_the_bars_is_told_where_it_is_larger():
    # at its terminal the bare one gives 12 / 60 m = 200 A, the other 12 / (12 + 10) m through its
    # lead; on the bars 12 / (60 + 10) m and 12 / 12 m
    bare, other = twelve(0.060, lead=0.010), twelve(0.012, "b", fuse_A=500.0)
    one = one_of(bare, other, topic=BARE)
    at_terminal_A, on_bars_A = 200.0 + 12.0 / 0.022, 12.0 / 0.070 + 1000.0
    assert one.value == approx(on_bars_A)
    assert f"about {at_terminal_A:.0f} A, from" in one.text
    assert one.text.endswith("one where their leads meet, about 1.2 kA.")


@pytest.mark.parametrize(("ohm", "severity"), [(0.0605, "note"), (0.0595, "warning")])
def test_a_small_fault_is_a_note(ohm, severity):
    # 12 V over it: 198 A and 202 A (SMALL_FAULT_A)
    assert one_of(twelve(ohm), topic=BARE).severity == severity


def test_one_battery_behind_a_main_fuse_needs_no_other():
    assert [one.topic for one in found(twelve(0.1), main_fuse_A=50.0)] == []
    assert [one.topic for one in found(twelve(0.1), twelve(0.1, "b"), main_fuse_A=50.0)] == [BARE]


# what usual fuses break (BREAKING_A): blade 1 kA, strip 2 kA, class T 20 kA
@pytest.mark.parametrize(
    ("amps", "severity", "limit_A", "said"),
    [
        (990.0, None, None, ""),
        (1010.0, "note", 1000.0,
         "blade fuses (ISO 8820-3) usually break 1.0 kA at most, bolt-down strip fuses (ISO 8820-5)"
         " (2.0 kA) more"),
        (1990.0, "note", 1000.0, "bolt-down strip fuses (ISO 8820-5) (2.0 kA) more"),
        (2010.0, "warning", 2000.0, "usually break 2.0 kA at most, class T fuses (UL 248-15)"),
        (19_900.0, "warning", 2000.0, "class T fuses (UL 248-15) (20.0 kA) more"),
        (20_100.0, "danger", 20_000.0, "break 20.0 kA at most, industrial fuses are called for"),
    ],
)  # fmt: skip
def test_which_fuses_break_a_fault(amps, severity, limit_A, said):
    told = found(twelve(12.0 / amps, fuse_A=100.0))
    assert [one.severity for one in told] == ([severity] if severity else [])
    for one in told:
        assert (one.topic, one.limit, one.unit) == (BEYOND, limit_A, "A")
        assert one.value == approx(amps)
        assert one.text.startswith('The fuse of "a" may have to break up to about ')
        assert " at a short right beside it; " in one.text
        assert said.replace("20.0 kA", "20 kA") in one.text


def test_whose_fuses_are_too_weak():
    # 1500 A, 1200 A; the third gives 900 A, the others less through its lead of 20 mohm
    strong = [twelve(12.0 / 1500.0, "a", 100.0), twelve(12.0 / 1200.0, "b", 100.0)]
    weak = twelve(12.0 / 900.0, "c", 100.0, lead=0.020)
    one = one_of(*strong, weak)
    assert one.text.startswith('The fuses of "a" and "b" may have to break up to about ')
    assert "at a short right beside them" in one.text


def test_the_main_fuse_sees_all():
    # 600 A and 500 A
    one = one_of(twelve(0.02, fuse_A=50.0), twelve(0.024, "b", fuse_A=50.0), main_fuse_A=100.0)
    assert one.value == approx(1100.0)
    assert one.text.startswith("The main fuse may have to break up to about 1.1 kA when the main")


def test_next_to_no_resistance_gives_no_number():
    # below 10 uohm inside (LEAST_OHM)
    told = found(twelve(0.9e-5, lead=0.01), twelve(0.01, "b"))
    assert [(one.topic, one.value, one.severity) for one in told] == [(BARE, None, "warning")]
    assert 'No fuse is given for "a" and "b". What a short' in told[0].text
    assert 'no resistance inside "a" is given' in told[0].text
    assert one_of(twelve(1.1e-5), topic=BARE).value == approx(12.0 / 1.1e-5)
    (one,) = found(twelve(0.0, fuse_A=100.0))
    assert (one.topic, one.value, one.severity) == (BEYOND, None, "note")
    (one,) = found(twelve(0.0), main_fuse_A=100.0)
    assert one.topic == BEYOND
    told = found(twelve(0.0), twelve(0.0, "b"), main_fuse_A=100.0)
    assert told[0].topic == BARE


@pytest.mark.parametrize(("full_V", "told"), [(31.9, False), (32.1, True)])
def test_above_32_volts_the_rating_of_vehicle_fuses_is_told(full_V, told):
    # common practice, no source: blade and strip fuses for vehicles are made for 32 V
    one = replace(affine("a", 0.01, z=0.1, base=full_V - 2.0, span=2.0), fuse_A=100.0)
    advice = one_of(one).advice
    assert advice.startswith("Choose the kind of fuse by the breaking capacity")
    assert ("rated for 32 V only" in advice) is told
