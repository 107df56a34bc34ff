"""What a calibration writes and says: starts, temperatures, ends, and how sure single values are.

The truth is what made each log: the cells named here, run by the solver of the project.
"""

import tomllib
from dataclasses import replace

import numpy as np
import pytest
from lead_logs import LeadTest, lead_log
from pytest import approx

from bankSim.measured.battery_file import battery_files
from bankSim.measured.calibrate import Told, calibrate
from bankSim.measured.label import Label, label_of
from bankSim.measured.log import Log
from bankSim.measured.quantities import Value
from bankSim.measured.replay import Course, follow
from bankSim.measured.warnings import _blurred
from bankSim.model.lead_acid import AGM
from bankSim.model.lfp import LFP
from bankSim.model.nmc import NMC
from bankSim.scenario.build_thermal import usual_thermal
from bankSim.scenario.read import read_scenario
from bankSim.show.calibrate_answer import calibration_answer
from bankSim.sim.run import simulate

AH = 100.0
TRUE = LFP.typical_cell(AH, AH * 3600.0)
LABEL = Label("bench", "LFP", 4, AH)
CUT_V = 2.6  # of a cell
AIR_C = 25.0


def discharge(cell, current_A, *, cells=4, cut_V=CUT_V, every_s=10.0, thermal=None, dead=False):
    """Return the log of ten minutes of rest, a discharge to `cut_V` a cell, half an hour of rest.

    With `thermal` [one cell's] it warms up, else it is kept at 25 degrees C; its own temperature is
    logged. With `dead` the terminals read 0 V after the cut-out. Noise 1 mV a cell, 20 mA, 0.1 K.
    """
    time = np.arange(0.0, 600.0 + 1.15 * cell.charge_C / current_A, every_s)
    flows = np.where(time >= 600.0, current_A, 0.0)
    volts = _shown(cell, time, flows, thermal).cells_V[:, 0]
    cut = int(np.argmax((volts <= cut_V) & (flows > 0.0)))
    time = np.arange(0.0, time[cut] + 1800.0, every_s)
    flows = np.where((time >= 600.0) & (np.arange(time.size) < cut), current_A, 0.0)
    seen = _shown(cell, time, flows, thermal)
    rng = np.random.default_rng(5)
    volts = cells * (seen.cells_V[:, 0] + rng.normal(0.0, 0.001, time.size))
    if dead:
        volts[cut:] = 0.0
    warmth = seen.temperature_K - 273.15
    return Log(
        f"{current_A:g} A", time, volts, flows + rng.normal(0.0, 0.02, time.size),
        temperature_C=warmth + rng.normal(0.0, 0.1, time.size),
    )  # fmt: skip


def _shown(cell, time, flows, thermal):
    flow = Log("flow", time, np.full(time.size, 3.0), flows)
    return follow((cell,), Course.of(flow, AIR_C, thermal), time)


def run_of(found, folder):
    """Return the run of the battery file as it is."""
    made = battery_files(found, "own")
    for name, text in {"own.toml": made.text, **made.tables}.items():
        (folder / name).write_text(text, encoding="utf-8")
    return simulate(read_scenario(folder / "own.toml"))


def battery_of(found):
    return tomllib.loads(battery_files(found, "own").text)["battery"][0]


@pytest.fixture(scope="module")
def from_full():
    return calibrate([discharge(TRUE, 20.0)], LABEL)


@pytest.fixture(scope="module")
def from_80():
    log = discharge(replace(TRUE, state_of_charge=0.8), 20.0)
    return log, calibrate([log], LABEL, Told(starts=(0.8,)))


def test_a_start_below_full_stands_in_the_file(from_80, tmp_path):
    # it stood there only where cells were logged: the file ran on from full
    log, found = from_80
    assert battery_of(found)["state_of_charge"] == approx(0.8, abs=0.02)
    given_Ah = log.counted_Ah().max()
    assert run_of(found, tmp_path).bank.delivered_Ah == approx(given_Ah, rel=0.01)


def test_a_full_start_goes_without_saying(from_full):
    assert "state_of_charge" not in battery_of(from_full)


def test_a_battery_that_did_cut_out_is_not_asked_to(from_80):
    # from 80 % to the cut-out it heard "discharge once until it cuts out"
    warnings = " ".join(from_80[1].warnings)
    assert "until the battery cuts out" not in warnings
    assert "No log begins or comes above 80 %" in warnings


def test_the_air_is_as_warm_as_the_battery_was_at_first(tmp_path):
    # its mean was written as that of the air, so that a run began warm and lasted too long
    mass_kg = 3.0 / 4.0  # of one cell: light, so that it warms up by some kelvin
    log = discharge(TRUE, 50.0, thermal=usual_thermal(mass_kg, LFP.specific_heat_J_kg_K))
    assert log.temperature_C.mean() > AIR_C + 2.0
    found = calibrate([log], LABEL, Told(mass_kg=4.0 * mass_kg))
    text = battery_files(found, "own").text
    assert tomllib.loads(text)["surroundings"]["temperature_C"] == approx(AIR_C, abs=0.2)
    assert any("temperature of the battery" in what for what, _ in found.assumed)
    run = run_of(found, tmp_path)
    assert run.bank.delivered_Ah == approx(log.counted_Ah().max(), rel=0.005)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_two_rates_without_steps_do_not_claim_what_they_cannot_tell(seed):
    # single relaxations were up to 2.9 of their errors off, while their sum was right
    rng = np.random.default_rng(seed)
    pairs = tuple(
        replace(
            one,
            resistance_ohm=one.resistance_ohm * rng.uniform(0.6, 1.7),
            time_constant_s=one.time_constant_s * rng.uniform(0.6, 1.7),
        )
        for one in TRUE.relaxation
    )
    cell = replace(TRUE, relaxation=pairs, ohmic_ohm=TRUE.ohmic_ohm.scaled(rng.uniform(0.7, 1.5)))
    found = calibrate([discharge(cell, 10.0, every_s=60.0), discharge(cell, 50.0)], LABEL)
    ohms = [pair.resistance_ohm for pair in pairs]
    truth = {
        "resistance at once, half full": 4e3 * float(cell.ohmic_ohm(0.45)),
        "resistance after long, half full": 4e3 * (float(cell.ohmic_ohm(0.45)) + sum(ohms)),
        **{f"relaxation {j}, resistance": 4e3 * ohm for j, ohm in enumerate(ohms, 1)},
        **{f"relaxation {j}, time": pair.time_constant_s for j, pair in enumerate(pairs, 1)},
    }
    for name, true in truth.items():
        value = found.value(name)
        assert abs(value.value - true) < 2.0 * value.sd, name
    assert found.value("resistance after long, half full").learned > 0.9
    assert found.value("relaxation 1, time").learned == 0.0
    assert any("not how it is shared" in line for line in found.warnings)


def test_a_temperature_that_nobody_logged_puts_resistances_in_doubt():
    # the battery stood in a bath of 25 degrees C, which no log tells: taken to have warmed up by
    # some 5 K, its resistances came out 10 to 20 % too high, with an error of 5 %
    logs = [discharge(TRUE, 10.0, every_s=60.0), discharge(TRUE, 50.0)]
    found = calibrate([replace(log, temperature_C=None) for log in logs], LABEL)
    for name, z in (("half full", 0.45), ("at 15 %", 0.15)):
        true = 4e3 * (float(TRUE.ohmic_ohm(z)) + sum(one.resistance_ohm for one in TRUE.relaxation))
        value = found.value(f"resistance after long, {name}")
        assert abs(value.value - true) < 2.5 * value.sd
    assert any("K count as standard error" in why for _, why in found.assumed)


def test_what_is_told_is_the_part_of_doubt_that_the_printed_error_leaves(from_full):
    for value in from_full.values:
        left = min((value.sd / value.typical_sd) ** 2, 1.0)
        assert value.learned == approx(1.0 - left)


def test_typical_resistance_has_straps_as_the_found_one(from_full):
    # 4 cells and what lies between them: 0.6 ohm Ah for LFP, see docs/chemistries/lfp.md
    cells = 4e3 * float(TRUE.ohmic_ohm(0.45))
    straps = 1e3 * LFP.internal_ohm_Ah / AH
    assert straps > 0.0
    assert from_full.value("resistance at once, half full").typical == approx(cells + straps)


def charged_and_discharged():
    """Return a log of 24 V AGM: 10 h of charge at 28.8 V, 4 h of discharge at 24.4 V."""
    time = np.arange(0.0, 14 * 3600.0, 60.0)
    charges = time < 10 * 3600.0
    volts = np.where(charges, 28.8, 24.4 - time / 3.6e4)
    return Log("van", time, volts, np.where(charges, -8.0, 20.0))


def test_a_charge_in_the_log_adds_no_cell():
    # the middle of all samples read 13 cells
    assert label_of([charged_and_discharged()], "van", "AGM").cells_in_series == 12


@pytest.mark.parametrize(("volts", "cells"), [(6.2, 3), (13.3, 6), (35.0, 18), (51.0, 24)])
def test_lead_batteries_come_in_few_sizes(volts, cells):
    time = np.arange(0.0, 3600.0, 60.0)
    log = Log("x", time, np.full(time.size, volts), np.full(time.size, 5.0))
    assert label_of([log], "x", "flooded").cells_in_series == cells


def lead(dead):
    log = lead_log(AGM.typical_cell(AH, 1.08 * AH * 3600.0), LeadTest(20.0, rest_h=1.0))
    if dead:
        off = log.time_s > log.time_s[log.current_A > 10.0][-1]
        log = replace(log, voltage_V=np.where(off, 0.0, log.voltage_V))
    return calibrate([log], Label("lead", "AGM", 6, AH))


def test_a_lead_battery_that_the_load_left_gets_no_cut_out_of_its_own(tmp_path):
    # a rule stood in its file: in a bank it would have cut itself out, as no lead battery does
    found = lead(dead=False)
    assert "protection" not in battery_of(found)
    run = run_of(found, tmp_path)
    given_Ah = found.followed[0].end.given_Ah
    assert run.bank.delivered_Ah == approx(given_Ah, rel=0.01)
    ends = calibration_answer(found, []).story
    said = " ".join(line for part in ends.sections for line in part.lines)
    assert "the current stopped at 10.6" in said


def test_a_lead_battery_that_went_dead_has_a_cut_out():
    (rule,) = battery_of(lead(dead=True))["protection"]
    assert rule["trips_below"] == approx(10.5, abs=0.15)  # a sample a minute
    assert rule["watches"] == "battery voltage"


def test_the_error_of_lead_resistance_reaches_its_file():
    found = lead(dead=False)
    internal = battery_of(found)["internal_mohm"]
    assert 0.0 < internal["sd"] <= internal["value"]


def test_who_stopped_the_current_is_said_as_far_as_it_is_seen(from_full):
    stopped = battery_files(from_full, "own").text
    assert "its own cut-out or the load's" in stopped.replace("battery's own", "its own")
    dead = battery_files(calibrate([discharge(TRUE, 20.0, dead=True)], LABEL), "own").text
    assert "the terminals went dead" in dead


def test_a_log_that_ends_well_above_the_usual_cut_out_makes_no_rule():
    # an NMC log that ended at 3.47 V a cell, a fifth full, became a battery that cuts out there
    cell = NMC.typical_cell(AH, AH * 3600.0)
    log = discharge(cell, 20.0, cells=7, cut_V=3.4)
    on = np.flatnonzero(log.current_A > 10.0)[-1]
    found = calibrate([log.part(0, on + 1)], Label("stopped", "NMC", 7, AH))
    assert found.followed[0].end is not None
    text = battery_files(found, "own").text
    assert "No cut-out was seen" in text
    assert "protection" not in tomllib.loads(text)["battery"][0]


def test_ah_less_what_was_put_back_are_said_to_be():
    time = np.arange(0.0, 600.0 + 6.2 * 3600.0, 10.0)
    flows = np.where(time < 600.0, 0.0, np.where(time % 7200.0 < 1200.0, -10.0, 25.0))
    volts = _shown(TRUE, time, flows, None).cells_V[:, 0]
    stop = int(np.argmax(volts < CUT_V))
    assert stop > 0
    after = np.arange(time.size) >= stop
    log = Log("mixed", time, 4.0 * np.where(after, 3.2, volts), np.where(after, 0.0, flows))
    end = calibrate([log], LABEL).followed[0].end
    put_back_Ah = np.clip(-flows[:stop], 0.0, None).sum() * 10.0 / 3600.0
    assert end.returned_Ah == approx(put_back_Ah, rel=0.02)
    assert end.given_Ah == approx(flows[:stop].sum() * 10.0 / 3600.0, rel=0.01)


def test_a_log_that_is_charged_to_full_has_seen_full():
    # from 50 %, 20 A for 2.5 h, then down to the cut-out: it was asked to discharge once from full
    time = np.arange(0.0, 8.0 * 3600.0, 20.0)
    flows = np.where(time < 2.5 * 3600.0, -20.0, 25.0)
    cell = replace(TRUE, state_of_charge=0.5)
    volts = _shown(cell, time, flows, None).cells_V[:, 0]
    stop = int(np.argmax((volts < CUT_V) & (flows > 0.0)))
    log = Log("up", time[:stop], 4.0 * volts[:stop], flows[:stop])
    found = calibrate([log], LABEL, Told(starts=(0.5,)))
    assert not any("begins or comes above" in line for line in found.warnings)


@pytest.mark.parametrize("interval_s", [4.0, 30.0])
def test_samples_are_too_far_apart_by_the_shortest_relaxation_wherever_it_stands(interval_s):
    # by hand: the pairs of LFP are of 111 and 10.3 s; half of 10.3 s is between 4 and 30 s
    values = [
        Value(f"relaxation {number}, time", pair.time_constant_s, 1.0, 1.0, 1.0, "s", 1.0)
        for number, pair in enumerate(TRUE.relaxation, 1)
    ]
    assert {one.value for one in values} == {111.0, 10.3}
    for order in (values, values[::-1]):
        told = _blurred(order, interval_s)
        assert len(told) == (interval_s > 5.15)
        assert all("within 10 s" in line for line in told)
