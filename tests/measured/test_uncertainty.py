import math
import pickle

import numpy as np
import pytest
from pytest import approx

from bankSim.errors import ParameterError
from bankSim.measured.uncertainty import (
    Budget,
    Contribution,
    Kind,
    Shape,
    averaged,
    pooled,
    repeated,
    tolerance_factor,
)

A, B = Kind.A, Kind.B
RECT, TRI = Shape.RECTANGULAR, Shape.TRIANGULAR


def end_gauge():
    # JCGM 100:2008, annex H.1, end-gauge calibration; inputs from memory [nm]
    difference = Budget(
        215.0,
        "nm",
        (
            Contribution("repeated observations", 5.8, "nm", kind=A, degrees=24),
            Contribution("comparator, random", 3.9, "nm", degrees=5),
            Contribution("comparator, systematic", 6.7, "nm", degrees=8),
        ),
    )
    whole = Budget(
        50_000_838.0,
        "nm",
        (
            Contribution("standard", 25.0, "nm", degrees=18),
            Contribution("difference", difference.combined, "nm", degrees=difference.degrees),
            # l_s x theta mean = 50 mm x 0.1 K; limits 1e-6 /K
            Contribution("expansion", 1e-6, "1/K", 50e6 * 0.1, RECT, degrees=50),
            # l_s x alpha = 50 mm x 11.5e-6 /K; limits 0.05 K
            Contribution("temperature", 0.05, "K", 50e6 * 11.5e-6, RECT, degrees=2),
        ),
    )
    return difference, whole


def test_the_end_gauge_of_annex_h1():
    # published there, from memory: u(d) 9.7 nm with 25.6 degrees, u_c 32 nm (1002 nm2), 16.7
    # degrees rounded down to 16, k 2.92 at 99 %, U 93 nm
    difference, whole = end_gauge()
    assert difference.combined == approx(9.7, abs=0.05)
    rounded = (9.7 / difference.combined) ** 4  # they go on with u(d) as printed
    assert difference.degrees * rounded == approx(25.6, abs=0.05)
    assert whole.combined**2 == approx(1002.0, abs=1.5)
    assert round(whole.combined) == 32
    assert whole.degrees == approx(16.7, abs=0.15)
    assert whole.factor(0.99) == approx(2.92, abs=0.005)
    assert whole.expanded(0.99) == approx(93.0, abs=0.7)  # 92.4 before they round u_c to 32


def test_shares_of_annex_h1():
    # printed in its table H.1, from memory: 25, 9.7, 2.9 and 16.6 nm
    shares = [one.share for one in end_gauge()[1].contributions]
    assert shares == approx([25.0, 9.7, 2.9, 16.6], abs=0.05)


H2 = {
    "V": (5.007, 4.994, 5.005, 4.990, 4.999),
    "mA": (19.663, 19.639, 19.640, 19.685, 19.678),
    "rad": (1.0456, 1.0438, 1.0468, 1.0428, 1.0433),
}


@pytest.mark.parametrize(
    ("name", "mean", "of_mean", "digits"),
    [("V", 4.9990, 0.0032, 4), ("mA", 19.6610, 0.0095, 4), ("rad", 1.04446, 0.00075, 5)],
)
def test_repeated_observations_of_annex_h2(name, mean, of_mean, digits):
    # JCGM 100:2008, annex H.2, table H.2 (from memory)
    found = repeated(H2[name])
    assert round(found.mean, digits) == mean
    assert round(found.of_mean, digits) == of_mean


def test_resistance_of_annex_h2_from_each_set():
    # JCGM 100:2008, table H.4 (from memory): R = V cos(phi) / I is 127.732 ohm, s 0.071 ohm
    volts, amperes, angle = (np.array(H2[name]) for name in ("V", "mA", "rad"))
    found = repeated(list(volts * np.cos(angle) / (1e-3 * amperes)))
    assert found.mean == approx(127.732, abs=6e-4)
    assert found.of_mean == approx(0.071, abs=6e-4)


@pytest.mark.parametrize(
    ("values", "mean", "deviation"),
    [
        # NIST StRD, univariate summary statistics, NumAcc1 to NumAcc4 (from memory)
        ([10000001, 10000003, 10000002], 10000002.0, 1.0),
        ([1.2, *[1.1, 1.3] * 500], 1.2, 0.1),
        ([1000000.2, *[1000000.1, 1000000.3] * 500], 1000000.2, 0.1),
        ([10000000.2, *[10000000.1, 10000000.3] * 500], 10000000.2, 0.1),
    ],
)
def test_certified_means_and_deviations(values, mean, deviation):
    found = repeated(values)
    assert found.mean == approx(mean, rel=1e-14)
    assert found.deviation == approx(deviation, rel=1e-7)


def test_divisors_of_limits():
    # JCGM 100:2008, 4.3.7 and 4.3.9: a / sqrt(3), a / sqrt(6); variance of the uniform and the
    # symmetric triangular distribution in closed form
    assert Contribution("x", 3.0, shape=RECT).standard == approx(math.sqrt(3.0))
    assert Contribution("x", 3.0, shape=TRI).standard == approx(math.sqrt(1.5))
    assert Contribution("x", 3.0, sensitivity=-2.0).share == 6.0


def test_degrees_of_two_equal_parts():
    # closed form: two equal shares with n each give 2 n
    lines = (Contribution("a", 1.0, degrees=4), Contribution("b", 1.0, degrees=4))
    budget = Budget(0.0, "", lines)
    assert budget.degrees == approx(8.0)
    # Student's t from tables: 2.306 two-sided, 1.860 one-sided at 95 %, 8 degrees
    assert budget.factor(0.95) == approx(2.306, abs=5e-4)
    assert budget.factor(0.95, one_sided=True) == approx(1.860, abs=5e-4)


def test_without_type_a_the_factor_is_the_normal_one():
    budget = Budget(1.0, "", (Contribution("a", 2.0, shape=RECT),))
    assert budget.factor(0.95) == approx(1.95996, abs=1e-5)
    assert Budget(1.0, "", ()).expanded(0.95) == 0.0


def test_intervals_cover_at_the_stated_rate():
    # Monte Carlo: 5 observations with normal errors plus one shared normal error of known size
    rng, hits, count = np.random.default_rng(11), 0, 4000
    for _ in range(count):
        values = 100.0 + rng.normal(0.0, 1.0, 5) + rng.normal(0.0, 0.2)
        found = repeated(values)
        lines = (
            Contribution("repeats", found.of_mean, kind=A, degrees=4),
            Contribution("instrument", 0.2),
        )
        budget = Budget(found.mean, "", lines)
        hits += abs(budget.value - 100.0) <= budget.expanded(0.95)
    assert hits / count == approx(0.95, abs=0.013)  # four standard errors of the count


def test_a_rectangular_instrument_is_not_undercovered_at_95():
    # two equal rectangular errors: their sum is triangular, and holds more than 95 % in 1.96 u_c
    rng = np.random.default_rng(3)
    lines = (Contribution("a", 1.0, shape=RECT), Contribution("b", 1.0, shape=RECT))
    reach = Budget(0.0, "", lines).expanded(0.95)
    inside = np.abs(rng.uniform(-1, 1, (200_000, 2)).sum(axis=1)) <= reach
    closed = 1.0 - (1.0 - reach / 2.0) ** 2  # of the triangle between -2 and 2
    assert inside.mean() == approx(closed, abs=0.003)
    assert closed > 0.95


def test_pooled_deviation():
    # closed form: two groups of two, differences 2 and 4: s^2 = 2 and 8, pooled 5
    deviation, degrees = pooled([(1.0, 3.0), (10.0, 14.0), (7.0,)])
    assert (deviation, degrees) == (approx(math.sqrt(5.0)), 2)
    assert math.isnan(pooled([(1.0,)])[0])


@pytest.mark.parametrize(
    ("count", "part", "factor"), [(5, 0.9, 3.407), (10, 0.9, 2.355), (10, 0.95, 2.911)]
)
def test_tolerance_factors_of_the_tables(count, part, factor):
    # one-sided, confidence 95 %: ISO 16269-6 and handbook tables (from memory)
    assert tolerance_factor(count, part, 0.95) == approx(factor, abs=0.0015)


def test_shared_errors_do_not_average_out():
    def one(gain):
        lines = (
            Contribution("gain", 1.0, "%", gain, shared=True),
            Contribution("own", 3.0, "Ah"),
        )
        return Budget(100.0, "Ah", lines)

    shared, own = averaged([one(0.9), one(1.1)])
    assert shared.share == approx(1.0)
    assert own.share == approx(3.0 / math.sqrt(2.0))


def test_a_line_that_only_some_values_have_counts_for_them():
    some, none = Contribution("gap", 2.0, "Ah"), Budget(1.0, "Ah", ())
    (line,) = averaged([Budget(1.0, "Ah", (some,)), none])
    assert line.share == approx(1.0)


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({"width": -1.0}, "uncertainty of x"),
        ({"width": math.nan}, "uncertainty of x"),
        ({"width": 1.0, "sensitivity": math.inf}, "sensitivity of x"),
        ({"width": 1.0, "degrees": 0.0}, "degrees of freedom of x"),
    ],
)
def test_nonsense_is_refused(given, told):
    with pytest.raises(ParameterError, match=told) as caught:
        Contribution("x", **given)
    assert str(pickle.loads(pickle.dumps(caught.value))) == str(caught.value)


def test_confidence_is_a_part_of_one():
    with pytest.raises(ParameterError, match="confidence"):
        Budget(1.0, "", ()).factor(95.0)
    with pytest.raises(ParameterError, match="values"):
        repeated([])


def test_below_one_degree_of_freedom_one_is_used():
    # JCGM 100, table G.2: t of one degree is 12.71 at 95 %, of two degrees 4.30
    for degrees, factor in ((0.5, 12.71), (1.0, 12.71), (1.9, 12.71), (2.0, 4.30), (2.5, 4.30)):
        budget = Budget(1.0, "", (Contribution("x", 1.0, degrees=degrees),))
        assert budget.factor(0.95) == approx(factor, abs=5e-3)
        assert budget.expanded(0.95) == approx(factor, abs=5e-3)  # both sides unless it is said


def test_a_shared_line_of_unlike_widths_keeps_the_sum_of_its_shares():
    # one instrument, its limits 1 and 3: the mean of two values may be off by 2 of them
    lines = [Contribution("x", width, shared=True) for width in (1.0, 3.0)]
    (mean,) = averaged([Budget(1.0, "", (one,)) for one in lines])
    assert mean.share == approx(2.0)
    (own,) = averaged([Budget(1.0, "", (Contribution("x", width),)) for width in (3.0, 4.0)])
    assert own.share == approx(2.5)  # 5 / 2: by squares
    (none,) = averaged([Budget(1.0, "", (Contribution("x", 0.0),))] * 2)
    assert none.share == 0.0
    (small,) = averaged([Budget(1.0, "", (Contribution("x", 0.5),))] * 4)
    assert small.share == approx(0.25)
