"""Keys of the file in the words of people."""

import pytest

from bankSim.scenario.glossary import QUANTITIES
from bankSim.study.group_words import NOUNS, group_words
from bankSim.study.groups import Group
from bankSim.study.unknown import Kind

UNDER_ANOTHER_NAME = {"balancer_current_A": "current_A", "heater_W": "power_W"}


def given(key, subject="old", labels=1):
    name = f'{key.partition(".")[2]} of "{subject}"' if subject else key
    return Group(name, Kind.KEY, subject, ("label",) * labels, (key,), tuple(range(labels)))


@pytest.mark.parametrize(
    ("key", "subject", "labels", "words"),
    [
        ("battery[1].capacity_fraction", "old", 1, 'capacity of "old"'),
        ("battery[1].capacity_fraction", "old", 4, 'capacity of each cell of "old"'),
        ("battery[2].cell.state_of_charge", "old", 1, 'state of charge of the cells of "old"'),
        ("battery[2].cell.state_of_charge", "old", 4, 'state of charge of each cell of "old"'),
        ("battery[2].cells[3].capacity_Ah", "old", 1, 'capacity of cell 3 of "old"'),
        ("battery[1].lead.length_m", "old", 1, 'length of the leads of "old"'),
        ("battery[1].lead_mohm", "old", 1, 'resistance of the leads of "old"'),
        ("battery[1].protection[2].trips_below", "old", 1, 'limit of protection rule 2 of "old"'),
        ("battery[1].balancer.current_A", "old", 1, 'current of the balancer of "old"'),
        ("battery[1].heater.power_W", "old", 1, 'power of the heater of "old"'),
        ("battery[1].cell.relaxation[2].mohm", "old", 1,
         'resistance of relaxation 2 of the cells of "old"'),
        ("load[1].power_W", "cold box", 1, 'power of "cold box"'),
        ("load[1].duty.on_min", "cold box", 1, 'time on of "cold box"'),
        ("charger[1].stages[1].hold_V", "sun", 1, 'voltage held of stage 1 of "sun"'),
        ("surroundings.temperature_C", "", 1, "temperature of the surroundings"),
        ("surroundings.temperature_C.mean_C", "", 1,
         "mean temperature over the day of the surroundings"),
        ("wiring.main.length_m", "", 1, "length of the main cable"),
        ("wiring.link_mohm", "", 1, "resistance of one link"),
        ("wiring.fancy", "", 1, "wiring.fancy"),
    ],
)  # fmt: skip
def test_a_key_is_told_by_what_it_means(key, subject, labels, words):
    assert group_words(given(key, subject, labels)) == words


def test_every_quantity_that_can_have_a_spread_has_words():
    names = {
        UNDER_ANOTHER_NAME.get(name, name)
        for name, quantity in QUANTITIES.items()
        if not (quantity.exact or quantity.whole)
    }
    assert names == set(NOUNS)
    assert not any("_" in words for words in NOUNS.values())


@pytest.mark.parametrize("kind", [kind for kind in Kind if kind is not Kind.KEY])
def test_other_kinds_stand_behind_the(kind):
    group = Group(f'{kind.value} of "old"', kind, "old", ("label",), ("key",), (0,))
    words = group_words(group)
    assert words.endswith(' of "old"')
    assert not words.startswith(("how ", "the "))
