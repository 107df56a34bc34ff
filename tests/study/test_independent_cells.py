"""A spread of independent cells: every cell without a value of its own has its own draw."""

import numpy as np
import pytest
from pytest import approx
from study_texts import BARE, LFP, LOAD, read

from bankSim.model.lfp import ohmic_factor
from bankSim.scenario.variant import Variants
from bankSim.study.draws import columns_of
from bankSim.study.ensemble import Ensemble
from bankSim.study.fields import Field
from bankSim.study.find_unknowns import find_unknowns

SPREAD = '{{ value = {}, sd_percent = 2, cells = "independent" }}'
WARM = "[surroundings]\ntemperature_C = 20\n[simulation]\nduration_h = 6\n"


def given(text, folder):
    """The scenario and its given unknowns."""
    scenario = read(text + LOAD + WARM, folder)
    return scenario, [one for one in find_unknowns(scenario) if one.given]


def assert_as_written(scenario, unknowns, values, cells):
    """Check a draw against the file with keys of single cells: {(cell, key): value}."""
    row = Ensemble(scenario, unknowns).evaluate(np.array([values]))
    keys = {("battery", 0, "cells", cell, key): value for (cell, key), value in cells.items()}
    written = Variants(scenario).with_values(keys)
    exact = Ensemble(written, ()).evaluate(np.empty((1, 0)))
    for name in row:
        assert row[name] == approx(exact[name], rel=1e-9, abs=1e-9, nan_ok=True), name


CELL_KEYS = [
    ("capacity_Ah", 100.0), ("state_of_charge", 0.9), ("ohmic_mohm", 0.8), ("hysteresis_mV", 10.0),
]  # fmt: skip


@pytest.mark.parametrize(("key", "value"), CELL_KEYS)
def test_keys_of_cells(key, value, tmp_path):
    text = f"{LFP}[battery.cell]\n{key} = {SPREAD.format(value)}\n"
    scenario, unknowns = given(text, tmp_path)
    name = f'cell.{key} of "lithium"'
    assert [one.label for one in unknowns] == [f"{name}, cell {n}" for n in (1, 2, 3, 4)]
    drawn = [value * factor for factor in (0.97, 1.01, 1.03, 0.99)]
    cells = {(n, key): one for n, one in enumerate(drawn)}
    assert_as_written(scenario, unknowns, drawn, cells)


def test_state_of_charge_of_the_battery(tmp_path):
    text = f"{LFP}state_of_charge = {SPREAD.format(0.8)}\n"
    scenario, unknowns = given(text, tmp_path)
    drawn = [0.78, 0.79, 0.82, 0.8]
    cells = {(n, "state_of_charge"): one for n, one in enumerate(drawn)}
    assert_as_written(scenario, unknowns, drawn, cells)


def test_capacity_fraction(tmp_path):
    text = f"{LFP}capacity_fraction = {SPREAD.format(0.8)}\n"
    scenario, unknowns = given(text, tmp_path)
    drawn = [0.78, 0.79, 0.82, 0.8]
    cells = {(n, "capacity_Ah"): 100.0 * one for n, one in enumerate(drawn)}
    assert_as_written(scenario, unknowns, drawn, cells)


def test_resistance_factor(tmp_path):
    text = f"{LFP}resistance_factor = {SPREAD.format(1.5)}\n"
    scenario, unknowns = given(text, tmp_path)
    drawn = [1.3, 1.5, 1.6, 1.7]
    (battery,) = read(LFP + WARM, tmp_path).bank.batteries
    new = battery.cells[0]
    # ohmic_mohm is R0 mid-way: the curve over its shape
    mohm = 1e3 * float(new.ohmic_ohm(0.5)) / float(ohmic_factor()(0.5))
    cells = {(n, "ohmic_mohm"): one * mohm for n, one in enumerate(drawn)}
    for n, one in enumerate(drawn):
        cells[n, "relaxation"] = [
            {"mohm": 1e3 * pair.resistance_ohm * one, "time_constant_s": pair.time_constant_s}
            for pair in new.relaxation
        ]
    assert_as_written(scenario, unknowns, drawn, cells)


@pytest.mark.parametrize(("key", "value"), CELL_KEYS)
def test_cells_with_a_value_of_their_own(key, value, tmp_path):
    own = f"[[battery.cells]]\n[[battery.cells]]\n{key} = {0.95 * value}\n"
    text = f"{LFP}[battery.cell]\n{key} = {SPREAD.format(value)}\n{own}" + "[[battery.cells]]\n" * 2
    scenario, unknowns = given(text, tmp_path)
    assert [one.label[-6:] for one in unknowns] == ["cell 1", "cell 3", "cell 4"]
    cells = {(0, key): 0.97 * value, (2, key): 1.02 * value, (3, key): value}
    assert_as_written(scenario, unknowns, list(cells.values()), cells)


def test_pairs_of_relaxation(tmp_path):
    pair = f"{{ mohm = {SPREAD.format(1.0)}, time_constant_s = {SPREAD.format(60.0)} }}"
    text = BARE + f"relaxation = [{{ mohm = 0.5, time_constant_s = 9.0 }}, {pair}]\n"
    scenario, unknowns = given(text, tmp_path)
    assert len(unknowns) == 8
    values = np.array([[*(1.1, 1.2, 1.3, 1.4), *(61.0, 62.0, 63.0, 64.0)]])
    columns = columns_of(scenario.bank, unknowns, values)
    ohm = columns[Field.PAIR_OHM].reshape(4, -1)
    time_s = columns[Field.PAIR_TIME].reshape(4, -1)
    assert ohm[:, :2] == approx(np.array([[0.5, n] for n in (1.1, 1.2, 1.3, 1.4)]) * 1e-3)
    assert time_s[:, :2].tolist() == [[9.0, 61.0], [9.0, 62.0], [9.0, 63.0], [9.0, 64.0]]


def test_typical_cells_give_way(tmp_path):
    # a spread of independent cells stands in place of the typical one between cells
    for words, kind in (
        ("capacity_fraction", "capacity of cell"),
        ("resistance_factor", "resistance of cell"),
        ("state_of_charge", "charge of cell"),
    ):
        text = f"{LFP}{words} = {SPREAD.format(0.9)}\n"
        labels = [one.label for one in find_unknowns(read(text + WARM, tmp_path))]
        assert not any(label.startswith(kind) for label in labels)
        assert sum("cell 4" in label for label in labels) == 3
        shared = text.replace("independent", "shared")
        labels = [one.label for one in find_unknowns(read(shared + WARM, tmp_path))]
        assert any(label.startswith(kind) for label in labels)
