"""What matters in small banks whose answers follow from few numbers."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from pytest import approx
from scipy.stats import binomtest

from bankSim.errors import ParameterError
from bankSim.scenario.read import parse_scenario
from bankSim.study.advice import advice
from bankSim.study.answers import RUNTIME, Answer, answer_of
from bankSim.study.blocks import Workers, threads
from bankSim.study.groups import Group, groups_of
from bankSim.study.matters import study_matters
from bankSim.study.plan import Plan, make_plan, march_block
from bankSim.study.screening import Effects
from bankSim.study.store import Folder, StudyError
from bankSim.study.unknown import Kind

CURVE = "state_of_charge,voltage_V\n0,2.5\n1,3.5\n"
AROUND = "[simulation]\nduration_h = 200.0\n[surroundings]\ntemperature_C = 25.0\n"
BATTERY = """
[[battery]]
name = "{name}"
cells_in_series = {cells}
lead_mohm = {lead}
internal_mohm = 0.0
[battery.cell]
ocv_table = "curve.csv"
capacity_Ah = {capacity}
ohmic_mohm = 0.01
[[battery.protection]]
watches = "lowest cell voltage"
trips_below = 2.5
after_s = 0.0
blocks = "discharge"
"""
LOAD = """
[[load]]
name = "lamp"
current_A = {current}
"""


def battery(name="a", cells=1, lead="1.0", capacity="100.0"):
    return BATTERY.format(name=name, cells=cells, lead=lead, capacity=capacity)


def plan_of(tmp_path, *batteries, current="5.0", seed=1) -> Plan:
    (tmp_path / "curve.csv").write_text(CURVE)
    text = AROUND + "".join(batteries) + LOAD.format(current=current)
    scenario = parse_scenario(text, tmp_path, "bank.toml")
    return replace(make_plan(scenario, seed=seed), block=50)


def study(plan, answer=RUNTIME, **more):
    more = {"base": 64, "trajectories": 4, **more}
    with threads(2) as workers:
        return study_matters(plan, workers, answer, **more)


def plain(result):
    """What two equal studies have in common, as text."""
    return repr((result.draws, result.mean, result.sd, result.matters, result.rest,
                 result.dropped, result.to_measure))  # fmt: skip


CAPACITY, LEAD, CURRENT = 'cell.capacity_Ah of "a"', 'lead_mohm of "a"', 'current_A of "lamp"'


@pytest.fixture(scope="module")
def lamp(tmp_path_factory) -> Plan:
    """A capacity known to 2 %, a current known to 5 %, a lead that hardly counts."""
    one = battery(lead="{ value = 1.0, sd = 0.2 }", capacity="{ value = 100.0, sd = 2.0 }")
    return plan_of(tmp_path_factory.mktemp("lamp"), one, current="{ value = 5.0, sd = 0.25 }")


@pytest.fixture(scope="module")
def of_lamp(lamp):
    return study(lamp, base=256)


def test_runtime_depends_on_load_and_capacity_as_their_quotient_tells(of_lamp):
    # t = C / I: relative variances add up, 0.02^2 and 0.05^2, to first order in both
    load, capacity = 0.05**2, 0.02**2
    one, two = of_lamp.matters
    assert (one.group.name, two.group.name) == (CURRENT, CAPACITY)
    assert one.first.value == approx(load / (load + capacity), abs=0.03)
    assert one.total.value == approx(load / (load + capacity), abs=0.03)
    assert two.first.value == approx(capacity / (load + capacity), abs=0.03)
    assert of_lamp.sd.value == approx(20.0 * math.hypot(0.05, 0.02), rel=0.04)
    assert of_lamp.mean.value == approx(20.0 * (1.0 + 0.05**2), rel=0.005)
    assert of_lamp.central == approx(20.0, rel=1e-3)


def test_the_range_is_that_of_the_answers_of_both_sets(of_lamp):
    # 100 Ah (1 + 0.02 x) / 5 A (1 + 0.05 y) with normal x, y, by many independent draws
    x, y = np.random.default_rng(5).standard_normal((2, 200_000))
    wanted = np.percentile(20.0 * (1.0 + 0.02 * x) / (1.0 + 0.05 * y), (5.0, 50.0, 95.0))
    points = of_lamp.seen.percentiles
    assert of_lamp.seen.count == 2 * 256
    assert [points[place].value for place in (0, 2, 4)] == approx(list(wanted), abs=0.15)


def test_mu_star_of_the_load_follows_from_its_quantiles(of_lamp):
    # E |t(u + 0.6) - t(u)| / 0.6 over u in 0 to 0.4, t = 20 / (1 + 0.05 z); six walks of a half
    from scipy.special import ndtri

    u = (np.arange(4000) + 0.5) / 10_000
    change = 20.0 / (1.0 + 0.05 * ndtri(u)) - 20.0 / (1.0 + 0.05 * ndtri(u + 0.6))
    assert of_lamp.matters[0].mu_star == approx(change.mean() / 0.6, rel=0.25)


def test_what_does_not_count_is_dropped_and_makes_up_the_rest(of_lamp):
    # one battery, a current, a rule that watches a cell: the lead cannot change the time
    assert [(one.group.name, one.mu_star) for one in of_lamp.dropped] == [(LEAD, 0.0)]
    assert (of_lamp.rest.total.value, of_lamp.rest.total.high) == (0.0, 0.0)


def test_measuring_the_load_halves_the_spread(of_lamp):
    # what stays is the capacity's part: 2 % of 20 h
    assert [one.name for one in of_lamp.to_measure.groups] == [CURRENT]
    assert of_lamp.to_measure.remaining_sd.value == approx(0.02 * 20.0, rel=0.05)
    assert of_lamp.to_measure.halves
    assert of_lamp.to_measure.is_verified
    # three groups: walks of 4 rows; A, B, two and the rest; one group needs no more swaps
    assert of_lamp.draws == 4 * 4 + 256 * 5


def test_the_order_of_the_screening_does_not_matter(lamp, of_lamp, monkeypatch):
    places = [[group.name for group in groups_of(lamp.unknowns)].index(n)
              for n in (CAPACITY, CURRENT)]  # fmt: skip
    monkeypatch.setattr(Effects, "kept", lambda self: places)
    assert plain(study(lamp, base=256)) == plain(of_lamp)


@pytest.mark.parametrize("looked_at", [[CAPACITY], [LEAD, CAPACITY]])
def test_what_was_not_looked_at_may_be_too_much(lamp, monkeypatch, looked_at):
    # without the load among them, its 5 % of 20 h stay
    places = [[group.name for group in groups_of(lamp.unknowns)].index(n) for n in looked_at]
    monkeypatch.setattr(Effects, "kept", lambda self: places)
    found = study(lamp, base=256)
    assert [one.name for one in found.to_measure.groups] == [CAPACITY]  # the lead does nothing
    assert not found.to_measure.halves
    assert found.to_measure.remaining_sd.value == approx(0.05 * 20.0, rel=0.05)
    assert found.rest.total.value == approx(0.05**2 / (0.05**2 + 0.02**2), abs=0.03)


def test_two_of_three_loads_need_a_swap_of_their_own(tmp_path):
    # 100 Ah over the sum of three currents: parts of the variance as their squared spreads, 0.45,
    # 0.33 and 0.22; two leave 0.22, less than a quarter, but too near to it to tell without a try
    (tmp_path / "curve.csv").write_text(CURVE)
    parts = {"x": 0.33, "y": 0.45, "z": 0.22}
    loads = "".join(
        LOAD.replace("lamp", name).format(current=f"{{ value = 2.0, sd = {0.2 * part**0.5} }}")
        for name, part in parts.items()
    )
    plan = make_plan(parse_scenario(AROUND + battery() + loads, tmp_path, "bank.toml"))
    seen = []
    found = study(plan, base=256, progress=lambda name, done, total: seen.append((name, total)))
    for one in found.matters:
        assert one.first.value == approx(parts[one.group.subject], abs=0.05)
    assert [one.subject for one in found.to_measure.groups] == ["y", "x"]
    assert found.to_measure.part.value == approx(0.22**0.5, abs=0.03)
    assert ("check", 256) in seen
    assert found.draws == sum(total for _, total in set(seen)) == 4 * 4 + 256 * 5 + 256


def test_equal_batteries_matter_equally(tmp_path):
    # twice four cells of equal spread; the weakest cell of each decides how much it gives
    capacity = '{ value = 50.0, sd = 1.5, cells = "independent" }'
    plan = plan_of(
        tmp_path,
        battery("a", 4, capacity=capacity),
        battery("b", 4, capacity=capacity),
        current="10.0",
    )
    found = study(plan, answer_of("bank", plan.scenario.bank), base=256)
    assert {len(one.group.labels) for one in found.matters} == {4}
    one, two = found.matters
    assert one.first.value == approx(two.first.value, abs=0.08)
    assert one.total.value == approx(two.total.value, abs=0.08)
    assert one.total.value + two.total.value == approx(1.0, abs=0.1)
    # the mean of the smallest of four standard normal numbers is -1.0294 (tables, from memory)
    assert found.mean.value == approx(2.0 * (50.0 - 1.0294 * 1.5), abs=0.2)


def test_same_seed_same_result_whatever_the_blocks(lamp, of_lamp):
    again = study(replace(lamp, block=37), base=256)
    assert plain(again) == plain(of_lamp)
    with threads(1) as workers:
        other = study_matters(lamp, workers, RUNTIME, base=256, trajectories=4, seed=2)
    assert plain(other) != plain(of_lamp)
    assert (again.seed, other.seed) == (1, 2)


def test_passes_are_kept_and_gone_on_with(lamp, of_lamp, tmp_path):
    names, marched = [], []

    def store_of(name, description):
        names.append(name)
        return Folder(tmp_path / name, description)

    def march(plan, number):
        marched.append(number)
        return march_block(plan, number)

    with threads(1) as workers:
        counting = Workers(workers.executor, 1, march)
        first = study_matters(lamp, counting, RUNTIME, store_of=store_of, base=128, trajectories=4)
        once = len(marched)
        second = study_matters(lamp, counting, RUNTIME, store_of=store_of, base=128, trajectories=4)
        assert len(marched) == once == 1 + 13  # blocks of 50 for 16 and 640 rows
        # points go on and on: twice as many use what is there
        third = study_matters(lamp, counting, RUNTIME, store_of=store_of, base=256, trajectories=4)
        assert len(marched) == once + 26 - 13
        # another answer finds other groups to matter, and has its walks already
        bank = answer_of("bank", lamp.scenario.bank)
        study_matters(lamp, counting, bank, store_of=store_of, base=64, trajectories=4)
    assert len(marched) == once + 26 - 13 + 6  # A, B, the capacity, the rest: 256 rows
    assert names[0::2] == ["screening"] * 4
    assert [name[:8] for name in names[1::2]] == ["indices-"] * 4
    assert len(set(names[1::2])) == 2
    assert plain(first) == plain(second)
    assert plain(third) == plain(of_lamp)


def test_progress_ends_with_all_that_is_wanted(lamp):
    seen = []
    study(lamp, progress=lambda *told: seen.append(told))
    assert [one for one in seen if one[1] == one[2]] == [("screening", 16, 16),
                                                         ("indices", 320, 320)]  # fmt: skip
    assert all(0 < done <= total for _, done, total in seen)
    assert len(seen) == 1 + 7  # blocks of 50


def test_a_chance_as_answer(tmp_path):
    # who cuts out first hangs on both capacities alike, and on both together
    capacity = "{ value = 50.0, sd = 1.0 }"
    plan = plan_of(
        tmp_path,
        battery("a", lead="500.0", capacity=capacity),
        battery("b", lead="500.0", capacity=capacity),
        current="10.0",
    )
    found = study(plan, answer_of("first:a", plan.scenario.bank), base=128)
    assert found.walks == 16
    assert found.mean.value == approx(0.5, abs=0.1)
    # the sign of x - y of equal normal x, y: known x, the mean is uniform in (0, 1): 1/12 of 1/4
    first, total = 1 / 3, 2 / 3
    for one in found.matters:
        assert one.first.value == approx(first, abs=0.15)
        assert one.total.value == approx(total, abs=0.15)
    assert len(found.to_measure.groups) == 2
    # so many of 256 cases, with Wilson's interval from SciPy
    wilson = binomtest(round(256 * found.mean.value), 256).proportion_ci(method="wilson")
    assert (found.mean.low, found.mean.high) == approx((wilson.low, wilson.high), abs=1e-9)


def test_a_good_guess_needs_no_measuring(tmp_path):
    # a gives 100 Ah and b 104.8 Ah, each known to 2 Ah: the difference is normal, sd 2.83 Ah, and
    # above 0 in 95.5 of 100 cases (tables of the normal distribution: 1.70 sd)
    capacity = "{{ value = {}, sd = 2.0 }}"
    plan = plan_of(
        tmp_path,
        battery("a", lead="500.0", capacity=capacity.format(100.0)),
        battery("b", lead="500.0", capacity=capacity.format(104.8)),
        current="10.0",
    )
    seen = []
    answer = answer_of("first:a", plan.scenario.bank)
    found = study(plan, answer, base=256, progress=lambda name, *_: seen.append(name))
    assert found.mean.value == approx(0.955, abs=0.02)
    assert found.is_sure
    assert found.to_measure is None
    assert "check" not in seen


def test_nothing_moves_an_answer_that_is_always_the_same(lamp):
    found = study(lamp, answer_of("first:a", lamp.scenario.bank))
    assert found.nothing_moves
    assert (found.mean.value, found.sd.high, found.central) == (1.0, 0.0, 1.0)
    assert found.to_measure is None
    assert [one.mu_star for one in found.dropped] == [0.0] * 3
    assert found.draws == 16 * 4  # no indices are looked for


def test_an_answer_that_some_draws_do_not_have_is_refused(tmp_path):
    # 100 Ah over 0.5 A are the whole 200 h: half of the draws end before the battery cuts out
    plan = plan_of(tmp_path, battery(capacity="{ value = 100.0, sd = 2.0 }"), current="0.5")
    cut_out = Answer("cut", 'hours until "a" cuts out', "h", "a.cut_out_h")
    with pytest.raises(
        StudyError, match=r'^matters: hours until "a" cuts out: \d of 8 draws'
    ) as no:
        study(plan, cut_out)
    assert "\n" not in str(no.value)


def test_nothing_unknown_and_too_little_work_are_refused(lamp, tmp_path):
    with pytest.raises(StudyError, match="nothing is unknown"):
        study(plan_of(tmp_path, battery()))
    with pytest.raises(ParameterError, match="base = 4"):
        study(lamp, base=4)
    with pytest.raises(ParameterError, match="trajectories = 1"):
        study(lamp, trajectories=1)


def test_groups_hold_every_unknown_once():
    scenario = Path(__file__).parents[2] / "scenarios" / "weak-cell.toml"
    text = scenario.read_text()
    plan = make_plan(parse_scenario(text, scenario.parent, "weak-cell.toml"))
    groups = groups_of(plan.unknowns)
    places = [place for group in groups for place in group.columns]
    assert sorted(places) == list(range(len(plan.unknowns)))
    by_name = {group.name: group for group in groups}
    cells = by_name['capacities of the cells of "good"']
    assert (cells.kind, cells.subject) == (Kind.CELL_CAPACITY, "good")
    assert cells.keys == tuple(f"battery[1].cells[{n}].capacity_Ah" for n in (1, 2, 3, 4))
    assert len(by_name['capacities of the cells of "weak"'].columns) == 3  # one is given


@pytest.mark.parametrize("kind", [kind for kind in Kind if kind is not Kind.KEY])
def test_advice_for_every_kind_names_what_it_is_about(kind):
    text = advice(Group("x", kind, "old", ("label",), ("key",), (0,)))
    of_the_bank = (Kind.LINK, Kind.MAIN, Kind.TEMPERATURE)
    assert ('"old"' in text) == (kind not in of_the_bank)
    assert "{" not in text
    assert not text.endswith(".")
    assert text[0].islower()


@pytest.mark.parametrize(
    ("kind", "key", "write"),
    [
        (Kind.CAPACITY, "battery[2].capacity_fraction", "write battery[2].capacity_fraction"),
        (Kind.CELL_CAPACITY, "battery[2].cells[1].capacity_Ah", "each cell as battery[2].cells"),
        (Kind.LIMITS, "battery[1].protection[3].trips_below", "rules as battery[1].protection"),
        (Kind.LEAD, "battery[1].lead", "battery[1].lead_mohm in place of battery[1].lead"),
        (Kind.LOAD, "load[3].power_W", "write load[3].power_W with the spread"),
        (Kind.MAIN, "wiring.main", "write wiring.main_mohm"),
        (Kind.STANDING, "battery[1].cell (self-discharge)", "fill it again"),
    ],
)
def test_advice_ends_with_what_to_write_into_the_file(kind, key, write):
    text = advice(Group("x", kind, "old", ("label",), (key,), (0,)))
    assert write in text
    assert ("then write" in text) == (kind is not Kind.STANDING)


def test_what_advice_writes_is_a_key_of_the_file(tmp_path):
    # each key that advice names is taken by the reader as written
    (tmp_path / "curve.csv").write_text(CURVE)
    own = """
capacity_fraction = 0.9
state_of_charge = 0.9
internal_mohm = 1.0
lead_mohm = 1.0
diode_drop_V = 0.6
[battery.cell]
ohmic_mohm = 1.0
hysteresis_mV = 5.0
relaxation = [{ mohm = 1.0, time_constant_s = 60.0 }]
"""
    start = '[wiring]\nlayout = "same end"\nlink_mohm = 0.1\nmain_mohm = 1.0\n'
    packs = "".join(
        f'[[battery]]\nname = "{name}"\nchemistry = "LFP"\ncells_in_series = 4\n'
        f"rated_capacity_Ah = 100.0\n{own}"
        for name in "ab"
    )
    load = "[[load]]\npower_W = { value = 50.0, sd_percent = 1 }\n"
    text = AROUND + start + packs + load
    assert parse_scenario(text, tmp_path, "bank.toml").bank.batteries[0].lead_ohm == approx(1e-3)


@pytest.mark.parametrize(
    ("key", "labels", "words"),
    [
        ("battery[1].capacity_fraction", 1, "count the Ah"),
        ("battery[1].cell.capacity_Ah", 1, "count the Ah"),
        ("battery[1].cell.capacity_Ah", 4, "lowest cell"),
        ("battery[1].cells[3].capacity_Ah", 1, "lowest cell"),
        ("battery[1].cells[3].ohmic_mohm", 1, "every cell voltage"),
        ("battery[2].lead_mohm", 1, "over both leads"),
        ("load[1].current_A", 1, "while it runs"),
        ("battery[1].balancer.current_A", 1, "find out battery[1].balancer.current_A"),
        ("charger[1].stages[1].hold_V", 1, "at which it holds"),
        ("wiring.link.length_m", 1, "find out wiring.link.length_m"),
    ],
)
def test_advice_for_a_key_is_that_of_its_kind_and_names_it(key, labels, words):
    group = Group(key, Kind.KEY, "old", ("label",) * labels, (key,), tuple(range(labels)))
    assert words in advice(group)
    assert key in advice(group)
