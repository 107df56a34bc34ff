"""Two scenarios on the same draws: what is the same cancels, what differs is left."""

import numpy as np
import pytest
from pytest import approx
from straight_banks import AROUND, Stores, battery, counting, load, part_given, rows_of, scenario

from bankSim.study import versus as question
from bankSim.study.blocks import Workers, threads
from bankSim.study.spread import LEAST_DRAWS, Precision
from bankSim.study.statistics import chance, mean, percentile
from bankSim.study.uniforms import Sampling

SPREAD, MORE = "{ value = 100.0, sd = 3.0 }", "{ value = 110.0, sd = 3.0 }"
FUSED = "lead = { length_m = 0.1, area_mm2 = 16, joints = 0, fuse_A = 40 }\n"


@pytest.fixture(autouse=True)
def _few_stories(monkeypatch):
    """Draws in full take most of the time."""
    monkeypatch.setattr(question, "TRACED_DRAWS", 5)


def versus(one, other, *, workers=None, most=100, **more):
    if workers is not None:
        return question.study_versus(one, other, workers, most=most, **more)
    with threads(2) as own:
        return question.study_versus(one, other, own, most=most, **more)


@pytest.fixture(scope="module")
def two(tmp_path_factory):
    """Two batteries that hold about 100 Ah each."""
    return scenario(
        tmp_path_factory.mktemp("two"), battery("a", SPREAD), battery("b", SPREAD), load()
    )


@pytest.fixture(scope="module")
def larger(tmp_path_factory):
    """The same, but "b" holds 10 Ah more."""
    return scenario(
        tmp_path_factory.mktemp("larger"), battery("a", SPREAD), battery("b", MORE), load()
    )


@pytest.fixture(scope="module")
def renamed(tmp_path_factory):
    """The larger one, with other names."""
    return scenario(
        tmp_path_factory.mktemp("renamed"), battery("x", SPREAD), battery("y", MORE), load()
    )


def column(draws, name):
    return draws.column(name).astype(float)


def test_a_scenario_against_itself_is_nothing(two):
    found = versus(two, two)
    for one in (*found.differences, found.hardest):
        points = [number for p in one.difference.percentiles for number in (p.value, p.low, p.high)]
        assert points == [0.0] * 15
        assert (one.mean.value, one.mean.low, one.mean.high) == (0.0, 0.0, 0.0)
        assert (one.larger.value, one.smaller.value) == (0.0, 0.0)
    assert rows_of(found.one.store) == rows_of(found.other.store)
    assert (found.shared, found.alone) == (len(found.one.plan.unknowns), (0, 0))
    assert found.differences[0].one.percentiles[4].value > found.differences[0].one.central


def test_ten_Ah_more_are_ten_Ah_more_in_every_draw(two, larger):
    # closed form: capacities add up; of the last 10 Ah all but the part behind the resistance
    found = versus(two, larger)
    bank, hours = found.differences
    Ah = column(found.other, "bank.delivered_Ah") - column(found.one, "bank.delivered_Ah")
    assert Ah == approx(10.0 * part_given(5.0), abs=0.01)
    assert bank.mean.value == approx(10.0, abs=0.01)
    assert (bank.difference.central, hours.difference.central) == approx((10.0, 2.0), abs=0.01)
    assert (bank.larger.value, bank.smaller.value) == (1.0, 0.0)
    assert found.shared == 2


def test_bands_are_those_of_the_tables(two, larger):
    found = versus(two, larger)
    one, other = (column(draws, "bank.delivered_Ah") for draws in (found.one, found.other))
    bank = found.differences[0]
    for band, values in ((bank.one, one), (bank.other, other), (bank.difference, other - one)):
        assert band.percentiles == tuple(percentile(values, p) for p in (5, 25, 50, 75, 95))
    assert bank.mean == mean(other - one)
    first = found.one.column("first_cut_out")
    assert found.batteries[1].first[0] == chance(int((first == 2).sum()), first.size)


def test_a_renamed_battery_shares_nothing_and_blurs_the_difference(two, larger, renamed):
    paired, unpaired = versus(two, larger), versus(two, renamed)
    assert (paired.shared, paired.alone) == (2, (0, 0))
    assert (unpaired.shared, unpaired.alone) == (0, (2, 2))
    sharp, blurred = (one.differences[0] for one in (paired, unpaired))
    assert sharp.mean.half_width < 0.01 * blurred.mean.half_width
    # own count: four capacities of 3 Ah make 6 Ah
    Ah = column(unpaired.other, "bank.delivered_Ah") - column(unpaired.one, "bank.delivered_Ah")
    assert Ah.std() == approx(6.0, rel=0.15)
    assert blurred.mean.low < 10.0 < blurred.mean.high
    # the same law on both sides: either alone is as wide with any names
    assert blurred.other.percentiles[2].value == approx(sharp.other.percentiles[2].value, rel=0.02)


def test_the_same_unknown_with_a_wider_spread(tmp_path):
    # closed form: 100 + 1 z against 100 + 3 z leaves 2 z
    one, other = (
        scenario(tmp_path, battery("a", f"{{ value = 100.0, sd = {sd} }}"), load()) for sd in (1, 3)
    )
    found = versus(one, other)
    of_one, of_other = (column(draws, "a.delivered_Ah") for draws in (found.one, found.other))
    assert of_other - of_one == approx(2.0 * (of_one - 100.0), abs=0.03)
    assert (found.shared, found.differences[0].larger.value) == (1, approx(0.5, abs=0.06))


@pytest.mark.parametrize("sampling", Sampling)
def test_what_only_one_side_has_moves_nothing_of_the_other(tmp_path, sampling):
    # leads change nothing of the Ah of one battery; their spread must not shift its capacity
    one = scenario(tmp_path, battery("a", SPREAD), load())
    spread = "lead_mohm = { value = 1.0, sd = 0.3 }\n"
    other = scenario(tmp_path, battery("a", SPREAD, more=spread), load())
    for pair, alone in (((one, other), (0, 1)), ((other, one), (1, 0))):
        found = versus(*pair, sampling=sampling)
        assert (found.shared, found.alone) == (1, alone)
        of_one, of_other = (column(draws, "a.delivered_Ah") for draws in (found.one, found.other))
        assert of_one.std() > 2.0
        assert of_other == approx(of_one, rel=1e-6)


def test_a_battery_that_one_side_does_not_have(two, tmp_path):
    third = scenario(
        tmp_path, battery("b", SPREAD), battery("c", SPREAD), battery("a", SPREAD), load()
    )
    found = versus(two, third)
    assert [one.name for one in found.batteries] == ["a", "b", "c"]
    a, b, c = found.batteries
    assert c.first[0] is c.delivered[0] is c.peak[0] is None
    assert c.delivered[1].percentiles[2].value == approx(100.0, abs=1.0)
    # "a" stands third there: its chance must not be that of the first
    first = found.other.column("first_cut_out")
    assert [one.first[1].value for one in (b, c, a)] == [np.mean(first == n) for n in (1, 2, 3)]
    assert (found.shared, found.alone) == (2, (0, 1))
    assert found.differences[0].mean.value == approx(100.0, abs=1.0)


def test_the_hardest_current_is_that_of_the_most_loaded_battery(tmp_path):
    # by hand: 8 A from one battery against 8 A shared by two alike
    unfused = {"more": "lead_mohm = 50.0\n"}
    rated = [battery(name, 100.0, **unfused) for name in ("a", "b")]
    one = scenario(tmp_path, rated[0], load("8.0"))
    other = scenario(tmp_path, *rated, load("8.0"))
    found = versus(one, other)
    assert found.hardest.one.percentiles[2].value == approx(8.0)
    assert found.hardest.other.percentiles[2].value == approx(4.0, rel=1e-6)
    assert found.hardest.smaller.value == 1.0
    a, b = found.batteries
    assert [band.percentiles[2].value for band in a.peak] == approx([8.0, 4.0], rel=1e-6)
    assert b.peak[0] is None


def test_what_the_last_one_carries_alone_is_not_the_hardest_current(tmp_path):
    # by hand: with little resistance the cells stay at the same state of charge, so they share 8 A
    # by capacity; the small one, behind the same lead, is out first and leaves all to the other
    parts = [battery("a", 40.0, more="lead_mohm = 1.0\n"), battery("b", 100.0)]
    whole = scenario(tmp_path, *parts, load("8.0"))
    found = versus(whole, whole)
    last = found.batteries[1].peak[0].percentiles[2].value
    hardest = found.hardest.one.percentiles[2].value
    assert last == approx(8.0, rel=1e-6)
    assert hardest == approx(8.0 * 100.0 / 140.0, rel=0.02)


def test_loads_fed_to_the_end(tmp_path):
    # by hand: 5 A for 10 h are 50 Ah, which 100 Ah give and 40 Ah do not
    short = AROUND.replace("duration_h = 200.0", "duration_h = 10.0")
    small, large = (
        scenario(tmp_path, battery("a", f"{{ value = {Ah}, sd = 1.0 }}"), load(), around=short)
        for Ah in (40.0, 100.0)
    )
    found = versus(small, large)
    assert [one.value for one in found.fed] == [0.0, 1.0]


def test_without_loads_the_charge_taken_in_is_compared(tmp_path):
    # by hand: 4 h of 10 A are 40 Ah, of 15 A 60 Ah; the empty bank has room for 100
    charger = '[[charger]]\nname = "mains"\nlimit_A = {}\nhold_V = 3.6\n'
    short = AROUND.replace("duration_h = 200.0", "duration_h = 4.0")
    empty = battery("a", SPREAD).replace("ocv_table", "state_of_charge = 0.0\nocv_table")
    one, other = (
        scenario(tmp_path, empty, charger.format(amperes), around=short) for amperes in (10, 15)
    )
    found = versus(one, other)
    charged, hours = found.differences
    # both still charge evenly when the run ends: 95 % of 4 h
    assert hours.one.percentiles[2].value == approx(3.8, rel=1e-3)
    assert hours.other.percentiles[2].value == approx(3.8, rel=1e-3)
    assert [one.happenings.still_charging.value for one in found.traced] == [1.0, 1.0]
    assert charged.answer is question.CHARGED
    assert (charged.mean.value, charged.larger.value) == approx((20.0, 1.0), rel=1e-3)
    (a,) = found.batteries
    assert [band.percentiles[2].value for band in a.charged] == approx([40.0, 60.0], rel=1e-3)


def test_hours_until_loads_stay_off_are_compared(tmp_path):
    # 5 A from 3.5 V at 1 V for 100 Ah: 3.0 V after 50 Ah, 2.75 V after 75: 10 and 15 h, and so
    # long the only load is fed
    cut = "cut_off_V = {}\ncut_off_after_s = 0.0\n"
    long = AROUND.replace("duration_h = 200.0", 'duration_h = 60.0\nstop = "end"')
    one, other = (
        scenario(tmp_path, battery("a", SPREAD), load() + cut.format(V), around=long)
        for V in (3.0, 2.75)
    )
    found = versus(one, other)
    _, fed, hours = found.differences
    assert hours.answer is question.UNTIL_OFF
    assert fed.answer is question.RUNTIME
    assert fed.mean.value == approx(hours.mean.value, rel=0.1)  # of all draws
    medians = [band.percentiles[2].value for band in (hours.one, hours.other)]
    assert medians == approx([10.0, 15.0], rel=0.1)  # of 5 draws, capacity 3 %, a drop of 25 mV
    assert hours.larger.value == 1.0
    assert [one.value for one in found.fed] == [0.0, 0.0]


def test_cautions_of_both_sides(tmp_path):
    bare = scenario(tmp_path, battery("a", SPREAD), load())
    fused = scenario(tmp_path, battery("a", SPREAD, more=FUSED), load())
    found = versus(bare, fused)
    one, other = ({c.topic: c.chance.value for c in traced.cautions} for traced in found.traced)
    assert one["no fuse at a battery"] == 1.0
    assert "no fuse at a battery" not in other
    assert [traced.fan.draws for traced in found.traced] == [5, 5]


def test_it_goes_on_until_the_difference_is_known(two, renamed):
    # 6 Ah of scatter: the ends need thousands of draws for 0.4 % of 200 Ah, the first look 400
    precision = Precision(0.004, 0.05)
    seen = []
    found = versus(
        two, renamed, most=5000, precision=precision, progress=lambda *told: seen.append(told[1:])
    )
    assert found.reached
    assert seen[0] == (LEAST_DRAWS, 5000)
    assert LEAST_DRAWS < seen[-1][0] < 5000
    assert [done for done, _ in seen] == sorted(done for done, _ in seen)
    widths = [point.half_width for point in found.differences[0].difference.percentiles[::2]]
    assert max(widths) <= 0.004 * 200.0 * 1.01
    assert found.differences[0].larger.half_width <= 0.05


def test_the_most_draws_are_told_when_they_do_not_do(two, renamed):
    assert not versus(two, renamed, most=50, precision=Precision(1e-5, 1e-3)).reached


def test_both_sides_are_kept_and_gone_on_with(two, larger, tmp_path):
    marched, stores = [], Stores(tmp_path)
    with threads(1) as pool:
        workers = Workers(pool.executor, 1, counting(marched))
        first = versus(two, larger, workers=workers, store_of=stores)
        assert list(stores.kept) == ["one", "other"]
        assert sorted(marched) == sorted(2 * list(range(first.one.blocks)))
        again = versus(two, larger, workers=workers, store_of=Stores(tmp_path))
    assert len(marched) == 2 * first.one.blocks
    assert repr(again.differences) == repr(first.differences)


def test_one_and_two_threads_find_the_same(two, renamed):
    found = []
    for count in (1, 2):
        with threads(count) as workers:
            found.append(versus(two, renamed, workers=workers, seed=3))
    assert repr(found[0].differences) == repr(found[1].differences)
    assert found[0].traced[1].cautions == found[1].traced[1].cautions


def test_no_more_draws_than_allowed(two, larger):
    assert versus(two, larger, most=100).one.count == 100
