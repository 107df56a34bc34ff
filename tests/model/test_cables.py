"""Cable resistances against the standard and against printed wire tables."""

import numpy as np
import pytest

from bankSim.errors import ParameterError
from bankSim.model.cables import (
    BREAKING_A,
    CLASS_5_OHM_PER_KM,
    INSULATION_C,
    allowed_A,
    cable_ohm,
    fuse_ohm,
    joints_ohm,
)

TWENTY_C = 293.15
COPPER_OHM_MM2_PER_KM = 17.241  # IEC 60028, 1/58 ohm mm2/m at 20 degC


@pytest.mark.parametrize(
    ("area_mm2", "ohm_per_km"),
    # IEC 60228, class 5, plain copper, maximum at 20 degC
    [
        *((4, 4.95), (6, 3.30), (10, 1.91), (16, 1.21), (25, 0.780), (35, 0.554)),
        *((50, 0.386), (70, 0.272), (95, 0.206), (120, 0.161), (150, 0.129), (185, 0.106)),
        # the smallest and the largest, from memory
        *((0.75, 26.0), (1, 19.5), (1.5, 13.3), (2.5, 7.98), (240, 0.0801), (300, 0.0641)),
    ],
)
def test_listed_areas(area_mm2, ohm_per_km):
    assert cable_ohm(1000.0 / 20, area_mm2, TWENTY_C) * 20 == pytest.approx(ohm_per_km, rel=1e-12)


def test_three_metre_loop_of_35_mm2():
    # 3 m of conductor in all at 0.554 ohm/km: 1.662 mohm, 0.166 V at 100 A
    assert cable_ohm(1.5, 35.0, TWENTY_C, conductors=2) == pytest.approx(1.662e-3, rel=1e-12)


def test_copper_at_60_degC():
    # alpha20 = 0.00393 /K (wire tables): R(60)/R(20) = 1.157
    ratio = cable_ohm(1.0, 35.0, 333.15) / cable_ohm(1.0, 35.0, TWENTY_C)
    assert ratio == pytest.approx(1.157, abs=5e-4)
    # the cable standard's own table has Kt = 0.862 at 60 degC
    assert 1.0 / ratio == pytest.approx(0.862, abs=3e-3)


def test_between_areas_resistance_times_area_is_straight():
    low, high = 0.554 * 35.0, 0.386 * 50.0
    expected = (low + (42.0 - 35.0) / 15.0 * (high - low)) / 42.0 / 1000.0
    assert cable_ohm(1.0, 42.0, TWENTY_C) == pytest.approx(expected, rel=1e-12)
    areas = np.linspace(0.75, 300.0, 800)
    per_metre = np.array([cable_ohm(1.0, area, TWENTY_C) for area in areas])
    assert (np.diff(per_metre) < 0.0).all()


@pytest.mark.parametrize(
    ("gauge", "mm2", "ohm_per_km"),
    # printed American wire tables; area d = 0.127 mm * 92^((36 - n) / 39)
    [
        *((-3, 107.22, 0.1608), (-1, 67.43, 0.2557), (0, 53.48, 0.3224), (2, 33.63, 0.5127)),
        *((4, 21.15, 0.8152), (6, 13.30, 1.296), (8, 8.366, 2.061), (10, 5.261, 3.277)),
        *((12, 3.309, 5.211), (14, 2.081, 8.286), (18, 0.8230, 20.95)),
    ],
)
def test_american_gauges(gauge, mm2, ohm_per_km):
    diameter_mm = 0.127 * 92.0 ** ((36 - gauge) / 39)
    area_mm2 = np.pi / 4.0 * diameter_mm**2
    assert area_mm2 == pytest.approx(mm2, rel=2e-4)
    assert COPPER_OHM_MM2_PER_KM / area_mm2 == pytest.approx(ohm_per_km, rel=5e-4)
    # class 5 is a maximum for stranded cable: above solid copper of that area, by under 20 %
    assert 1.0 < cable_ohm(100.0, area_mm2, TWENTY_C) * 10 / ohm_per_km < 1.2


@pytest.mark.parametrize("area_mm2", [0.74, 300.01, 0.0, -1.0, float("nan")])
def test_other_areas_are_refused(area_mm2):
    with pytest.raises(ParameterError, match=r"area_mm2 .*0.75 to 300 mm2"):
        cable_ohm(1.0, area_mm2, TWENTY_C)


@pytest.mark.parametrize("length_m", [-0.1, float("nan")])
def test_other_lengths_are_refused(length_m):
    with pytest.raises(ParameterError, match="length_m"):
        cable_ohm(length_m, 35.0, TWENTY_C)


def test_joints_and_fuse():
    assert joints_ohm(4) == pytest.approx(0.2e-3)
    assert fuse_ohm(100.0) == pytest.approx(0.8e-3)  # 80 mV at rated current
    with pytest.raises(ParameterError, match="fuse_A"):
        fuse_ohm(0.0)


def test_every_class_5_area_has_less_resistance_than_the_one_before():
    values = list(CLASS_5_OHM_PER_KM.values())
    assert values == sorted(values, reverse=True)


@pytest.mark.parametrize(
    ("area_mm2", "insulation_C", "amperes"),
    # ISO 10133, single conductors in air of 30 degC, from memory
    [(2.5, 70, 25.0), (10, 70, 65.0), (35, 70, 160.0), (35, 105, 210.0), (70, 90, 285.0)],
)
def test_what_copper_may_carry(area_mm2, insulation_C, amperes):
    assert allowed_A(area_mm2, insulation_C) == pytest.approx(amperes)


@pytest.mark.parametrize(
    ("insulation_C", "air_C", "part"),
    # IEC 60364-5-52, table B.52.14, to the digits printed (from memory): 70 and 90 degC
    [
        *((70, 35, 0.94), (70, 40, 0.87), (70, 45, 0.79), (70, 50, 0.71), (70, 60, 0.50)),
        *((90, 35, 0.96), (90, 40, 0.91), (90, 50, 0.82), (90, 60, 0.71), (90, 80, 0.41)),
        *((70, 30, 1.0), (70, 10, 1.0), (105, -40, 1.0), (70, 70, 0.0), (70, 80, 0.0)),
    ],
)
def test_in_warm_air_copper_carries_less(insulation_C, air_C, part):
    whole = allowed_A(35.0, insulation_C)
    assert allowed_A(35.0, insulation_C, air_C) / whole == pytest.approx(part, abs=0.0051)


def test_more_copper_and_better_insulation_carry_more():
    areas = np.linspace(0.75, 300.0, 400)
    rows = np.array([[allowed_A(area, best) for best in INSULATION_C] for area in areas])
    assert (np.diff(rows, axis=0) > 0.0).all()
    assert (np.diff(rows, axis=1) > 0.0).all()
    # current density falls: a thick cable sheds its heat less well
    assert (np.diff(rows[:, 0] / areas)[areas[1:] > 1.5] < 0.0).all()
    assert allowed_A(300.0) == pytest.approx(380.0 * np.sqrt(2.0))


def test_unknown_areas_and_insulations_are_refused():
    with pytest.raises(ParameterError, match="area_mm2"):
        allowed_A(400.0)
    with pytest.raises(ParameterError, match=r"insulation_C = 80; expected 70, 90 or 105"):
        allowed_A(35.0, 80)


def test_kinds_of_fuses_stand_in_order_of_what_they_break():
    assert list(BREAKING_A.values()) == sorted(BREAKING_A.values())
