"""What is wrong with a draft, place by place."""

import pytest

from bankSim.errors import ScenarioError
from bankSim.scenario.draft import Draft
from bankSim.screens import answers
from bankSim.screens.answers import Checked

PLACES = (
    (("battery", 0, "name"), "a"), (("battery", 0), "b"), (("battery", 1, "name"), "c"),
    (("load",), "d"),
)  # fmt: skip


@pytest.mark.parametrize(
    ("path", "here", "below"),
    [
        ((), (), ("a", "b", "c", "d")), (("battery",), (), ("a", "b", "c")),
        (("battery", 0), ("b",), ("a", "b")), (("battery", 0, "name"), ("a",), ("a",)),
        (("load", 0), (), ()),
    ],
)  # fmt: skip
def test_faults_are_found_at_their_place_and_below_it(path, here, below):
    found = Checked(None, ("a", "b", "c", "d"), PLACES)
    assert found.at(path) == here
    assert found.below(path) == below


def test_a_draft_with_a_fault_has_no_scenario(monkeypatch):
    monkeypatch.setattr(answers, "checked", lambda draft: Checked(None, ("wrong",), PLACES[:1]))
    with pytest.raises(ScenarioError) as told:
        answers.scenario_of(Draft(""))
    assert (told.value.faults, told.value.places) == (["wrong"], PLACES[:1])
