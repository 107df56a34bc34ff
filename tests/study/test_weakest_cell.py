"""The weakest of some cells against order statistics, from the sampler and from whole runs."""

import numpy as np
import pytest
from pytest import approx
from scipy import integrate, stats
from study_texts import BARE, read

from bankSim.model.spread import Shape, Spread
from bankSim.study.draws import drawn_values
from bankSim.study.ensemble import Ensemble
from bankSim.study.find_unknowns import find_unknowns
from bankSim.study.uniforms import RandomDraws, Sampling
from bankSim.study.unknown import Kind, Unknown

# E[largest of n standard normal numbers], reference facts, section 10; three decimals
LARGEST = {2: 0.564, 3: 0.846, 4: 1.029, 6: 1.267, 8: 1.424, 10: 1.539}
STANDARD = Spread(Shape.NORMAL, 0.0, 1.0)


def cells(count):
    """Unknowns of so many equal cells, each a standard normal number."""
    return tuple(
        Unknown(f"cell {n}", Kind.CELL_CAPACITY, "a", "", "", STANDARD, (), "standard normal")
        for n in range(count)
    )


def weakest(count, sampling, draws):
    unknowns = cells(count)
    design = RandomDraws(tuple(one.label for one in unknowns), 1, sampling)
    return drawn_values(unknowns, design.chances(0, draws)).min(axis=1)


@pytest.mark.parametrize("count", LARGEST)
def test_table_of_the_largest_is_right(count):
    # E = integral of x n phi(x) Phi(x)^(n - 1)
    def density(x):
        return x * count * stats.norm.pdf(x) * stats.norm.cdf(x) ** (count - 1)

    assert integrate.quad(density, -10, 10)[0] == approx(LARGEST[count], abs=5e-4)


@pytest.mark.parametrize("count", LARGEST)
def test_random_cells(count):
    draws = 20_000
    found = weakest(count, Sampling.RANDOM, draws)
    allowed = 4.0 * found.std() / np.sqrt(draws) + 5e-4
    assert found.mean() == approx(-LARGEST[count], abs=allowed)


@pytest.mark.parametrize("count", LARGEST)
def test_even_cells(count):
    assert weakest(count, Sampling.EVEN, 2**13).mean() == approx(-LARGEST[count], abs=3e-3)


SLOW = """
[simulation]
duration_h = 100
[[load]]
current_A = 1.0
"""


def slow_study(folder):
    """Four cells in series, 1 % apart, drawn until the first is empty: one hundredth of C."""
    text = BARE.replace("50.0", '{ value = 50.0, sd_percent = 1, cells = "independent" }')
    text = text.replace('"curve.csv"', '"straight.csv"').replace(
        "[battery.cell]",
        'rated_capacity_Ah = 50.0\nprotection = [{ watches = "lowest cell voltage", '
        'trips_below = 2.998, blocks = "discharge" }]\n[battery.cell]',
    )
    (folder / "straight.csv").write_text("state_of_charge,voltage_V\n0,3.0\n1,3.4\n")
    scenario = read(text + SLOW + "[surroundings]\ntemperature_C = 25\n", folder)
    return Ensemble(scenario, find_unknowns(scenario))


def test_a_slow_discharge_stops_at_the_weakest_cell(tmp_path):
    study, draws = slow_study(tmp_path), 1500
    assert len(study.unknowns) == 4  # 2 mohm x 1 A = 0.002 V: trips when the cell is empty
    design = RandomDraws(tuple(one.label for one in study.unknowns), 1)
    Ah = drawn_values(study.unknowns, design.chances(0, draws))
    table = study.evaluate(Ah)
    assert table["bare.delivered_Ah"] == approx(Ah.min(axis=1), rel=3e-4)
    assert (table["bare.cut_out_cell"] == Ah.argmin(axis=1) + 1).all()
    short = (Ah.mean(axis=1) - table["bare.delivered_Ah"]) / 50.0
    # 1.03 % of the mean cell, reference facts, section 10
    assert short.mean() == approx(0.01029, abs=4.0 * short.std() / np.sqrt(draws))
    assert table["bare.stranded_Ah"] == approx(50.0 * short, abs=0.01)
