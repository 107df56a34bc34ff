"""Runs that need more work than they are given: they end in one line that says why."""

import pickle
from dataclasses import replace

import numpy as np
import pytest
from scenario_texts import COMES_AND_GOES, LFP
from simple_banks import affine, affine_cell, bank_of, battery, run, steady

from bankSim.kernels import arrays as k
from bankSim.model.rule import Rule, Watch
from bankSim.model.upkeep import Balancer, Balancing
from bankSim.scenario.read import parse_scenario
from bankSim.show.energy import energy_section
from bankSim.sim import balancing, giving_up
from bankSim.sim.engine import Engine
from bankSim.sim.giving_up import GivenUpError, check_work, most_events
from bankSim.sim.joining import join
from bankSim.sim.run import parts_of, result_of, simulate
from bankSim.sim.summary import summarise

H = 3600.0
LOAD = "[[load]]\ncurrent_A = 8.0\nduty = { on_min = 0.3, off_min = 0.3 }\n"
HEAD = "[simulation]\nduration_h = 30.0\nstop = 'end'\n"


def helped(kind=Balancing.TRANSFER):
    cells = [affine_cell(1e-4, Ah, 1.0, base=3.2, span=0.4) for Ah in (10.0, 9.0)]
    one = battery("a", *cells, rules=[Rule(Watch.LOWEST_CELL, True, 3.2)])
    one = replace(one, balancer=Balancer(kind, 2.0, within_V=0.0))
    return bank_of(one, load=steady(1.0), duration_s=30 * H)


def test_too_many_steps_end_a_run_in_one_line():
    engine = Engine(bank_of(affine("a"), load=steady(1.0), duration_s=50 * H))
    with pytest.raises(GivenUpError) as caught:
        engine.finish(most_steps=3)
    line = str(caught.value)
    assert line.startswith("simulation.duration_h = 50: given up ")
    assert "h after the start, after 3 steps (of at most 3); expected a shorter duration_h" in line
    assert line.isprintable()
    again = pickle.loads(pickle.dumps(caught.value))  # from a process of its own
    assert str(again) == line


def test_a_large_bank_looks_up_more_often_and_gets_to_the_same_end():
    few, many = (
        bank_of(*(affine(f"b{n}", z=0.9) for n in range(count)), load=steady(1.0), duration_s=H)
        for count in (2, 40)
    )
    assert Engine(few).steps_at_once == 20_000
    assert Engine(many).steps_at_once == 20_000 * 16 // 40
    in_pieces, at_once = Engine(few), Engine(few).finish()
    while not in_pieces.go_on(1):
        pass
    assert (in_pieces.trace() == at_once.trace()).all()


def test_too_many_events_name_the_file_and_what_goes_on(tmp_path, monkeypatch):
    monkeypatch.setattr(giving_up, "MOST_EVENTS", 40)
    monkeypatch.setattr(giving_up, "LAST_EVENTS", 20)
    monkeypatch.setattr("bankSim.sim.engine.STEPS_PER_CALL", 50)
    monkeypatch.setattr("bankSim.sim.engine.Engine.go_on", _in_small_pieces)
    scenario = parse_scenario(HEAD + LFP + COMES_AND_GOES + LOAD, tmp_path, "bank.toml")
    with pytest.raises(GivenUpError) as caught:
        simulate(scenario)
    line = str(caught.value)
    assert line.startswith("bank.toml: simulation.duration_h = 30: given up ")
    assert "events (of at most 40); of the last 20 events 10 are of this sort: " in line
    assert '"house" ' in line
    assert line.isprintable()


def test_what_most_of_the_last_events_are(monkeypatch):
    # two hours into 50 h; of the last 10 of 12 events 6 are of the second rule, whose last is told
    monkeypatch.setattr(giving_up, "MOST_EVENTS", 11)
    monkeypatch.setattr(giving_up, "LAST_EVENTS", 10)
    rules = [Rule(Watch.BATTERY_VOLTAGE, True, 12.0), Rule(Watch.DISCHARGE_CURRENT, False, 50.0)]
    bank = bank_of(affine("a", rules=rules), duration_s=50 * H)

    def row(subject, value):
        return np.array([0.0, k.TRIP, subject, -1.0, value, 12.0, 1.0, 1.0, 12.0, 12.0])

    rows = [row(0, 11.0)] * 5 + [row(1, 60.0 + n) for n in range(6)] + [row(0, 11.0)]
    clock = {"time": 2 * H, "steps": 99}
    with pytest.raises(GivenUpError) as caught:
        check_work(bank, clock, rows, 100)
    assert caught.value.why == (
        "given up 2 h after the start, after 12 events (of at most 11); of the last 10 events 6 "
        'are of this sort: "a" blocks discharge: the discharge current read 65.00 A, above the '
        "limit of 50.00 A"
    )
    check_work(bank, clock, rows[:11], 100)
    with pytest.raises(GivenUpError, match=r"after 99 steps \(of at most 99\)"):
        check_work(bank, clock, rows[:3], 99)


def _in_small_pieces(self, steps=50, march=Engine.go_on):
    return march(self, steps)


def test_events_are_bounded_by_the_room_they_take():
    few = bank_of(affine("a"))
    many = bank_of(*(affine(f"b{n}") for n in range(64)))
    assert most_events(few) == giving_up.MOST_EVENTS
    assert most_events(many) == giving_up.MOST_EVENT_NUMBERS // (3 * 64 + 64)


def test_a_run_without_balancers_that_is_given_up_is_told_in_words(monkeypatch):
    monkeypatch.setattr(balancing, "LONGER", 0)
    monkeypatch.setattr(balancing, "AT_LEAST_STEPS", 2)
    result = run(helped())
    gain = result.balancing
    assert (gain.without_Ah, gain.without_runtime_s) == (None, None)
    assert gain.delivered_Ah > 9.0
    assert gain.given_up.startswith("given up ")
    told = " ".join(energy_section(result).lines)
    assert 'What the balancer of "a" wins is not known: the same run without was given up' in told
    assert summarise(result)["balancing"]["without_Ah"] is None


def test_the_run_without_balancers_is_watched_and_can_be_stopped(monkeypatch):
    monkeypatch.setattr("bankSim.sim.engine.STEPS_PER_CALL", 5)
    monkeypatch.setattr("bankSim.sim.engine.Engine.go_on", _five)
    parts = []
    first, second = parts_of(helped(), parts.append)
    engine = Engine(helped()).finish(first)
    had = len(parts)
    assert had
    assert max(parts) <= 0.5
    balancing.balancer_gain(helped(), engine, second)
    assert parts == sorted(parts)
    assert 0.5 <= parts[had] <= parts[-1] <= 1.0

    def stop(part):
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        balancing.balancer_gain(helped(), engine, stop)


def _five(self, steps=5, march=Engine.go_on):
    return march(self, min(steps, 5))


def test_without_balancers_all_of_the_progress_is_that_of_the_one_run():
    told = []
    first, second = parts_of(bank_of(affine("a")), told.append)
    first(0.7)
    second(0.0)  # a sign of life, when the run is over
    assert told == [0.7, 1.0]


def test_the_look_at_joining_can_be_stopped(monkeypatch):
    pair = bank_of(affine("a", z=0.2), affine("b", z=0.9), load=steady(1.0), duration_s=H)
    engine, told = Engine(pair).finish(), []

    def stop(part):
        told.append(part)
        raise KeyboardInterrupt

    assert join(pair, progress=told.append).quiet_after_s is not None
    told.clear()
    scenario = run(pair).scenario
    monkeypatch.setattr(Engine, "go_on", _five)
    with pytest.raises(KeyboardInterrupt):
        result_of(scenario, engine, stop)
    assert told == [0.0]
