"""The pieces of a fit: independent residuals, robust ones, where the priors lie, slow curves."""

import numpy as np
import pytest
from pytest import approx
from scipy.optimize import least_squares

from bankSim.measured.ends import end_of
from bankSim.measured.fit import independent_of, prior_rows
from bankSim.measured.label import label_of
from bankSim.measured.log import Log, LogError
from bankSim.measured.parameters import SHAPE_AT, Recipe
from bankSim.measured.slopes import robust, tamed
from bankSim.measured.slow_curve import slow_curve
from bankSim.model.lfp import LFP


def log_of(time_s, current_A, voltage_V, cells_V=None, name="made.csv"):
    time_s = np.asarray(time_s, float)
    cells = np.empty((0, 0)) if cells_V is None else np.asarray(cells_V, float)
    current = np.broadcast_to(np.asarray(current_A, float), time_s.shape).copy()
    return Log(name, time_s, np.asarray(voltage_V, float), current, cells_V=cells)


@pytest.mark.parametrize("part", [0.0, 0.5, 0.9])
def test_independent_samples_of_an_autoregressive_series(part):
    # closed form: x_k = p x_(k-1) + e has n (1 - p) / (1 + p) independent samples
    rng = np.random.default_rng(5)
    noise = rng.normal(size=40_000)
    series = np.zeros(noise.size)
    for k in range(1, series.size):
        series[k] = part * series[k - 1] + noise[k]
    assert independent_of(series) == approx(series.size * (1 - part) / (1 + part), rel=0.15)


def test_robust_residuals_square_to_soft_l1():
    # SciPy's least_squares: soft_l1 is rho(z) = 2 ((1 + z)^0.5 - 1) of (r / f)^2, times f^2
    r = np.array([0.1, 1.0, 20.0])
    f = 3.0
    scipy_cost = least_squares(
        lambda x: r + 0.0 * x, [0.0], loss="soft_l1", f_scale=f, max_nfev=1
    ).cost
    assert 0.5 * float((robust(r) ** 2).sum()) == approx(scipy_cost, rel=1e-12)
    assert robust(np.array([1e-3])) == approx([1e-3], rel=1e-6)


def test_robust_residuals_have_the_stated_slope():
    r = np.array([-30.0, -2.0, 0.0, 0.5, 8.0])
    step = 1e-5
    assert tamed(r) == approx((robust(r + step) - robust(r - step)) / (2 * step), abs=1e-6)


def recipe_of(**values):
    label = label_of([discharge_log()], "x", "LFP", 1, 2.0)
    typical = LFP.typical_cell(2.0, 7200.0)
    return Recipe(label, typical, None, ((1.0, True), (1.0, True)), False, **values)


def test_a_straight_line_of_resistance_costs_nothing_near_empty():
    recipe = recipe_of()
    parameters = recipe.parameters()
    rows = prior_rows(parameters)
    numbers = np.zeros(len(parameters))
    for place, one in enumerate(parameters):
        if one.name.startswith("resistance at"):
            numbers[place] = 2.0 - 2.0 * one.place / 0.45
    cost = (rows @ numbers) ** 2
    near_empty = np.count_nonzero(SHAPE_AT < 0.08)
    assert cost[:near_empty] == approx(np.zeros(near_empty), abs=1e-20)
    assert cost.sum() > 0.1


def test_typical_numbers_give_the_typical_cell():
    recipe = recipe_of()
    cell = recipe.cells_of(np.zeros(len(recipe.parameters())), 0)[0]
    z = np.linspace(0.0, 1.0, 50)
    assert cell.ocv_V(z) == approx(LFP.ocv_V()(z), abs=2e-3)
    assert cell.ohmic_ohm(z) == approx(recipe.typical.ohmic_ohm(z), rel=2e-2)
    assert cell.charge_C == recipe.typical.charge_C


def discharge_log(hours=10.0, cells=1, current_A=0.2, count=600):
    time = np.linspace(0.0, hours * 3600.0, count)
    z = 1.0 - time / time[-1]
    return log_of(time, current_A, cells * (3.0 + 0.4 * z))


def test_a_slow_discharge_gives_its_curve():
    found = slow_curve(discharge_log(hours=20.0), 0, 1, 4.0)
    assert found is not None
    assert found.charge_Ah == approx(4.0, rel=1e-3)
    z = np.linspace(0.02, 0.98, 20)
    assert np.interp(z, found.z, found.voltage_V) == approx(3.0 + 0.4 * z, abs=2e-3)
    assert np.all(np.diff(found.voltage_V) > 0.0)


def test_fast_or_broken_off_discharges_give_no_curve():
    assert slow_curve(discharge_log(hours=5.0), 0, 1, 1.0) is None
    assert slow_curve(discharge_log(hours=20.0), 0, 1, 8.0) is None


def test_knee_of_the_curve_is_that_of_the_weakest_cell():
    time = np.linspace(0.0, 20 * 3600.0, 900)
    z = 1.0 - time / time[-1]
    weak = 3.0 + 0.3 * z - 0.6 * np.clip(0.1 - z, 0.0, None) / 0.1
    strong = 3.0 + 0.3 * z
    log = log_of(time, 1.0, weak + strong, np.column_stack([strong, weak]))
    found = slow_curve(log, 0, 2, 20.0)
    assert found.voltage_V[0] == approx(2.4, abs=0.02)


def test_label_is_taken_from_the_log_and_told():
    label = label_of([log_of([0, 3600.0], 1.0, [13.2, 13.0])], "x")
    assert (label.chemistry, label.cells_in_series) == ("LFP", 4)
    assert len(label.guessed) == 3


@pytest.mark.parametrize(
    ("words", "match"),
    [
        ({"chemistry": "NiCd"}, "--chemistry = 'NiCd'; expected one of"),
        ({"cells_in_series": 0}, "--cells-in-series = 0; expected 1 to"),
        ({"rated_Ah": -1.0}, "--rated-Ah = -1; expected 0.01 to 10000"),
    ],
)
def test_wrong_labels_are_refused(words, match):
    with pytest.raises(LogError, match=match):
        label_of([discharge_log()], "x", **words)


def test_lead_or_lithium_must_be_said():
    with pytest.raises(LogError, match="say --chemistry and --cells-in-series"):
        label_of([log_of([0, 3600.0], 1.0, [12.4, 12.2])], "x")


def test_a_cut_out_is_told_from_a_log_that_ends():
    time = np.arange(0.0, 1000.0, 10.0)
    current = np.where(time < 900.0, 10.0, 0.0)
    voltage = np.where(time < 900.0, 12.8 - time / 300.0, 12.2)
    cut = end_of(log_of(time, current, voltage))
    assert cut.cut
    assert cut.time_s == 890.0
    assert cut.voltage_V == approx(12.8 - 890.0 / 300.0)
    whole = end_of(log_of(time, 10.0, 12.8 - time / 300.0))
    assert not whole.cut
    halfway = np.where(time < 500.0, 10.0, np.where(time < 900.0, -10.0, 0.0))
    assert end_of(log_of(time, halfway, np.full(100, 13.0))) is None


def test_the_lowest_cell_at_the_end_is_named():
    time = np.arange(0.0, 100.0, 10.0)
    cells = np.tile([3.1, 3.1, 3.1], (10, 1))
    cells[-1] = [2.9, 2.4, 2.8]
    assert end_of(log_of(time, 5.0, cells.sum(axis=1), cells)).cell == 2
