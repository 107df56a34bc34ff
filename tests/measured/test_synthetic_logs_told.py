"""What the shipped synthetic logs tell, against the truth that made them."""

import runpy
import tomllib
from pathlib import Path

import numpy as np
import pytest

from bankSim.measured import capacity_test, snapshot, snapshot_log, verdict
from bankSim.measured.read import read_log

SCENARIOS = Path(__file__).parents[2] / "scenarios"
REPEATS = [f"newer-repeat-{k}" for k in (1, 2, 3)]
LABELS_AH = {"older": 90.0, "newer": 120.0}


@pytest.fixture(scope="module")
def held_Ah():
    """What each cell of a battery holds at the start, by name of the battery."""
    true = runpy.run_path(str(SCENARIOS / "make_logs.py"))["TRUE"]
    cells = {name: tomllib.loads(text)["battery"][0]["cells"] for name, text in true.items()}
    return {
        name: np.array([one["capacity_Ah"] * one.get("state_of_charge", 1.0) for one in found])
        for name, found in cells.items()
    }


def read(name):
    return read_log(SCENARIOS / "logs" / f"synthetic-{name}.csv")


@pytest.mark.parametrize("name", LABELS_AH)
def test_a_snapshot_finds_what_is_left_in_each_cell(name, held_Ah):
    # cells of one battery have the same knee here: what they held more is what they still hold
    shot = snapshot_log.shot_from_log(read(f"{name}-capacity"))
    around = snapshot.Circumstances(LABELS_AH[name], current_A=shot.current_A, meter_V=0.002)
    found = snapshot.take_snapshot(shot.voltages_V, around, step_V=0.001)
    left = held_Ah[name] - held_Ah[name].min()
    assert found.decider == int(np.argmin(held_Ah[name])) + 1
    assert found.won_Ah.low <= left.mean() <= found.won_Ah.high
    for cell, true in zip(found.cells, left, strict=True):
        assert cell.left_Ah.low - 0.1 <= true <= cell.left_Ah.high + 0.1  # limit: the last row


@pytest.mark.parametrize("name", LABELS_AH)
def test_a_capacity_test_refuses_the_label(name, held_Ah):
    question = capacity_test.Question(rated_Ah=LABELS_AH[name])
    answer, _ = capacity_test.evaluate_tests([read(f"{name}-capacity")], [name], question)
    assert answer.measured.together.word is verdict.Word.NOT_MET
    low, high = answer.measured.interval
    # the electronics end it a little before the weakest cell is empty
    assert low < held_Ah[name].min() < 1.02 * high


def test_three_repeats_are_surer_than_one():
    question = capacity_test.Question(rated_Ah=120.0)
    one, three = (
        capacity_test.evaluate_tests(
            [read(name) for name in names], ["newer"] * len(names), question
        )
        for names in (REPEATS[:1], REPEATS)
    )
    widths = [np.ptp(answer.measured.interval) for answer, _ in (one, three)]
    assert widths[1] < widths[0]
    assert three[0].measured.together.word is verdict.Word.NOT_MET
