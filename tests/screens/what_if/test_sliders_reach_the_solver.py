"""What a slider changes is what the same change in the text of the scenario does."""

import numpy as np
import pytest
from play_banks import CURVE, DRAFTS, TABLE_ONLY, TWO_LFP
from pytest import approx

from bankSim.errors import ScenarioError
from bankSim.scenario.draft import Draft
from bankSim.scenario.read import parse_scenario
from bankSim.screens.room import folder_of_tables
from bankSim.screens.what_if.knob import with_spread
from bankSim.screens.what_if.outcome import bench_of
from bankSim.sim.run import simulate

USUAL_RULES = """
[[battery.protection]]
watches = "lowest cell voltage"
trips_below = 2.8
after_s = 5.0
blocks = "discharge"
releases_above = 2.9
release_after_s = 30.0
release_needs = "charging"
[[battery.protection]]
watches = "highest cell voltage"
trips_above = 3.65
after_s = 1.0
blocks = "charge"
releases_below = 3.45
release_after_s = 1.0
release_needs = "nothing"
[[battery.protection]]
watches = "discharge current"
trips_above = 150.0
after_s = 1.0
blocks = "discharge"
releases_below = 60.0
release_after_s = 5.0
release_needs = "load removed"
[[battery.protection]]
watches = "temperature"
trips_below = 0.0
after_s = 1.0
blocks = "charge"
releases_above = 3.0
release_after_s = 1.0
release_needs = "nothing"
[[battery.protection]]
watches = "temperature"
trips_above = 65.0
after_s = 1.0
blocks = "discharge"
releases_below = 50.0
release_after_s = 1.0
release_needs = "nothing"
"""
OLD = 'name = "old"\n'
NEW = 'name = "new"\n'
EMPTY_CELLS = "[[battery.cells]]\n"


def swapped(*pairs):
    """Return the text of two batteries with some pieces replaced, each of which is there."""
    text = TWO_LFP
    for old, new in pairs:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


LEADS = "lead = { length_m = 0.8, area_mm2 = 25, joints = 2 }\n"
CASES = {
    "cell of new lower": (
        {"below/0/2": 6.5},
        swapped((LEADS, f"{LEADS}cells = [{{}}, {{}}, {{ state_of_charge = 0.935 }}, {{}}]\n")),
    ),
    "cell of old lower still": (
        {"below/1/1": 8.0},
        swapped(("state_of_charge = 0.97", "state_of_charge = 0.92")),
    ),
    "cell of old caught up": (
        {"below/1/1": 0.0},
        swapped(("state_of_charge = 0.97", "state_of_charge = 1.0")),
    ),
    "old starts lower, cells apart as before": (
        {"charge/1": 80.0},
        swapped(
            (OLD, f"{OLD}state_of_charge = 0.8\n"),
            ("state_of_charge = 0.97", "state_of_charge = 0.77"),
        ),
    ),
    "old starts lower and its cell is further down": (
        {"charge/1": 80.0, "below/1/1": 10.0},
        swapped(
            (OLD, f"{OLD}state_of_charge = 0.8\n"),
            ("state_of_charge = 0.97", "state_of_charge = 0.7"),
        ),
    ),
    "health": (
        {"health/1": 65.0},
        swapped(("capacity_fraction = 0.8", "capacity_fraction = 0.65")),
    ),
    "health implied": (
        {"health/0": 90.0},
        swapped((NEW, f"{NEW}capacity_fraction = 0.9\n")),
    ),
    "one cell's capacity": (
        {"capacity/1/1": 80.0},
        swapped(("state_of_charge = 0.97", "state_of_charge = 0.97\ncapacity_Ah = 32.0")),
    ),
    "one cell's capacity follows health": (
        {"capacity/1/1": 80.0, "health/1": 60.0},
        swapped(
            ("capacity_fraction = 0.8", "capacity_fraction = 0.6"),
            ("state_of_charge = 0.97", "state_of_charge = 0.97\ncapacity_Ah = 24.0"),
        ),
    ),
    "resistance": (
        {"resistance/1": 3.2},
        swapped(("resistance_factor = 1.5", "resistance_factor = 3.2")),
    ),
    "lead by length": ({"lead/0": 2.5}, swapped(("length_m = 0.8", "length_m = 2.5"))),
    "lead by copper": ({"copper/0": 6.0}, swapped(("area_mm2 = 25", "area_mm2 = 6"))),
    "lead by resistance": ({"lead/1": 6.0}, swapped(("lead_mohm = 2.2", "lead_mohm = 6.0"))),
    "load": ({"load/0": 75.0}, swapped(("power_W = 50.0", "power_W = 75.0"))),
    "temperature": (
        {"temperature": -3.0},
        swapped(("temperature_C = 20.0", "temperature_C = -3.0")),
    ),
    "limit": ({"limit/1/0": 2.9}, swapped(("trips_below = 2.6", "trips_below = 2.9"))),
    "delay": ({"delay/1/0": 43.0}, swapped(("after_s = 3.0", "after_s = 43.0"))),
    "implied limit": (
        {"limit/0/0": 2.8},
        swapped((LEADS, f"{LEADS}{USUAL_RULES}")),
    ),
    "inside": ({"inside/1": 7.0}, swapped((OLD, f"{OLD}internal_mohm = 7.0\n"))),
    "main": ({"main": 4.0}, swapped(("[[load]]", "[wiring]\nmain_mohm = 4.0\n[[load]]"))),
}


def alike(one, other):
    """Hold two results against each other, digit by digit but for rounding of what was written."""
    assert one.trace.shape == other.trace.shape
    assert np.allclose(one.trace, other.trace, rtol=1e-9, atol=1e-9)
    assert [event.what for event in one.events] == [event.what for event in other.events]
    assert one.bank.delivered_Ah == approx(other.bank.delivered_Ah, rel=1e-10)
    assert {caution.topic for caution in one.cautions} == {c.topic for c in other.cautions}


@pytest.mark.parametrize("case", CASES)
def test_a_slider_does_what_the_text_does(case):
    settings, text = CASES[case]
    bench = bench_of(DRAFTS["two LFP"])
    draft = Draft(text)
    found = simulate(bench.variant(settings))
    alike(found, simulate(parse_scenario(text, folder_of_tables(draft))))
    before = simulate(bench.scenario)
    same = found.trace.shape == before.trace.shape and np.allclose(found.trace, before.trace)
    assert not same  # each of them makes a difference


@pytest.mark.parametrize(
    ("settings", "pairs"),
    [
        ({"loads": 150.0}, [("current_A = 4.0", "current_A = 6.0"), ("= 6.0\na", "= 4.0\na")]),
        (
            {"load/0": 5.0, "loads": 50.0},
            [("current_A = 4.0", "current_A = 2.5"), ("= 6.0\na", "= 12.0\na")],
        ),
        (
            {"resistance/0": 200.0},
            [("ohmic_mohm = 0.8", "ohmic_mohm = 1.6"), ("{ mohm = 0.3", "{ mohm = 0.6")],
        ),
        ({"link": 1.2}, [("link_mohm = 0.3", "link_mohm = 1.2")]),
        ({"main": 3.0}, [("length_m = 1.0", "length_m = 3.0")]),
        ({"main copper": 10.0}, [("area_mm2 = 50", "area_mm2 = 10")]),
        ({"health/0": 75.0}, [("value = 40.0", "value = 30.0")]),
        (
            {"health/1": 75.0},
            [("rated_capacity_Ah = 30.0", "rated_capacity_Ah = 30.0\ncapacity_fraction = 0.75")],
        ),
        (
            {"charge/0": 69.0},
            [("{ low = 0.9, high = 0.94 }", "{ value = 0.69, low = 0.675, high = 0.705 }")],
        ),
    ],
)
def test_banks_of_tables_too(settings, pairs):
    text = TABLE_ONLY
    for old, new in pairs:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    draft = Draft(text, (("curve.csv", CURVE),))
    written = parse_scenario(text, folder_of_tables(draft))
    alike(simulate(bench_of(DRAFTS["table only"]).variant(settings)), simulate(written))


@pytest.mark.parametrize("case", CASES)
def test_what_is_put_into_the_bank_runs_the_same(case):
    settings, _ = CASES[case]
    bench = bench_of(DRAFTS["two LFP"])
    put = bench.changed_draft(settings)
    written = parse_scenario(put.text, folder_of_tables(put))
    alike(simulate(bench.variant(settings)), simulate(written))
    again = bench_of(put)
    percent_of_now = any(key.startswith("capacity/") for key in settings)
    for key, value in settings.items():
        if not percent_of_now:
            assert again.knobs[key].start == approx(value)


def fault(bench, settings):
    """Return what is wrong with a scenario; nothing where it is sound."""
    try:
        bench.variant(settings)
    except ScenarioError as error:
        return str(error)
    return ""


def test_every_slider_of_every_bank_gives_a_sound_scenario_at_both_ends():
    for draft in DRAFTS.values():
        bench = bench_of(draft)
        for knob in bench.knobs.values():
            assert [fault(bench, {knob.key: end}) for end in (knob.low, knob.high)] == ["", ""]


def test_a_spread_goes_along():
    assert with_spread({"value": 40.0, "sd": 1.0}, 50.0, (0.0, 100.0)) == {"value": 50.0, "sd": 1.0}
    moved = with_spread({"low": 0.9, "high": 0.94}, 0.46, (0.0, 1.0))
    assert moved == {"value": 0.46, "low": 0.45, "high": 0.47}
    assert with_spread({"low": 0.9, "high": 0.94}, 1.0, (0.0, 1.0)) == 1.0
    assert with_spread(7, 8.0, (0.0, 10.0)) == 8.0
