"""Lead-acid that freezes, and charge into frozen batteries: from where on, and who puts it in."""

from dataclasses import replace

import pytest
from made_results import Course, made
from pytest import approx
from simple_banks import affine, bank_of

from bankSim.model.charger import Charger, Stage
from bankSim.sim.cautions.frozen import of_freezing

ICE, CHARGED = "lead-acid may freeze", "charged while frozen"
ZERO_K = 273.15
MAINS, SUN = (Charger(name, (Stage(14.0),), limit_A=5.0) for name in ("mains", "sun"))


def found(course, times_s=(0.0, 10.0), word="AGM", chargers=(), charger_A=None):
    bank = bank_of(affine("other"), replace(affine("a"), chemistry=word), chargers=chargers)
    result = made(bank, list(times_s), Course(K=220.0), course, charger_A=charger_A)
    assert list(of_freezing(result, 0)) == []  # of no chemistry
    return {one.topic: one for one in of_freezing(result, 1)}


# straight lines between -8 degC up to 20 %, -25 degC at half charge and -50 degC full
@pytest.mark.parametrize(
    ("z", "freezes_C"), [(0.0, -8.0), (0.2, -8.0), (0.35, -16.5), (0.5, -25.0), (0.75, -37.5)]
)
def test_where_it_freezes(z, freezes_C):
    assert found(Course(z=z, K=ZERO_K + freezes_C + 0.1)) == {}
    told = found(Course(z=z, K=ZERO_K + freezes_C - 0.1))
    assert set(told) == {ICE}
    assert told[ICE].limit == approx(freezes_C)
    assert found(Course(z=z, K=ZERO_K + freezes_C - 0.1), word="LFP") == {}


def test_the_worst_moment_is_told():
    # -9, -21 and -30 degC where -8, -17.07 and -37.5 freeze
    course = Course(z=[0.1, 0.36, 0.75], K=[ZERO_K - 9.0, ZERO_K - 21.0, ZERO_K - 30.0])
    one = found(course, (0.0, 10.0, 20.0))[ICE]
    assert (one.severity, one.unit) == ("danger", "degC")
    assert (one.value, one.limit) == (approx(-21.0), approx(-8.0 - 17.0 * 16.0 / 30.0))
    assert one.text.startswith(
        '"a" is at -21.0 degrees C with 36 % of its charge; its electrolyte then freezes at about '
        "-17 degrees C"
    )


COLD = ZERO_K - 12.0


# 1e-3 of the label, 0.1 Ah: 1 A for 350 s or 370 s
@pytest.mark.parametrize(("lasts_s", "told"), [(350.0, False), (370.0, True)])
def test_how_much_charge_into_ice_is_told(lasts_s, told):
    assert (CHARGED in found(Course(A=-1.0, z=0.1, K=COLD), (0.0, lasts_s))) == told


def test_only_charge_between_frozen_rows_counts():
    # 3600 s of 2 A in the frost (mean of 1 and 3 A), what it gives, and what it takes later do not
    times_s = [0.0, 3600.0, 3600.0, 7200.0, 7200.0, 9000.0]
    course = Course(A=[-1.0, -3.0, 5.0, 5.0, -9.0, -9.0], z=0.1, K=[COLD] * 4 + [ZERO_K - 7.0] * 2)
    assert found(course, times_s)[CHARGED].value == approx(2.0)


def test_how_charge_into_ice_is_told():
    # the first row with more than 10 mA in the frost is at 600 s
    times_s = [0.0, 300.0, 600.0, 1200.0]
    kelvin = [ZERO_K - 7.0, COLD, ZERO_K - 13.0, COLD]
    course = Course(A=[-4.0, -0.009, -4.0, -4.0], z=[0.1, 0.1, 0.123, 0.15], K=kelvin)
    feeds = [[0.0, 0.0, 4.0, 4.0], [9.0, 0.009, 0.009, 0.009]]
    one = found(course, times_s, chargers=(MAINS, SUN), charger_A=feeds)[CHARGED]
    # 4 A for 600 s and 2.0045 A for 300 s
    assert one.value == approx((4.0 * 600.0 + 2.0045 * 300.0) / 3600.0)
    assert (one.severity, one.limit, one.unit) == ("danger", 0.0, "Ah")
    assert one.text.startswith(
        '"mains" puts 0.834 Ah into "a" while it is frozen, first after 10.0 min, at -13.0 degrees '
        "C with 12 % of its charge."
    )


@pytest.mark.parametrize(
    ("mains_A", "sun_A", "who"),
    [
        ([1.0, 1.0], [1.0, 1.0], '"mains" and "sun" put'),
        ([0.0, 1.0], [1.0, 1.0], '"mains" and "sun" put'),
        ([0.0, 0.0], [0.0, 0.0], "The other batteries put"),
        ([0.0, 0.0], [0.011, 0.011], '"sun" puts'),
        ([0.0, 1.0], [0.0, 0.0], 'The other batteries and "mains" put'),
    ],
)
def test_who_puts_charge_into_ice(mains_A, sun_A, who):
    course = Course(A=-2.0, z=0.1, K=COLD)
    one = found(course, (0.0, 3600.0), chargers=(MAINS, SUN), charger_A=[mains_A, sun_A])
    assert one[CHARGED].text.startswith(f'{who} 2.00 Ah into "a"')
