"""The picture of What if: lines of loads that switch often are means, of others themselves."""

import numpy as np
from chart_cases import SHIPPED, run_of, shipped, text_of
from pytest import approx

from bankSim.kernels.arrays import FIXED, PER_BATTERY
from bankSim.screens.charts.what_if_chart import BUS, calm, drawn_mean_h, mean_h, thinned


def of(stem):
    return shipped(next(one for one in SHIPPED if one.stem == stem))


def charge_Ah(hours, values):
    return float(np.trapezoid(values, hours))


def test_a_steady_load_is_drawn_as_it_is():
    result = run_of(text_of(("a", 100, 1.0), ("b", 60, 1.0)))
    columns = [BUS, FIXED, FIXED + PER_BATTERY]
    assert drawn_mean_h(result) is None
    for column, (hours, values) in zip(columns, calm(result, columns, None), strict=True):
        assert hours == approx(result.trace[:, 0] / 3600.0)
        assert values[1:-1] == approx(result.trace[1:-1, column])


def test_means_of_a_switching_load_keep_the_charge_and_calm_the_line():
    result = of("coffee-cart")  # a load of 1.5 min on, 4.5 min off
    columns = [FIXED]
    width_h = mean_h(result, columns)
    assert width_h == approx(0.1 * round(width_h / 0.1), rel=0.02)  # whole periods of 6 min
    ((hours, mean),) = calm(result, columns, width_h)
    raw_h, raw = result.trace[:, 0] / 3600.0, result.trace[:, FIXED]
    calm_part = (hours > 1.0) & (hours < 14.0) & np.isfinite(mean)
    low, high = hours[calm_part][[0, -1]]
    grid = np.linspace(low, high, 200_001)
    expected = charge_Ah(grid, np.interp(grid, raw_h, raw))
    assert charge_Ah(hours[calm_part], mean[calm_part]) == approx(expected, rel=0.02)
    inner = (raw_h > low) & (raw_h < high)
    assert np.ptp(mean[calm_part]) < 0.4 * np.ptp(raw[inner])


def test_thinning_keeps_both_sides_of_a_gap():
    x = np.arange(1000.0)
    y = np.sin(x)
    y[[405, 999]] = np.nan
    kept_x, kept_y = thinned(x, y)
    assert {404.0, 405.0, 406.0, 998.0, 999.0} <= set(kept_x)
    assert np.isnan(kept_y).sum() == 2
