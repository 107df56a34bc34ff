"""Two scenarios whose loads or chargers differ are told so; names do not count."""

from pathlib import Path
from types import SimpleNamespace

import pytest

from bankSim.scenario.read import parse_scenario
from bankSim.show.versus_unlike import unlike

BANK = """
title = "One"
[[battery]]
name = "a"
chemistry = "LFP"
cells_in_series = 4
rated_capacity_Ah = 100.0
[[load]]
name = "lamp"
power_W = 60.0
[[charger]]
name = "shore"
limit_A = 10.0
stages = [{ hold_V = 14.2 }]
"""
BOTH = "Their loads and chargers differ, too: that is part of every difference told here."


def side(text):
    return SimpleNamespace(plan=SimpleNamespace(scenario=parse_scenario(text, Path.cwd(), "made")))


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("rated_capacity_Ah = 100.0", "rated_capacity_Ah = 120.0", []),
        ('"lamp"', '"light"', []),
        ('"shore"', '"mains"', []),
        ("60.0", "61.0", [BOTH.replace("loads and chargers", "loads")]),
        (
            "60.0",
            "60.0\ndaily = [{ from = '18:00', to = '23:00' }]",
            [BOTH.replace("loads and chargers", "loads")],
        ),
        ("14.2", "14.4", [BOTH.replace("loads and chargers", "chargers")]),
        ("60.0\n[[charger]]", "61.0\n[[load]]\nname = 'b'\npower_W = 1.0\n[[charger]]", None),
    ],
)
def test_what_differs_beside_the_batteries(old, new, told):
    assert old in BANK
    found = unlike(SimpleNamespace(one=side(BANK), other=side(BANK.replace(old, new))))
    assert found == ([BOTH.replace("loads and chargers", "loads")] if told is None else told)


def test_both_differ():
    other = BANK.replace("60.0", "70.0").replace("10.0\n", "20.0\n")
    assert unlike(SimpleNamespace(one=side(BANK), other=side(other))) == [BOTH]
