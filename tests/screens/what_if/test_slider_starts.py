"""Where every slider stands at first is what the solver uses, read from the built bank here."""

import pytest
from play_banks import DRAFTS, many
from pytest import approx

from bankSim.scenario.read import parse_scenario
from bankSim.screens.room import folder_of_tables
from bankSim.screens.what_if.outcome import bench_of


def used(bank, keys, knob):
    """Read from the bank, in SI, what a slider is about; give it in the slider's unit."""
    kind, *places = knob.key.split("/")
    places = [int(place) for place in places]
    battery = bank.batteries[places[0]] if places and kind not in ("load", "charger") else None
    if kind == "charge":
        return 100.0 * max(cell.state_of_charge for cell in battery.cells)
    if kind == "below":
        states = [cell.state_of_charge for cell in battery.cells]
        own = states.pop(places[1])
        return 100.0 * (max(states) - own)
    if kind in ("capacity", "loads"):
        return 100.0
    if kind == "health":
        if knob.unit == "% of now":
            return 100.0
        per_label = 1.0 if battery.chemistry in ("LFP", None) else None  # AGM holds more
        held = battery.cells[0].charge_C / battery.rated_C
        return 100.0 * held / per_label if per_label else None
    if kind == "lead":
        return (
            1e3 * battery.lead_ohm if knob.unit == "mΩ" else keys.battery[places[0]].lead.length_m
        )
    if kind == "copper":
        return battery.lead_area_mm2
    if kind == "main copper":
        return bank.wiring.main_area_mm2
    if kind == "link copper":
        return bank.wiring.link_area_mm2
    if kind == "inside":
        return 1e3 * battery.internal_ohm
    if kind == "limit":
        rule = battery.rules[places[1]]
        return rule.threshold - (273.15 if rule.watches.unit == "degC" else 0.0)
    if kind == "delay":
        return battery.rules[places[1]].delay_s
    if kind == "load":
        load = bank.loads[places[0]]
        return 1.0 / load.profile_amount[0] if knob.unit == "Ω" else load.profile_amount[0]
    if kind == "charger":
        charger = bank.chargers[places[0]]
        if knob.unit == "A":
            return charger.limit_A
        return charger.sun.peak_W if charger.sun else charger.limit_W
    if kind == "temperature":
        return bank.temperature_K - 273.15
    if kind == "link":
        return 1e3 * bank.wiring.link_ohm
    if kind == "main" and knob.unit == "mΩ":
        return 1e3 * bank.wiring.main_ohm
    return None


@pytest.mark.parametrize("kind", DRAFTS)
def test_starts_are_what_the_solver_uses(kind):
    draft = DRAFTS[kind]
    scenario = parse_scenario(draft.text, folder_of_tables(draft))
    bench = bench_of(draft)
    told = 0
    for knob in bench.knobs.values():
        found = used(scenario.bank, scenario.keys, knob)
        if found is not None:
            assert knob.start == approx(found, rel=1e-8, abs=1e-8), knob.key
            told += 1
        assert knob.low <= knob.start <= knob.high, knob.key
        steps = (knob.start - knob.low) / knob.step
        assert steps == approx(round(steps), abs=1e-4), knob.key  # the grid passes through it
    assert told >= len(bench.knobs) - 3


def test_resistance_starts_at_the_written_factor():
    bench = bench_of(DRAFTS["two LFP"])
    old, new = bench.scenario.bank.batteries[1], bench.scenario.bank.batteries[0]
    part = float(old.cells[0].ohmic_ohm(0.5) / new.cells[0].ohmic_ohm(0.5))
    # resistance x rated capacity is the same for new cells of one chemistry
    assert bench.knobs["resistance/1"].start == approx(part * 50.0 / 60.0, rel=1e-9)
    assert bench.knobs["resistance/0"].start == 1.0


def test_nothing_moved_writes_nothing():
    for draft in [*DRAFTS.values(), many(3)]:
        bench = bench_of(draft)
        assert bench.edits({key: knob.start for key, knob in bench.knobs.items()}) == {}


def test_only_sensible_sliders():
    alone, charging = (bench_of(DRAFTS[name]).knobs for name in ("lead-acid alone", "charge only"))
    table = bench_of(DRAFTS["table only"]).knobs
    assert not alone["lead/0"].main  # a lead shares no current when there is no other
    assert "loads" not in charging
    assert "load/0" not in charging
    assert charging["charger/0"].main
    assert charging["charger/1"].unit == "W"
    assert "temperature" not in table  # nothing in such a bank minds it
    assert "limit/0/0" not in table  # no rules without a chemistry
    assert table["resistance/0"].unit == "% of now"
    assert "link" in table
    assert "link" not in charging
    assert table["loads"].main
    assert not table["load/0"].main


def test_many_batteries_have_all_their_sliders():
    bench = bench_of(many())
    assert sum(key.startswith("below/") for key in bench.knobs) == 64 * 4
