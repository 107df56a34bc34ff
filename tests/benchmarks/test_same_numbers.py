"""Numbers are the same bits however they are computed here, and near the shipped ones elsewhere."""

import json

import pytest

from benchmarks.answers import FILE, REMAKE, SCENARIOS, TOLERANCE, answer_of, differences
from benchmarks.same_bits import digests, elsewhere, unlike

SHIPPED = json.loads(FILE.read_text(encoding="utf-8"))


def test_threads_restarts_and_a_new_process_give_the_same_bits():
    here = digests()
    assert len(here) == 8
    assert len({one for name, one in here.items() if name.startswith("run")}) == 4
    assert unlike(here, {"a new process": elsewhere()}) == []


def test_other_bits_are_seen():
    here = {"run a": "1", "study, 1 threads": "2", "study, 2 threads": "3"}
    there = here | {"run a": "4"}
    assert unlike(here, {"there": there}) == ["study, 2 threads", "there: run a"]


@pytest.mark.parametrize("file", sorted(SCENARIOS.glob("*.toml")), ids=lambda file: file.stem)
def test_shipped_answers_of_all_scenarios(file):
    right = SHIPPED["answers"][file.stem]
    told = differences(answer_of(file), right, SHIPPED["tolerance"])
    assert told == [], f"if this is meant: {REMAKE}"


def test_shipped_answers_say_how_they_are_remade():
    assert SHIPPED["remake"] == REMAKE
    assert SHIPPED["tolerance"] == TOLERANCE
    assert SHIPPED["answers"].keys() == {file.stem for file in SCENARIOS.glob("*.toml")}


@pytest.mark.parametrize(
    ("change", "word"),
    [
        (lambda one: one.update(bank_Ah=one["bank_Ah"] * 1.0001), "bank, Ah"),
        (lambda one: one["events"][0].__setitem__(0, one["events"][0][0] + 30.0), "trip"),
        (lambda one: one["events"].reverse(), "order"),
        (lambda one: one.update(end_reason="another"), "another reason"),
    ],
)
def test_changed_answers_are_seen(change, word):
    right = SHIPPED["answers"]["weak-cell"]
    found = json.loads(json.dumps(right))
    assert differences(found, right, TOLERANCE) == []
    change(found)
    assert any(word in line for line in differences(found, right, TOLERANCE))
