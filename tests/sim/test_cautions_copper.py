"""Cables that carry too much, voltages lost or too high, and body diodes: limits on both sides."""

from dataclasses import replace

import pytest
from made_results import Course, made
from pytest import approx
from simple_banks import affine, bank_of, steady

from bankSim.model.bank import Layout, Wiring
from bankSim.sim.cautions.conductors import of_conductors
from bankSim.sim.cautions.diodes import of_diodes
from bankSim.sim.cautions.drops import of_drops, twelves

TO_LOADS = "voltage lost on the way to the loads"
FROM_CHARGERS = "voltage lost on the way from the chargers"
HIGH = "high voltage at the loads"


def cables(times_s, *amps, area_mm2=25.0, **wiring):
    names = "abc"[: len(amps)]
    batteries = [replace(affine(name), lead_area_mm2=area_mm2) for name in names]
    bank = bank_of(*batteries, wiring=Wiring(**wiring))
    return list(of_conductors(made(bank, times_s, *(Course(A=one) for one in amps))))


# 25 mm2 bear 120 A with insulation for 70 degC and 170 A for 105 degC (ALLOWED_A)
@pytest.mark.parametrize(
    ("amps", "severity"),
    [(119.0, None), (-121.0, "warning"), (169.0, "warning"), (171.0, "danger")],
)
def test_what_a_cable_carries(amps, severity):
    told = cables([0.0, 400.0], amps)
    assert [one.severity for one in told] == ([severity] if severity else [])
    for one in told:
        assert (one.topic, one.unit, one.limit) == ("cable overloaded", "A", 120.0)
        assert one.value == approx(abs(amps))
        assert one.text.startswith(
            f'The lead of "a" carries {abs(amps):.0f} A over 5 minutes; its 25 mm2 may carry 120 A '
            "with insulation for 70 degrees C and 170 A with 105 ("
        )


# over 5 minutes (CABLE_S): 150 A for 200 s are 122 A as root of the mean square, for 180 s 116 A
@pytest.mark.parametrize(("lasts_s", "told"), [(200.0, True), (180.0, False)])
def test_a_cable_warms_up_over_five_minutes(lasts_s, told):
    assert len(cables([0.0, lasts_s, lasts_s, 2000.0], [150.0, 150.0, 0.0, 0.0])) == told


def test_the_worse_of_two_rails_is_told():
    # three in a row, plus taken off at a, minus at c; 100 A each of b and c, 50 A of a. From a to
    # b: 200 A in one rail, 50 A in the other; from b to c 100 A and 150 A
    told = cables(
        [0.0, 400.0], 50.0, 100.0, 100.0, area_mm2=None, layout=Layout.OPPOSITE_ENDS,
        link_area_mm2=25.0,
    )  # fmt: skip
    assert [(one.text.split(" carries")[0], one.value) for one in told] == [
        ('The link between "a" and "b"', approx(200.0)),
        ('The link between "b" and "c"', approx(150.0)),
    ]


def drops(times_s, amps, *, bus_V=13.0, loads_V=12.0, main_ohm=0.01, load=steady(1.0), **more):
    bank = bank_of(affine(**more), load=load, wiring=Wiring(main_ohm=main_ohm))
    result = made(bank, times_s, Course(A=amps), bus_V=bus_V, loads_V=loads_V)
    return {one.topic: one for one in of_drops(result)}


# 3 % of 13 V are 0.39 V, 10 % are 1.3 V; over 10 mohm 39 A and 130 A
@pytest.mark.parametrize(
    ("amps", "severity"), [(38.0, None), (40.0, "note"), (129.0, "note"), (131.0, "warning")]
)
def test_how_much_voltage_is_lost(amps, severity):
    for sign, topic in ((1.0, TO_LOADS), (-1.0, FROM_CHARGERS)):
        told = drops([0.0, 100.0], sign * amps)
        assert {one: told[one].severity for one in told} == ({topic: severity} if severity else {})


def test_how_a_loss_is_told():
    one = drops([0.0, 100.0], 52.0)[TO_LOADS]
    assert (one.value, one.limit, one.unit) == (approx(4.0), 3.0, "%")
    assert one.text == (
        "At 52.0 A the main leads (10.0 mohm) lose 0.520 V, 4.0 % of the voltage; usual rules "
        "allow 3 % for what must not fail and 10 % for the rest."
    )
    one = drops([0.0, 100.0], -52.0)[FROM_CHARGERS]
    assert "At 52.0 A of charge the main leads" in one.text
    assert "4.0 % of the voltage, by which a charger reaches its voltage early; usual" in one.text


# over a minute (LOST_S): 60 A for 45 s are 45 A, for 35 s 35 A on the mean
@pytest.mark.parametrize(("lasts_s", "told"), [(45.0, True), (35.0, False)])
def test_a_loss_lasts_a_minute(lasts_s, told):
    found = drops([0.0, lasts_s, lasts_s, 500.0], [60.0, 60.0, 0.0, 0.0])
    assert (TO_LOADS in found) == told


def test_the_voltage_is_that_under_such_a_current():
    # 40 A at 12 V, and long before 15 A (less than half of it) at 16 V; rows without voltage
    times_s = [0.0, 10.0, 20.0, 30.0, 40.0, 50.0, 50.0, 150.0]
    bus_V = [16.0, 16.0, 16.0, 16.0, 16.0, 0.0, 0.0, 12.0]
    one = drops(times_s, [15.0] * 5 + [40.0] * 3, bus_V=bus_V)[TO_LOADS]
    assert one.value == approx(100.0 * 0.4 / 12.0)
    assert drops(times_s, [15.0] * 5 + [40.0] * 3, bus_V=0.0) == {}


# told from 5 % on, 65 A, and from 1.1 times that which lasts, 60 A, on
@pytest.mark.parametrize(
    ("lasting_A", "peak_A", "said"),
    [
        (40.0, 64.0, ""),
        (40.0, 66.0, "; for moments it is up to 0.660 V at 66.0 A, 5.1 %"),
        (60.0, 65.5, ""),
        (60.0, 66.5, "; for moments it is up to 0.665 V at 66.5 A, 5.1 %"),
    ],
)
def test_a_larger_loss_for_moments(lasting_A, peak_A, said):
    # 0.1 s of it after a minute
    times_s = [0.0, 100.0, 100.0, 100.1, 100.1, 200.0]
    amps = [lasting_A, lasting_A, peak_A, peak_A, lasting_A, lasting_A]
    one = drops(times_s, amps)[TO_LOADS]
    assert f"% of the voltage{said}; usual rules" in one.text


# 15 V for 12 V, for longer than a minute
@pytest.mark.parametrize(
    ("volts", "lasts_s", "load", "base", "told"),
    [
        (14.95, 100.0, steady(1.0), 12.8, False), (15.05, 100.0, steady(1.0), 12.8, True),
        (15.05, 59.0, steady(1.0), 12.8, False), (15.05, 61.0, steady(1.0), 12.8, True),
        (15.05, 100.0, None, 12.8, False),
        (29.9, 100.0, steady(1.0), 25.6, False), (30.1, 100.0, steady(1.0), 25.6, True),
    ],
)  # fmt: skip
def test_a_voltage_that_is_high_for_loads(volts, lasts_s, load, base, told):
    found = drops([0.0, lasts_s], 0.0, loads_V=volts, load=load, base=base)
    assert set(found) == ({HIGH} if told else set())


def test_how_a_high_voltage_is_told():
    one = drops([0.0, 90.0], 0.0, loads_V=[15.5, 15.678])[HIGH]
    assert (one.severity, one.value, one.limit, one.unit) == ("warning", 15.678, 15.0, "V")
    assert one.text.startswith("The loads see up to 15.68 V, above 15.00 V for 1.50 min in all;")


# half charged, in units of 12.8 V, by the mean of all, at least one
@pytest.mark.parametrize(
    ("halves_V", "times"),
    [((12.8,), 1), ((19.1,), 1), ((19.3,), 2), ((51.2,), 4), ((3.2,), 1), ((12.8, 38.4), 2)],
)
def test_how_many_times_12_volts(halves_V, times):
    batteries = [affine(f"b{k}", base=half - 0.3) for k, half in enumerate(halves_V)]
    assert twelves(bank_of(*batteries)) == times


def diode(amps, mode, lasts_s=700.0, Ah=100.0):
    one = replace(affine("a", Ah=Ah), diode_drop_V=0.6)
    return list(of_diodes(made(bank_of(one), [0.0, lasts_s], Course(A=amps, mode=mode))))


# more than 10 A, or a tenth of the label, for longer than 10 minutes, with one direction blocked
@pytest.mark.parametrize(
    ("amps", "mode", "lasts_s", "Ah", "told"),
    [
        (10.1, 1, 700.0, 200.0, True), (9.9, 1, 700.0, 200.0, False),
        (5.1, 1, 700.0, 50.0, True), (4.9, 1, 700.0, 50.0, False),
        (-10.1, 2, 700.0, 200.0, True),
        (20.0, 1, 590.0, 200.0, False), (20.0, 1, 610.0, 200.0, True),
        (20.0, 0, 700.0, 200.0, False), (20.0, 3, 700.0, 200.0, False),
    ],
)  # fmt: skip
def test_when_a_body_diode_gets_hot(amps, mode, lasts_s, Ah, told):
    assert len(diode(amps, mode, lasts_s, Ah)) == told


def test_how_a_hot_diode_is_told():
    (one,) = diode([20.0, 30.0], 1, 900.0)
    assert (one.severity, one.value, one.limit, one.unit) == ("warning", 30.0, 10.0, "A")
    # 30 A x 0.6 V
    assert one.text == (
        'With one direction blocked, "a" carries up to 30.0 A through its body diode, more than '
        "10.0 A for 15.0 min in all: about 18 W of heat in its switches at most."
    )
