"""A draw is the same to the bit, whoever marches it, when, and together with which others."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from hybrid_draws import assert_same_rows, drawn, hybrid_study, hybrid_unknowns
from simple_banks import affine, bank_of, steady
from study_texts import LFP, LOAD, read

import bankSim
from bankSim.scenario.read import read_scenario
from bankSim.scenario.record import Scenario
from bankSim.sim.engine import Engine
from bankSim.sim.run import result_of, simulate
from bankSim.study.blocks import run_draws, threads
from bankSim.study.ensemble import STUDY_TOLERANCE, Ensemble
from bankSim.study.outcomes import battery_column, stacked
from bankSim.study.plan import make_plan
from bankSim.study.store import Memory

SHIPPED = sorted((Path(bankSim.__file__).parents[1] / "scenarios").glob("*.toml"))
HYBRIDS = range(200, 206)
CHARGED = (
    LFP
    + "state_of_charge = 0.2\n"
    + LOAD.replace("250", "30")
    + '[simulation]\nstop = "end"\nduration_h = 2\n'
    + '[[charger]]\nname = "mains"\nhold_V = 14.0\n'
)


@cache
def shipped_study(file):
    scenario = read_scenario(file)
    plan = make_plan(scenario)
    return Ensemble(scenario, plan.unknowns), plan.values(0, 3)


@cache
def hybrid_and_values(seed):
    study = hybrid_study(seed)
    return study, drawn(study.unknowns, 4)


# every shipped scenario and some hybrids, each made when it is needed
STUDIES = [
    *(pytest.param(lambda file=file: shipped_study(file), id=file.stem) for file in SHIPPED),
    *(pytest.param(lambda n=n: hybrid_and_values(n), id=f"hybrid {n}") for n in HYBRIDS),
]


@pytest.mark.parametrize("make", STUDIES)
def test_alone_or_together(make):
    study, values = make()
    together = study.evaluate(values, 7)
    alone = [study.evaluate(values[[row]], 7 + row) for row in range(len(values))]
    assert_same_rows(stacked(alone), together)
    backwards = [study.evaluate(values[[row]], 7 + row) for row in range(len(values))[::-1]]
    assert_same_rows(stacked(backwards[::-1]), together)


@pytest.mark.parametrize("make", STUDIES)
def test_a_story_has_the_numbers_of_its_draw(make):
    study, values = make()
    table = study.evaluate(values)
    for row in range(len(values)):
        story = study.story_of(values[[row]], row)
        assert story.bank.delivered_Ah == table["bank.delivered_Ah"][row]
        assert story.end_time_s / 3600.0 == table["bank.end_h"][row]
        assert story.numerics.relative_tolerance == study.tolerance
        for one in story.batteries:
            assert one.delivered_Ah == table[battery_column(one.name, "delivered_Ah")][row]
            assert one.charged_Ah == table[battery_column(one.name, "charged_Ah")][row]
            cut = one.first_cut_out
            time_h = table[battery_column(one.name, "cut_out_h")][row]
            assert np.isnan(time_h) if cut is None else cut.time_s / 3600.0 == time_h


@pytest.mark.parametrize("make", STUDIES)
def test_the_central_draw_is_a_single_run(make):
    study, _ = make()
    row = study.evaluate(middle_of(study))
    bank = study.scenario.bank
    engine = Engine(bank, STUDY_TOLERANCE)
    assert_same_numbers(row, result_of(study.scenario, engine.finish()))
    assert_same_numbers(row, simulate(study.scenario, relative_tolerance=STUDY_TOLERANCE))


def middle_of(study):
    return np.array([[unknown.spread.value for unknown in study.unknowns]])


def assert_same_numbers(row, result):
    assert row["bank.delivered_Ah"][0] == result.bank.delivered_Ah
    assert row["bank.delivered_Wh"][0] == result.bank.delivered_Wh
    assert row["bank.end_h"][0] == result.end_time_s / 3600.0
    for one in result.batteries:
        assert row[battery_column(one.name, "delivered_Ah")][0] == one.delivered_Ah
        assert row[battery_column(one.name, "charged_Ah")][0] == one.charged_Ah
        assert row[battery_column(one.name, "peak_discharge_A")][0] == one.peak_discharge_A


def test_the_central_draw_of_a_long_timeline():
    study, _ = shipped_study(SHIPPED[0].with_name("winter-hut.toml"))
    run = simulate(study.scenario, relative_tolerance=STUDY_TOLERANCE)
    assert_same_numbers(study.evaluate(middle_of(study)), run)


def test_the_story_of_a_long_timeline():
    bank = bank_of(affine("a"), affine("b", 0.007), load=steady(1.0), duration_s=230_000.0,
                   output_every_s=1.0)  # fmt: skip
    study = Ensemble(Scenario("long", bank), hybrid_unknowns(bank))
    values = drawn(study.unknowns, 1)
    story = study.story_of(values, 0)
    assert story.bank.delivered_Ah == study.evaluate(values)["bank.delivered_Ah"][0]


@pytest.mark.parametrize(
    "limit",
    [
        "limit_A = { value = 30.0, sd = 5.0 }",
        "limit_W = { value = 400.0, sd = 50.0 }",
        'sun = { peak_W = { value = 400.0, sd = 50.0 }, rise = "00:00", set = "04:00" }',
    ],
    ids=lambda limit: limit[:7],
)
def test_a_charger_with_a_spread_in_several_portions(limit, tmp_path):
    # each portion is marched in the arrays that the one before has left behind
    scenario = read(CHARGED + limit, tmp_path)
    plan = make_plan(scenario)
    study, values = Ensemble(scenario, plan.unknowns), plan.values(0, 4)
    together = study.evaluate(values)
    assert_same_rows(stacked([study.evaluate(values[[n]], n) for n in range(4)]), together)
    assert together["lithium.charged_Ah"].std() > 1.0


@pytest.mark.parametrize("name", ["coffee-cart", "holds-back"])
@pytest.mark.parametrize(("count", "block"), [(1, 12), (2, 3), (2, 5), (3, 1)])
def test_any_number_of_threads_and_any_block(name, count, block):
    scenario = read_scenario(SHIPPED[0].with_name(f"{name}.toml"))
    assert_same_in_blocks(replace(make_plan(scenario), block=block), count)


def test_rewritten_draws_on_any_number_of_threads(tmp_path):
    text = LFP + "mass_kg = { value = 11, sd = 1 }\n" + LOAD
    plan = make_plan(read(text, tmp_path))
    for count, block in ((1, 12), (2, 3), (3, 1)):
        assert_same_in_blocks(replace(plan, block=block), count)


def assert_same_in_blocks(plan, count):
    """March a dozen draws and more, in blocks on threads, and all at once."""
    store = Memory()
    with threads(count) as workers:
        draws = run_draws(plan, 12, workers, store)
    whole = Ensemble(plan.scenario, plan.unknowns).evaluate(plan.values(0, draws.count))
    assert_same_rows({name: draws.column(name) for name in whole}, whole)


def test_one_ensemble_on_many_threads():
    study, values = hybrid_and_values(HYBRIDS[0])
    alone = [study.evaluate(values, n) for n in range(8)]
    with ThreadPoolExecutor(4) as executor:
        found = list(executor.map(lambda n: study.evaluate(values, n), range(8)))
    for one, other in zip(found, alone, strict=True):
        assert_same_rows(one, other)
