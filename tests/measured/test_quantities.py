"""The numbers of a fit as people know them: units, errors and pairs, on covariances made by hand.

A number of kind "ln" moves its quantity by exp: a standard error s of the number is s x quantity
(first order; the slope is taken over 2 % of the typical spread, which moves it by less than 1 %).
"""

import math
from dataclasses import replace

import numpy as np
import pytest
from pytest import approx

from bankSim.measured.first_guess import given_Ah
from bankSim.measured.fit import Fit
from bankSim.measured.label import Label
from bankSim.measured.parameters import Recipe
from bankSim.measured.quantities import (
    AFTER_LONG,
    AT_ONCE,
    BETWEEN,
    IN_LABEL_H,
    Beside,
    cell_values,
    pairs_of,
    place_of_first_cell,
    straps_value,
    usual_straps_mohm,
    values_of,
)
from bankSim.measured.slow_curve import SlowCurve
from bankSim.measured.straps import Straps
from bankSim.model.chemistry import AGM
from bankSim.model.lfp import LFP

ROOT = math.sqrt(3.0)
NOTHING = Beside(0.0, 0.0, 1000.0, 0.0)
CLOSE = 0.01


def recipe_of(chemistry=LFP, cells=4, slow=None, *, each_cell=False):
    label = Label("made", chemistry.word, cells, 100.0)
    typical = chemistry.typical_cell(100.0, 360_000.0)
    return Recipe(label, typical, slow, ((1.0, True),), each_cell)


def fit_of(recipe, sd=None, numbers=None, covariance=None):
    """A fit whose numbers are 0 and sure, but for those named."""
    parameters = recipe.parameters()
    place = {one.name: k for k, one in enumerate(parameters)}
    value, squares = np.zeros(len(parameters)), np.zeros((len(parameters),) * 2)
    for name, one in (numbers or {}).items():
        value[place[name]] = one
    for name, one in (sd or {}).items():
        squares[place[name], place[name]] = one**2
    for (name, other), one in (covariance or {}).items():
        squares[place[name], place[other]] = squares[place[other], place[name]] = one
    return Fit(parameters, value, squares, (), (), 100.0, 1.0, 1, True, 1.0)


def told(recipe, found, beside=NOTHING):
    return {one.name: one for one in values_of(recipe, found, beside)}


def up(sd, value):
    """One error upwards of a value whose logarithm is normal: eq. 25.13."""
    return value * math.expm1(sd / value)


def test_capacity_in_ampere_hours():
    recipe = recipe_of()
    one = told(recipe, fit_of(recipe, {"capacity": 0.03}, {"capacity": 0.1}))["capacity"]
    assert (one.value, one.unit, one.typical) == (approx(100.0 * math.exp(0.1)), "Ah", approx(100))
    assert one.sd == approx(0.03 * one.value, rel=CLOSE)
    assert one.typical_sd == approx(0.3 * one.value, rel=CLOSE)  # 0.3 before the logs
    assert one.learned == approx(1.0 - (0.03 / 0.3) ** 2)  # eq. 25.7
    more = told(recipe, fit_of(recipe, {"capacity": 0.4}))["capacity"]
    assert more.learned == 0.0  # never below


def test_resistances_are_those_of_all_cells_in_milliohm():
    recipe = recipe_of()
    cell = recipe.typical
    slow, quick = (4e3 * pair.resistance_ohm for pair in cell.relaxation)
    now = told(recipe, fit_of(recipe))
    ohmic = {z: 4e3 * float(cell.ohmic_ohm(z)) for z in (0.15, 0.45)}
    # straps and switches of such a battery belong to it: 0.15 ohm Ah, at 100 Ah 1.5 mohm
    assert now[AT_ONCE].value == approx(ohmic[0.45] + 1.5, rel=1e-3)
    assert now[AFTER_LONG].value == approx(ohmic[0.45] + slow + quick + 1.5, rel=1e-3)
    assert now["resistance after long, at 15 %"].value == approx(
        ohmic[0.15] + slow + quick + 1.5, rel=1e-3
    )
    assert now["relaxation 1, resistance"].value == approx(slow)
    assert now["relaxation 2, resistance"].value == approx(quick)
    assert now["relaxation 1, time"].value == approx(cell.relaxation[0].time_constant_s)
    assert now["relaxation 2, time"].unit == "s"
    # where cells and terminals were logged together, what was read stands in their place
    read = replace(recipe, straps_ohm=0.4e-3)
    found = told(read, fit_of(read))
    for name in (AT_ONCE, AFTER_LONG, "resistance after long, at 15 %"):
        assert now[name].typical == approx(now[name].value)
        assert found[name].typical == approx(found[name].value + 1.5 - 0.4)
    assert now["relaxation 1, resistance"].typical == approx(slow)


def test_one_cell_alone_has_no_straps():
    assert usual_straps_mohm(recipe_of(cells=1)) == 0.0
    assert usual_straps_mohm(recipe_of(cells=2)) == approx(1.5)


def test_errors_of_numbers_add_in_squares():
    # one resistance of all cells: half full it is the number "resistance" alone
    recipe = recipe_of()
    parts = {"resistance": 0.03, "relaxation 1, resistance": 0.2, "relaxation 2, resistance": 0.1}
    now = told(recipe, fit_of(recipe, parts))
    ohmic, slow, quick = (
        now[name].value
        for name in (AT_ONCE, "relaxation 1, resistance", "relaxation 2, resistance")
    )
    assert now[AT_ONCE].sd == approx(up(0.03 * ohmic, ohmic), rel=CLOSE)
    assert now["relaxation 1, resistance"].sd == approx(up(0.2 * slow, slow), rel=CLOSE)
    assert now["relaxation 1, resistance"].typical_sd == approx(up(0.7 * slow, slow), rel=CLOSE)
    both = math.hypot(0.03 * ohmic, 0.2 * slow, 0.1 * quick)
    assert now[AFTER_LONG].sd == approx(up(both, now[AFTER_LONG].value), rel=CLOSE)


def test_two_wells_and_what_they_give_in_the_time_of_the_label():
    recipe = recipe_of(AGM, 6)
    cell = recipe.typical
    now = told(recipe, fit_of(recipe))
    assert now["available part of the charge"].value == approx(cell.available_fraction)
    rate = now["rate between the wells"]
    assert (rate.value, rate.unit) == (approx(3600.0 * cell.well_rate_per_s), "1/h")
    # lead-acid batteries are labelled for 20 h; 1.75 V a cell at its end
    assert now[IN_LABEL_H].value == approx(given_Ah(cell, 20.0, 1.75), rel=1e-3)
    assert now[IN_LABEL_H].name == "charge given in 20 h"
    assert rate.sd == approx(0.02 * rate.value)  # what two wells miss; own choice
    assert not {IN_LABEL_H, rate.name} & set(told(recipe_of(), fit_of(recipe_of())))


@pytest.mark.parametrize(
    ("value", "unit", "sd"),
    [
        (50.0, "Ah", 50.0 * 0.03 / ROOT),  # 3 % is a limit
        (70.0, "Ah", math.hypot(70.0 * 0.03 / ROOT, 5.0)),  # half of 10 Ah that no log has seen
        (10.0, "mohm", 10.0 * math.hypot(0.03 / ROOT, 0.05)),
        (0.5, "", 0.01),  # two wells: 2 % of it, and no gain
        (0.6, "1/h", 0.012),
        (100.0, "s", 0.0),
    ],
)
def test_errors_that_no_residual_shows(value, unit, sd):
    beside = Beside(3.0, 5.0, 60.0)
    assert beside.gain == approx(0.03 / ROOT)
    assert math.sqrt(beside.variance(value, unit)) == approx(sd)


def test_errors_of_type_b_stand_beside_those_of_the_fit():
    recipe = recipe_of()
    one = told(recipe, fit_of(recipe, {"capacity": 0.03}), Beside(3.0, 5.0, 90.0, 0.0))["capacity"]
    # 3 Ah of the fit, 3 Ah / root 3 of the gain, half of 10 Ah
    assert one.sd == approx(math.hypot(3.0, 3.0 / ROOT, 5.0), rel=CLOSE)


def test_a_step_at_an_unknown_instant_blurs_what_happens_at_once():
    # eq. 25.9: sum R_j (1 - exp(-dt / (2 tau_j))) / root 3; each pair by itself likewise
    recipe = recipe_of()
    slow, quick = recipe.typical.relaxation
    moved = [
        4e3 * pair.resistance_ohm * (1.0 - math.exp(-30.0 / (2.0 * pair.time_constant_s)))
        for pair in (slow, quick)
    ]
    now = told(recipe, fit_of(recipe), Beside(0.0, 0.0, 1000.0, 30.0))
    for name, blurred in (
        (AT_ONCE, sum(moved)),
        ("relaxation 1, resistance", moved[0]),
        ("relaxation 2, resistance", moved[1]),
    ):
        assert now[name].sd == approx(up(blurred / ROOT, now[name].value))
    assert now[AFTER_LONG].sd == 0.0
    assert now["relaxation 1, time"].sd == 0.0


def test_without_steps_no_log_tells_how_long_anything_takes():
    recipe = recipe_of()
    now = told(recipe, fit_of(recipe), Beside(0.0, 0.0, 1000.0))
    for number, tau in ((1, 111.0), (2, 10.3)):  # of the typical cell
        one = now[f"relaxation {number}, time"]
        assert (one.sd, one.learned) == (approx(one.typical_sd), approx(0.0))
        assert one.typical_sd == approx(0.5 * tau, rel=CLOSE)
    assert now[AT_ONCE].sd > 0.0
    assert now["capacity"].sd == 0.0


def test_what_no_number_moves_is_learned():
    # a slow complete discharge has counted the capacity: no number of the fit
    z = np.linspace(0.0, 1.0, 5)
    recipe = recipe_of(slow=SlowCurve(z, 3.0 + 0.4 * z, 5.0, 100.0, 0))
    one = told(recipe, fit_of(recipe))["capacity"]
    assert (one.typical_sd, one.sd, one.learned) == (0.0, 0.0, 1.0)


def test_straps_with_the_error_of_slope_and_shunt():
    # 4 mohm, 0.2 mohm of the fit, 3 % / root 3 of the current's scale; usual 1.5 mohm
    (one,) = straps_value(recipe_of(), Straps(0.004, 0.0002, 0.1), Beside(3.0, 5.0, 100.0))
    variance = 0.2**2 + (4.0 * 0.03 / ROOT) ** 2
    assert (one.name, one.unit, one.value) == (BETWEEN, "mohm", approx(4.0))
    assert one.sd == approx(math.sqrt(variance))
    assert (one.typical, one.typical_sd) == (approx(1.5), approx(1.5))
    assert one.learned == approx(1.0 - variance / 1.5**2)
    assert straps_value(recipe_of(), None, NOTHING) == ()


def test_straps_that_are_known_worse_than_usual_are_not_learned():
    (one,) = straps_value(recipe_of(), Straps(0.004, 0.002, 0.0), NOTHING)
    assert (one.sd, one.learned) == (approx(2.0), 0.0)
    (alone,) = straps_value(recipe_of(cells=1), Straps(0.004, 0.002, 0.0), NOTHING)
    assert (alone.typical, alone.learned) == (0.0, 1.0)


CAPACITY, FIRST_S, SECOND_S = "capacity", "relaxation 1, time", "relaxation 2, time"


def test_pairs_whose_errors_hang_together():
    recipe = recipe_of()
    found = fit_of(
        recipe,
        {CAPACITY: 0.01, FIRST_S: 0.1, SECOND_S: 0.2},
        covariance={
            (CAPACITY, FIRST_S): 0.82 * 0.01 * 0.1,
            (FIRST_S, SECOND_S): -0.9 * 0.1 * 0.2,
            (CAPACITY, SECOND_S): -0.78 * 0.01 * 0.2,
        },
    )
    pairs = pairs_of(recipe, found)  # from 0.8 on, in size; the most entangled first
    assert [(one.one, one.other) for one in pairs] == [(FIRST_S, SECOND_S), (CAPACITY, FIRST_S)]
    assert [one.correlation for one in pairs] == approx([-0.9, 0.82])


def test_no_more_than_six_pairs_are_told():
    recipe = recipe_of()
    size = len(recipe.parameters())
    found = fit_of(recipe)
    found.covariance[:] = np.ones((size, size))  # all by one error: 8 values, 28 pairs
    pairs = pairs_of(recipe, found)
    assert len(pairs) == 6
    assert [abs(one.correlation) for one in pairs] == approx([1.0] * 6)
    assert not any(one.one == one.other for one in pairs)


CELLS = {
    "cell 1, capacity": 0.03, "cell 1, charge": -0.02, "cell 1, resistance": 0.3,
    "cell 2, capacity": -0.05, "cell 2, resistance": -0.1, "cell 4, charge": -0.04,
}  # fmt: skip


def test_cells_against_their_mean():
    recipe = recipe_of(each_cell=True)
    sd = {"cell 2, capacity": 0.01, "cell 2, charge": 0.004, "cell 2, resistance": 0.05}
    rows = cell_values(recipe, fit_of(recipe, sd, CELLS))
    assert [one.cell for one in rows] == [1, 2, 3, 4]
    # means of the numbers: capacity -0.005, charge -0.015, resistance 0.05
    assert [one.capacity_percent for one in rows] == approx([3.5, -4.5, 0.5, 0.5])
    assert [one.charge_percent for one in rows] == approx([-0.5, 1.5, 1.5, -2.5])
    assert [one.resistance_percent for one in rows] == approx([25.0, -15.0, -5.0, -5.0])
    second = rows[1]
    assert (second.capacity_sd, second.charge_sd, second.resistance_sd) == (
        approx(1.0), approx(0.4), approx(5.0),
    )  # fmt: skip
    # Ah held: charge x capacity, and over the emptiest, cell 2
    held = np.array([98.0 * math.exp(0.03), 100.0 * math.exp(-0.05), 100.0, 96.0])
    assert [one.left_at_end_Ah for one in rows] == approx(held - held[1])


def test_what_a_cell_has_left_is_as_sure_as_it_and_the_emptiest():
    # cell 2 is the emptiest; all cells hold 100 Ah on the mean of e^0.03, e^-0.05, 1, 1
    recipe = recipe_of(each_cell=True)
    sd = {"cell 2, capacity": 0.01, "cell 3, capacity": 0.02, "cell 3, charge": 0.004}
    together = {("cell 3, capacity", "cell 3, charge"): 0.5 * 0.02 * 0.004}
    rows = cell_values(recipe, fit_of(recipe, sd, CELLS, together))
    mean_Ah = 100.0 * (math.exp(0.03) + math.exp(-0.05) + 2.0) / 4.0
    own = 0.02**2 + 0.004**2 + 2.0 * 0.5 * 0.02 * 0.004
    assert rows[1].left_sd_Ah == 0.0  # nothing between it and itself
    assert rows[0].left_sd_Ah == approx(mean_Ah * 0.01)
    assert rows[2].left_sd_Ah == approx(mean_Ah * math.sqrt(own + 0.01**2))


def test_cells_that_are_alike_have_no_rows():
    assert cell_values(recipe_of(), fit_of(recipe_of())) == ()
    recipe = recipe_of(each_cell=True)
    place = place_of_first_cell(fit_of(recipe))
    assert recipe.parameters()[place].name == "cell 1, capacity"
