"""A bench test of a predicted battery with a pause: the run's own ledger knows what it gave."""

import numpy as np
import pytest
from pytest import approx

from bankSim import read_scenario, simulate
from bankSim.measured.capacity_test import Question, evaluate_tests
from bankSim.measured.correct import Wanted
from bankSim.measured.log import Log
from bankSim.measured.verdict import Word
from bankSim.sim.timeline import timeline_frame

BENCH = """
title = "bench"
[simulation]
duration_h = 16
stop = "end"
output_every_s = 60
[[battery]]
name = "alone"
chemistry = "LFP"
cells_in_series = 4
rated_capacity_Ah = 100
capacity_fraction = 0.9
[[load]]
name = "lamps"
current_A = 10
active_h = [[0.5, 4.0], [{again}, 16]]
"""


def bench(folder, again):
    """Return the log of a test paused from 4 h on, and the Ah by the ledger."""
    file = folder / "bench.toml"
    file.write_text(BENCH.format(again=again))
    result = simulate(read_scenario(file))
    frame = timeline_frame(result, jumps=False)
    noise = np.random.default_rng(3).normal(0.0, 1.0, (2, len(frame)))
    columns = (frame[f"alone.{name}"].to_numpy() for name in ("voltage_V", "current_A"))
    volts, amperes = (
        one + step * n for one, step, n in zip(columns, (3e-3, 0.02), noise, strict=True)
    )
    log = Log("bench.csv", frame["time_s"].to_numpy(), volts, amperes)
    return log, result.batteries[0].delivered_Ah


def ask(log, **words):
    wanted = Wanted((), "LFP")
    return evaluate_tests([log], ["a"], Question(rated_Ah=89.0, wanted=wanted, **words))[0]


@pytest.mark.parametrize("again", [4.2, 4.5, 5.0])
@pytest.mark.parametrize("each", [False, True])
def test_a_pause_takes_nothing_from_the_count(tmp_path, again, each):
    log, given_Ah = bench(tmp_path, again)
    answer = ask(log, each=each)
    (trial,) = answer.trials
    assert trial.counted.Ah.value == approx(given_Ah, abs=0.3)  # half a sample at each edge
    assert trial.counted.hours_on == approx(given_Ah / 10.0, abs=0.05)
    assert trial.not_full == ""
    assert answer.measured.together.word is not Word.NOT_MET


def test_a_log_that_begins_half_way_proves_nothing_against_a_label(tmp_path):
    log, given_Ah = bench(tmp_path, 4.5)
    for begin_h in (4.3, 5.0):  # in the pause, and under load
        part = log.part(int(np.searchsorted(log.time_s, begin_h * 3600.0)), log.count)
        answer = ask(part)
        (trial,) = answer.trials
        assert trial.counted.Ah.value < 0.65 * given_Ah
        assert "a full LFP battery of 4 cells stands above" in trial.not_full
        assert answer.measured.together.word is Word.UNDECIDED
