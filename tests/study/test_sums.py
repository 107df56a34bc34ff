"""The bank and the sum of its batteries: every step has one cause, told by hand."""

import numpy as np
import pytest
from pytest import approx
from straight_banks import LEAD, battery, load, part_given, scenario

from bankSim.errors import ParameterError
from bankSim.study.blocks import Workers, threads
from bankSim.study.plan import make_plan, march_block
from bankSim.study.spread import PERCENTS
from bankSim.study.statistics import percentile
from bankSim.study.store import StudyError
from bankSim.study.sums import study_sums

SPREAD = "{ value = 100.0, sd = 3.0 }"
BARE = "lead_mohm = 0.0\n"
ROW = '[wiring]\nlayout = "same end"\nlink_mohm = 1.0\nmain_mohm = 2.0\n'
WORDS = ["labels", "held", "equal cells", "alone", "no leads", "bank"]


def sums(folder, *parts, draws=6, count=2, **more):
    plan = make_plan(scenario(folder, *parts), **more)
    with threads(count) as workers:
        return study_sums(plan, workers, draws=draws)


def middles(found):
    """The median of every step in Ah, by its word."""
    return {part.word: part.Ah.percentiles[2].value for part in found.parts}


def changes(found):
    return {one.word: one.change.percentiles[2].value for one in found.parts if one.change}


def cell(**keys):
    return "[[battery.cells]]\n" + "".join(f"{key} = {value}\n" for key, value in keys.items())


def test_changes_are_taken_draw_by_draw(tmp_path):
    # own count from the raw rows: a median of changes is no difference of medians
    rows = []

    class Kept:
        """Runs at once and keeps what came out."""

        def submit(self, work, *more):
            rows.append(work(*more))
            return type("Done", (), {"result": lambda _, row=rows[-1]: row})()

    plan = make_plan(
        scenario(tmp_path, ROW, battery("a", SPREAD, cells=2), battery("b", SPREAD), load("30.0"))
    )
    found = study_sums(plan, Workers(Kept(), 1, march_block), draws=5)
    middle, drawn = rows[0], np.array(rows[1:])
    assert [part.word for part in found.parts] == WORDS
    for number, part in enumerate(found.parts):
        assert part.Ah.central == middle[number]
        own = tuple(percentile(drawn[:, number], p) for p in PERCENTS)
        assert part.Ah.percentiles == own
        if number:
            steps = drawn[:, number] - drawn[:, number - 1]
            assert part.change.percentiles == tuple(percentile(steps, p) for p in PERCENTS)
            assert part.change.central == middle[number] - middle[number - 1]
    assert found.parts[0].change is None
    # the rows: six sums, then four numbers of each of two batteries
    assert drawn.shape == (5, 6 + 4 * 2)
    assert drawn[:, 3] == approx(drawn[:, 6:8].sum(axis=1))
    assert drawn[:, 5] == approx(drawn[:, 8:10].sum(axis=1))


def test_parallel_capacities_add(tmp_path):
    # closed form: straight equal curves, next to no resistance: the bank gives what both hold
    found = sums(tmp_path, battery("a", SPREAD, rated=105.0), battery("b", SPREAD), load())
    Ah = middles(found)
    assert Ah["labels"] == approx(205.0)
    assert Ah["alone"] == approx(Ah["held"] * part_given(2.5), rel=1e-5)
    assert Ah["bank"] == approx(Ah["alone"], abs=0.05)
    assert changes(found)["no leads"] == approx(0.0, abs=0.05)


def test_equal_cells_that_are_equal_change_nothing(tmp_path):
    found = sums(tmp_path, battery("a", 100.0, cells=4), battery("b", 80.0, cells=4), load())
    parts = {part.word: part for part in found.parts}
    assert parts["alone"].Ah.percentiles == parts["equal cells"].Ah.percentiles
    assert parts["alone"].Ah.central == parts["equal cells"].Ah.central
    assert changes(found)["alone"] == 0.0


def test_a_bank_without_wiring_has_nothing_to_lose_there(tmp_path):
    found = sums(tmp_path, battery("a", SPREAD, more=BARE), battery("b", SPREAD, more=BARE), load())
    change = found.parts[-1].change
    assert [point.value for point in change.percentiles] == [0.0] * 5
    assert (found.parts[-1].word, change.central) == ("bank", 0.0)


def test_a_long_lead_costs_what_its_voltage_takes(tmp_path):
    # closed form: rules watch the cell, not the lead: two equal batteries lose nothing, however
    # unequal their leads, but current runs on through the nearer one until both are empty
    near, far = battery("near", 100.0), battery("far", 100.0, more="lead_mohm = 100.0\n")
    found = sums(tmp_path, near, far, load())
    assert changes(found)["bank"] == approx(0.0, abs=0.02)
    assert middles(found)["bank"] == approx(200.0, abs=0.05)


def test_a_weak_cell_strands_what_the_others_hold_above_it(tmp_path):
    # by hand: cells of 100, 100, 100 and 80 Ah: 95 Ah held on average, 80 Ah come out, and the
    # other three are left with 20 Ah each, 15 Ah on average
    cells = cell() * 3 + cell(capacity_Ah=80.0)
    found = sums(tmp_path, battery("weak", 100.0, cells=4, below=cells), load())
    Ah = middles(found)
    assert (Ah["labels"], Ah["held"]) == approx((100.0, 95.0))
    assert Ah["equal cells"] == approx(95.0, abs=0.01)
    assert Ah["alone"] == approx(80.0, abs=0.01)
    (one,) = found.batteries
    assert one.locked.percentiles[2].value == approx(15.0, abs=0.01)
    assert one.left.percentiles[2].value == approx(0.0, abs=0.01)
    assert one.alone.percentiles[2].value == approx(Ah["alone"])


def test_a_cell_that_starts_lower_strands_the_same_way(tmp_path):
    # by hand: one of four starts at 0.9: 97.5 Ah held, 90 Ah come out, 7.5 Ah are left on average
    cells = cell() * 3 + cell(state_of_charge=0.9)
    found = sums(tmp_path, battery("low", 100.0, cells=4, below=cells), load())
    assert changes(found)["held"] == approx(-2.5)
    assert changes(found)["equal cells"] == approx(0.0, abs=0.01)
    assert changes(found)["alone"] == approx(-7.5, abs=0.01)


def test_equal_cells_are_equal_in_resistance_too(tmp_path):
    # by hand: one of four resists with 100 mohm: 0.5 V under 5 A, so half of the charge stays in;
    # four of 25 mohm would leave an eighth
    cells = cell() * 3 + cell(ohmic_mohm=100.0)
    found = sums(tmp_path, battery("a", 100.0, cells=4, ohmic=0.0, below=cells), load())
    assert middles(found)["alone"] == approx(50.0, abs=0.01)
    assert middles(found)["equal cells"] == approx(87.5, abs=0.01)


def test_a_limit_above_empty_takes_its_part_before_the_cut_out(tmp_path):
    # by hand: cut out at 2.6 V, the lowest tenth of the charge stays in
    found = sums(tmp_path, battery("a", 100.0).replace("below = 2.5", "below = 2.6"), load())
    assert changes(found)["equal cells"] == approx(-10.0, abs=0.01)
    assert found.batteries[0].left.percentiles[2].value == approx(10.0, abs=0.01)


def test_chargers_are_left_out_and_long_runs_are_let_run(tmp_path):
    # 5 A empty 200 Ah in 40 h: the run of 10 h is let go on, and its charger never helps
    charger = '[[charger]]\nname = "sun"\nlimit_A = 4.0\nhold_V = 3.6\n'
    text = (battery("a"), battery("b"), load(), charger)
    there = scenario(tmp_path, *text, around="[simulation]\nduration_h = 10.0\n")
    with threads(1) as workers:
        found = study_sums(make_plan(there), workers, draws=3)
    assert middles(found)["bank"] == approx(200.0, abs=0.05)


@pytest.mark.parametrize(("amperes", "told"), [(10.0, []), (60.0, ["discharge above label"])])
def test_the_dangers_are_those_of_the_run_without_chargers(amperes, told, tmp_path):
    # labels of 20 A each: the charger of 90 A passes them, which the sums leave out
    charger = '[[charger]]\nname = "mains"\nlimit_A = 90.0\nhold_V = 3.6\n'
    label = LEAD + "continuous_charge_A = 20.0\ncontinuous_discharge_A = 20.0\n"
    half = "state_of_charge = 0.5\n"
    parts = (battery(name, more=label + half) for name in "ab")
    found = sums(tmp_path, *parts, load(amperes), charger, draws=2)
    assert sorted({one.topic for one in found.dangers}) == told


def test_threads_and_seeds(tmp_path):
    parts = battery("a", SPREAD, cells=2), battery("b", SPREAD), load()
    one, two, other = (
        sums(tmp_path, *parts, count=count, seed=seed) for count, seed in ((1, 4), (2, 4), (2, 5))
    )
    assert repr(one.parts) == repr(two.parts)
    assert repr(one.batteries) == repr(two.batteries)
    assert repr(one.parts) != repr(other.parts)


def test_progress_ends_with_all_draws(tmp_path):
    seen = []
    plan = make_plan(scenario(tmp_path, battery("a", SPREAD), load()))
    with threads(2) as workers:
        study_sums(plan, workers, draws=4, progress=lambda *told: seen.append(told))
    assert seen == [("draws", done, 4) for done in (0, 1, 2, 3, 4)]


@pytest.mark.parametrize("draws", [0, 10_001])
def test_too_many_draws_are_refused_before_any_work(tmp_path, draws):
    with pytest.raises(ParameterError, match=rf"^draws = {draws}; expected 1 to 10,000"):
        sums(tmp_path, battery("a"), load(), draws=draws)


def test_one_draw_is_enough_for_a_sum(tmp_path):
    found = sums(tmp_path, battery("a", SPREAD), battery("b"), load(), draws=1)
    assert found.draws == 1
    assert len({point.value for point in found.parts[-1].Ah.percentiles}) == 1


def test_a_single_battery_has_no_step_of_sharing(tmp_path):
    found = sums(tmp_path, battery("a", SPREAD), load())
    assert [part.word for part in found.parts] == [word for word in WORDS if word != "no leads"]
    assert not any("each" in part.text or "one bank" in part.text for part in found.parts)
    assert changes(found)["bank"] == approx(0.0, abs=0.01)


@pytest.mark.parametrize(
    ("more", "said"),
    [("", "the scenario has no load"), (load("0.001"), "do not empty the bank")],
)
def test_a_sum_without_meaning_is_refused_in_one_line(tmp_path, more, said):
    with pytest.raises(StudyError, match=f"^sums: .*{said}") as told:
        sums(tmp_path, battery("a", 100.0), battery("b", 100.0), more)
    assert len(str(told.value).splitlines()) == 1
