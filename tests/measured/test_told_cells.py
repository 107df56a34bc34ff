"""The same battery, its states of charge counted from its fullest cell."""

import tomllib
from dataclasses import replace

import numpy as np
import pytest
from pytest import approx

from bankSim.measured.battery_file import battery_files
from bankSim.measured.calibrate import calibrate
from bankSim.measured.label import Label
from bankSim.measured.log import Log
from bankSim.measured.replay import Course, follow, replay
from bankSim.measured.told_cells import mean_cell, told_cells
from bankSim.model.lfp import LFP
from bankSim.show.calibrate_answer import calibration_answer

TRUE_AH = (46.0, 45.0, 46.0, 46.0)


@pytest.fixture(scope="module")
def log():
    """Four cells, all full, at 10 A until one is at 2.5 V, and 2 h of rest; meter noise 2 mV."""
    cells = tuple(LFP.typical_cell(50.0, 3600.0 * Ah, 1.3) for Ah in TRUE_AH)
    time = np.arange(0.0, 7.0 * 3600.0, 60.0)
    flow = Log("flow", time, np.full(time.size, 13.0), np.full(time.size, 10.0))
    cut = int(np.argmax(replay(cells, Course.of(flow, 21.0), time).min(axis=1) < 2.5))
    amps = np.where(np.arange(time.size) < cut, 10.0, 0.0)[: cut + 120]
    time = time[: cut + 120]
    flow = Log("flow", time, np.full(time.size, 13.0), amps)
    volts = replay(cells, Course.of(flow, 21.0), time)
    noisy = volts + np.random.default_rng(2).normal(0.0, 0.002, volts.shape)
    return Log("logA.csv", time, noisy.sum(axis=1), amps, noisy,
               temperature_C=np.full(time.size, 21.0))  # fmt: skip


@pytest.fixture(scope="module")
def found(log):
    return calibrate([log], Label("alone", "LFP", 4, 50.0))


def test_story_numbers_and_file_say_the_same(found, log):
    # the story said 91.14 Ah and 100 %, the file 92.20 Ah and 99.2 %
    battery = tomllib.loads(battery_files(found, "a").text)["battery"][0]
    capacity = found.value("capacity").value
    written = [cell["capacity_Ah"] for cell in battery["cells"]]
    assert np.mean(written) == approx(capacity, rel=1e-5)
    assert battery["cell"]["capacity_Ah"]["value"] == approx(capacity, rel=1e-5)
    starts = [cell["state_of_charge"] for cell in battery["cells"]]
    starts = [one["value"] if isinstance(one, dict) else one for one in starts]
    assert max(starts) == 1.0
    assert found.followed[0].start == 1.0
    summary = calibration_answer(found, [log]).summary
    assert summary["values"][0]["value"] == capacity
    assert summary["logs"][0]["start"] == 1.0
    held = np.array(written) * np.array(starts)
    assert held - held.min() == approx([one.left_at_end_Ah for one in found.cells], abs=1e-3)


def test_the_truth_is_told(found):
    assert found.value("capacity").value == approx(np.mean(TRUE_AH), rel=0.01)
    left = [one.left_at_end_Ah for one in found.cells]
    assert left == approx(np.array(TRUE_AH) - min(TRUE_AH), abs=0.1)


def test_recounted_cells_show_the_same(found):
    numbers, samples = found.fit.numbers.copy(), found.fit.samples[0]
    for place, one in enumerate(found.fit.parameters):
        if one.name.endswith(", charge"):
            numbers[place] -= 0.02
    fitted, told = found.recipe.cells_of(numbers, 0), told_cells(found.recipe, numbers, 0)
    assert max(one.state_of_charge for one in told) == 1.0
    assert max(one.state_of_charge for one in fitted) < 0.99
    seen = [follow(cells, samples.course, samples.time_s).cells_V for cells in (fitted, told)]
    assert seen[1] == approx(seen[0], abs=4e-3)  # the cold moves the knee by 0.02 x 4 %
    mean = mean_cell(found.recipe, numbers)
    assert mean.charge_C == approx(np.mean([one.charge_C for one in told]), rel=1e-12)


def test_cells_that_are_alike_are_told_as_they_are(found):
    recipe = replace(found.recipe, each_cell=False)
    numbers = np.zeros(len(recipe.parameters()))
    assert told_cells(recipe, numbers, 0)[0].charge_C == recipe.typical.charge_C
