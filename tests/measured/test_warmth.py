"""What a temperature that nobody logged hides, by Arrhenius' law and by hand."""

from types import SimpleNamespace

import numpy as np
import pytest
from pytest import approx

from bankSim.measured import warmth
from bankSim.measured.log import Log


def fit_at(*kelvins, thermal=True):
    courses = [SimpleNamespace(temperature_K=one, thermal=thermal or None) for one in kelvins]
    return SimpleNamespace(
        samples=[SimpleNamespace(course=one) for one in courses], numbers=np.zeros(1)
    )


@pytest.mark.parametrize(
    ("kelvins", "unseen_K"), [((298.15,), 5.0), ((288.15, 308.15), 5.0), ((278.15,), 0.0)]
)
def test_doubt_of_resistances(kelvins, unseen_K):
    # exp(E / R (1 / T - 1 / (T + dT))) - 1 with 20 kJ/mol, at the mean of the logs
    recipe = SimpleNamespace(typical=SimpleNamespace(activation_J_mol=20e3))
    here = np.mean(kelvins)
    factor = np.exp(20e3 / 8.314462618 * (1.0 / here - 1.0 / (here + unseen_K)))
    assert warmth.doubt_percent(recipe, fit_at(*kelvins), unseen_K) == approx(
        100.0 * (factor - 1.0), abs=1e-9
    )


def log_of(*amps):
    return Log(
        "a.csv", 60.0 * np.arange(len(amps)), np.full(len(amps), 12.0), np.array(amps, float)
    )


def test_half_of_what_it_warms_up_under_load(monkeypatch):
    # under 10 A 300, 304 and 308 K: 304 in the mean, 6 K above 298; at rest it is cooler
    logs = [log_of(0, 10, 10, 10, 0), log_of(10, 10)]
    seen = {3: np.array([298.0, 300.0, 304.0, 308.0, 301.0]), 5: np.array([299.0, 301.0])}
    recipe = SimpleNamespace(cells_of=lambda numbers, number: seen[3 if number == 0 else 5])
    monkeypatch.setattr(
        warmth, "follow", lambda cells, course, time_s: SimpleNamespace(temperature_K=cells)
    )
    assert warmth.unseen_K(logs, recipe, fit_at(298.0, 298.0)) == approx(0.5 * 6.0)
    # where the temperature was logged, or it cools, nothing is hidden
    assert warmth.unseen_K(logs, recipe, fit_at(298.0, 298.0, thermal=False)) == 0.0
    assert warmth.unseen_K(logs, recipe, fit_at(310.0, 310.0)) == 0.0
