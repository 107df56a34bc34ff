"""The march in parts: watched, stopped, taken up again; and its tolerances."""

import numpy as np
import pytest
from pytest import approx
from random_banks import random_bank
from simple_banks import affine, bank_of, run, steady, stepped

from bankSim.errors import ParameterError, SimulationError
from bankSim.kernels.arrays import SOC
from bankSim.sim.engine import Engine


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("relative_tolerance", 0.0),
        ("relative_tolerance", float("nan")),
        ("relative_tolerance", 0.5),
        ("absolute_tolerance_A", -1.0),
        ("absolute_tolerance_A", 2.0),
    ],
)
def test_tolerances_out_of_range_are_refused(name, value):
    with pytest.raises(ParameterError, match=name):
        run(bank_of(affine()), **{name: value})


def test_a_charge_that_is_no_number_ends_the_run():
    engine = Engine(bank_of(affine(), affine("b"), load=steady(5.0)))
    engine.run.moment[1, SOC] = np.nan
    with pytest.raises(SimulationError, match="please report"):
        engine.finish()


def test_a_tiny_battery_gets_the_finest_tolerance_rather_than_none():
    result = run(bank_of(affine(ohm=1.0, Ah=1e-7), load=steady(1e-8)))
    assert result.bank.delivered_Ah == approx(1e-8, rel=1e-9)
    assert result.numerics.absolute_tolerance_A == 1e-12


def test_progress_rises_and_the_run_can_be_stopped():
    # a load that changes every second makes many steps
    times = np.arange(60_000.0)
    load = stepped(times, 5.0 + np.mod(times, 2.0))
    bank = bank_of(affine("a"), affine("b", 8e-3), load=load, duration_s=60_000.0)
    seen = []
    Engine(bank).finish(seen.append)
    assert len(seen) >= 2
    assert np.all(np.diff(seen) > 0.0)
    assert 0.0 < seen[0] < seen[-1] <= 1.0

    def stop(_):
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        Engine(bank).finish(stop)


def test_a_trace_does_not_change_the_numbers():
    bank = random_bank(7)
    with_trace, without = Engine(bank).finish(), Engine(bank, keep_trace=False).finish()
    assert without.trace().shape[0] == 0
    assert np.array_equal(with_trace.run.tally["out"], without.run.tally["out"])


def test_a_full_log_loses_nothing(monkeypatch):
    bank = random_bank(8)
    whole = Engine(bank).finish().trace()
    monkeypatch.setattr("bankSim.sim.engine.MOST_ROWS", 1)  # the packing makes it the least it can
    parts = Engine(bank).finish().trace()
    grid = parts[parts[:, 1] == 0.0]
    assert np.allclose(grid[:, 0], whole[whole[:, 1] == 0.0][:, 0])
    assert np.array_equal(parts[parts[:, 1] > 0.0][:, 1], whole[whole[:, 1] > 0.0][:, 1])
    assert grid[:, 2] == approx(whole[whole[:, 1] == 0.0][:, 2], abs=1e-3)


def test_the_same_bank_gives_the_same_bits():
    one, two = Engine(random_bank(9)).finish(), Engine(random_bank(9)).finish()
    assert np.array_equal(one.trace(), two.trace())
    assert one.run.tally.tobytes() == two.run.tally.tobytes()


def test_two_threads_at_once_do_not_disturb_each_other():
    from concurrent.futures import ThreadPoolExecutor

    alone = [Engine(random_bank(seed)).finish().trace() for seed in range(4)]
    with ThreadPoolExecutor(4) as pool:
        together = list(pool.map(lambda s: Engine(random_bank(s)).finish().trace(), range(4)))
    for a, b in zip(alone, together, strict=True):
        assert np.array_equal(a, b)


def test_steps_grow_long_where_nothing_happens():
    result = run(bank_of(affine("a"), affine("b"), load=steady(5.0), duration_s=36_000))
    assert result.numerics.steps < 60
    assert result.numerics.forced_steps == 0


def test_a_sampled_log_as_profile():
    # 1 s rows of a noisy current, ten thousand of them: charge is their sum
    rng = np.random.default_rng(4)
    current = 10.0 + 5.0 * rng.standard_normal(10_000)
    load = stepped(np.arange(10_000.0), current)
    result = run(bank_of(affine("a"), affine("b", 9e-3, 60.0), load=load, duration_s=10_000.0))
    net = result.bank.delivered_Ah - result.bank.charged_Ah
    assert net == approx(current.sum() / 3600.0, rel=1e-9)
