"""The comparison's verdicts: right on a sound prediction, against a spoilt one."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from crosscheck_banks import bare_pair, duty_pair, row_of_three, steady, string

from bankSim.crosscheck import compare
from bankSim.crosscheck.compare import choose_step_s, crosscheck
from bankSim.crosscheck.twin import solve_twin
from bankSim.model.bank import Bank, Layout, Wiring
from bankSim.model.load import Load
from bankSim.model.rule import Blocks, Rule, Watch
from bankSim.scenario.record import Scenario
from bankSim.sim.result import TRIP, BankOutcome, BatteryOutcome, Event, Numerics, Result


class TwinPrediction(Result):
    """A result whose numbers come from the twin, so that the comparison is tested alone."""

    def timeline(self, *, jumps=False):
        return pd.DataFrame(self.trace, columns=["time_s", "bank.voltage_V"])


def predict(bank):
    """Return the twin's answer in the form of a result."""
    twin = solve_twin(bank, rtol=1e-7, atol=1e-8)
    names = [battery.name for battery in bank.batteries]
    events = tuple(_event(trip, names) for trip in twin.trips)
    cuts = {e.battery: e for e in events if e.blocks != "charge"}
    sums = zip(bank.batteries, twin.delivered_Ah, twin.charged_Ah, strict=True)
    batteries = tuple(
        BatteryOutcome(
            b.name, 1.0, given, taken, 0.0, 0.0, 0.0, None, 0.0, 0.0, (), cuts.get(b.name)
        )
        for b, given, taken in sums
    )
    times = np.arange(0.0, twin.end_time_s, 10.0)
    net_Ah = float((twin.delivered_Ah - twin.charged_Ah).sum())
    return TwinPrediction(
        Scenario("test", bank),
        twin.end_time_s,
        twin.end_reason,
        BankOutcome(net_Ah, 0.0, 0.0, 0.0, 0.0, twin.end_time_s),
        batteries,
        events,
        (),
        Numerics(1e-9, 1e-10, 0, 0, 0),
        np.column_stack([times, twin.voltage_V(times)]),
    )


def _event(trip, names):
    return Event(
        trip.time_s,
        TRIP,
        names[trip.battery],
        trip.watches.value,
        trip.cell,
        None,
        None,
        "",
        trip.blocks.name.lower(),
        trip.bus_V,
        trip.battery_V,
        tuple(trip.cell_V),
        tuple(trip.current_A),
        (),
    )


@pytest.fixture(scope="module")
def sound():
    return predict(row_of_three(Layout.SAME_END))


@pytest.mark.ngspice
@pytest.mark.parametrize("bank", [bare_pair(), duty_pair()], ids=["bare", "duty"])
def test_sound_predictions_agree(bank, spice):
    result = predict(bank)
    comparison = crosscheck(result.scenario, result)
    assert comparison.agrees, comparison.rows()


@pytest.mark.ngspice
def test_every_line_is_there(sound, spice):
    comparison = crosscheck(sound.scenario, sound)
    assert comparison.agrees, comparison.rows()
    assert [row["quantity"] for row in comparison.rows()] == [
        "a delivered",
        "b delivered",
        "c delivered",
        "bank delivered",
        "a cuts out",
        "b cuts out",
        "c cuts out",
        "cut-out order",
        "bus voltage to the first cut-out, rms",
        "bus voltage after it, rms",
    ]


@pytest.mark.ngspice
def test_spoilt_predictions_are_found(sound, spice):
    first, second, third = sound.batteries
    swapped = (
        replace(first, delivered_Ah=1.002 * first.delivered_Ah, first_cut_out=third.first_cut_out),
        second,
        replace(third, first_cut_out=first.first_cut_out),
    )
    shifted = sound.trace + np.array([0.0, 0.003])
    spoilt = replace(sound, batteries=swapped, trace=shifted)
    failed = {
        line.quantity for line in crosscheck(spoilt.scenario, spoilt).lines if not line.agrees
    }
    assert failed == {
        "a delivered",
        "a cuts out",
        "c cuts out",
        "cut-out order",
        "bus voltage to the first cut-out, rms",
        "bus voltage after it, rms",
    }


@pytest.mark.ngspice
def test_missing_cut_out_is_found(sound, spice):
    first, *others = sound.batteries
    spoilt = replace(sound, batteries=(replace(first, first_cut_out=None), *others))
    lines = {line.quantity: line for line in crosscheck(spoilt.scenario, spoilt).lines}
    assert not lines["a cuts out"].agrees
    assert not lines["cut-out order"].agrees


@pytest.mark.ngspice
def test_trip_that_blocks_charge_is_compared(spice):
    rule = Rule(Watch.CHARGE_CURRENT, False, 1.0, 5.0, Blocks.CHARGE)
    pair = (string("low", 20.0, 0.5, rules=(rule,), z=0.5), string("full", 20.0, 0.5, z=0.9))
    result = predict(Bank(pair, Wiring(), (steady(2.0),), duration_s=600.0))
    comparison = crosscheck(result.scenario, result)
    lines = {line.quantity: line for line in comparison.lines}
    assert lines["low first blocks charge"].spice == pytest.approx(5.0, abs=0.3)  # half a step
    assert comparison.agrees, comparison.rows()
    assert comparison.expressible


@pytest.mark.ngspice
def test_collapse_is_noted_and_still_comparable(spice):
    weak = string("weak", 5.0, 20.0, rules=())
    result = predict(Bank((weak,), Wiring(), (steady(200.0, 0.0),), duration_s=9000.0))
    result = replace(result, events=(*result.events, _collapse(result.end_time_s)))
    comparison = crosscheck(result.scenario, result)
    assert any("cannot be fed" in note for note in comparison.notes)
    assert comparison.lines[0].agrees, comparison.rows()


def _collapse(time_s):
    empty = (None,) * 5
    return Event(time_s, "load cannot be fed", *empty, "", None, 0.0, None, None, (), ())


def test_steps_suit_the_loads_and_the_length(sound):
    plain = replace(sound, events=())
    assert choose_step_s(replace(plain, end_time_s=7200.0)) == 2.0
    assert choose_step_s(replace(plain, end_time_s=4e6)) == 20.0
    assert choose_step_s(replace(plain, end_time_s=60.0)) == 0.03
    quick = Load("quick", 1.0, np.arange(0.0, 3600.0, 5.0), np.arange(720.0))
    bank = replace(sound.scenario.bank, loads=(quick,))
    scenario = replace(sound.scenario, bank=bank)
    assert choose_step_s(replace(plain, scenario=scenario, end_time_s=3600.0)) == 0.5


def test_one_cascade_in_a_long_run_needs_no_finer_steps(sound):
    events = tuple(replace(sound.events[0], time_s=7000.0 + 0.1 * n) for n in range(9))
    assert choose_step_s(replace(sound, events=events, end_time_s=7200.0)) == 2.0


def test_long_steps_are_noted(sound):
    notes = compare._step_notes(sound.scenario, 20.0)
    assert any("instead of 2 s" in note for note in notes)


@pytest.mark.ngspice
def test_voltage_of_a_run_full_of_switchings_is_compared_at_its_beginning(
    sound, spice, monkeypatch
):
    monkeypatch.setattr(compare, "MANY_EVENTS", 2)
    comparison = crosscheck(sound.scenario, sound)
    assert comparison.lines[-1].quantity == "bus voltage to the first event, rms"
    assert any("3 events" in note for note in comparison.notes)
