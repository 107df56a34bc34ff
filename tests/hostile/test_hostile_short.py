"""A short form of ``python -m tests.hostile``: some hundred files, always the same ones."""

import random

import pytest
from hypothesis import HealthCheck, given, settings

from tests.hostile import strategies
from tests.hostile.cases import KINDS, Case, make_case, numbers_of
from tests.hostile.judge import FINDING, RAN, Verdict, judge
from tests.hostile.make_low_banks import low_bank
from tests.hostile.oversee import Overseer, table_of
from tests.hostile.refusals import of_curve, of_log, of_scenario

SEED = 20
SHORT = {
    "scenarios": 25, "logs": 30, "tables": 150, "profiles": 150, "banks": 2, "commands": 3,
}  # fmt: skip


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("hostile")


@pytest.mark.filterwarnings("ignore::RuntimeWarning")
@pytest.mark.parametrize("kind", KINDS)
def test_damaged_files_are_refused_in_words_or_run(kind, folder):
    found = []
    for number in range(SHORT[kind]):
        verdict = judge(make_case(kind, SEED, number), folder)
        found += [(number, verdict.words, verdict.more)] * (verdict.outcome == FINDING)
    assert found == []


@pytest.mark.filterwarnings("ignore::RuntimeWarning")
def test_banks_near_empty_beside_chargers_run(folder):
    for seed in (29, 45, 102, 158, 244):  # a network that went round in circles had no number here
        bank = low_bank(random.Random(f"low/{seed}"))
        verdict = judge(Case("banks", 0, seed, bank), folder)
        assert verdict.outcome == RAN, verdict.more


@pytest.mark.filterwarnings("ignore::RuntimeWarning")
@pytest.mark.parametrize(
    ("kind", "file", "contents"),
    [
        ("tables", "table.csv", strategies.CURVES),
        ("profiles", "profile.csv", strategies.PROFILES),
        ("logs", "log.csv", strategies.LOGS),
    ],
)
def test_any_sheet_is_refused_in_words_or_read(kind, file, contents, folder):
    @settings(max_examples=60, deadline=None, derandomize=True,
              suppress_health_check=list(HealthCheck))  # fmt: skip
    @given(contents)
    def check(content):
        verdict = judge(Case(kind, 0, 0, {file: content}), folder)
        assert verdict.outcome != FINDING, verdict.more

    check()


def test_a_case_is_always_the_same():
    for kind in KINDS:
        assert make_case(kind, 3, 7) == make_case(kind, 3, 7)
        assert make_case(kind, 3, 7) != make_case(kind, 3, 8)
    assert len(set(numbers_of("all", 500))) == 500


@pytest.mark.parametrize(
    ("judged", "line"),
    [
        (of_scenario, "bank.toml: something is odd"),
        (of_scenario, "bank.toml:3: battery[1].lead_mohm = -1"),
        (of_scenario, "elsewhere.toml:3: battery[1].lead_mohm = -1; expected 0 to 9"),
        (of_scenario, "bank.toml:3: a\nb = 1; expected 2"),
        (of_log, "row 3: voltage_V = x; expected a number"),
        (of_curve, "voltage_V = x; expected a number"),
    ],
)
def test_a_refusal_that_lacks_something_is_noticed(judged, line):
    arguments = {of_scenario: ([line], "bank.toml"), of_log: (line, "log.csv"), of_curve: (line,)}
    assert judged(*arguments[judged])


@pytest.mark.parametrize(("trouble", "words"), [("hang", "hang"), ("death", "the process died")])
def test_a_worker_that_hangs_or_dies_is_a_finding_and_the_rest_goes_on(
    trouble, words, monkeypatch, tmp_path
):
    def judged(case, folder):
        while case.number == 1:
            if trouble == "death":
                __import__("os")._exit(1)
        return Verdict("refused")

    monkeypatch.setattr("tests.hostile.work.judge", judged)
    if trouble == "hang":
        monkeypatch.setattr("tests.hostile.oversee.LIMIT_S", 2.0)
    monkeypatch.setattr("tests.hostile.oversee.WALL", 200.0)
    tally = Overseer("profiles", 4, 0, tmp_path).run()
    assert tally.sorts == {("profiles", "finding", words): 1}
    assert tally.of("profiles", "refused") == 3
    assert (tmp_path / "finding" / "profiles-0-1" / "profile.csv").exists()
    assert "profiles          4" in table_of(tally)
