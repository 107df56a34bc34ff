"""The shape of what a run gives back: names that other people's files depend on."""

import json
import math
from dataclasses import replace

import numpy as np
import pytest
from pytest import approx
from simple_banks import affine, affine_cell, bank_of, battery, run, steady, stepped

import bankSim
from bankSim.model.bank import Wiring
from bankSim.model.lfp import typical_cell
from bankSim.model.rule import Blocks, Rule, Watch
from bankSim.sim.result import LOAD_OFF, RELEASE, TRIP

LOW = Rule(Watch.LOWEST_CELL, True, 3.0, 2.0)


@pytest.fixture(scope="module")
def result():
    cells = [affine_cell(1e-3, 20.0, z, base=2.8, span=0.6) for z in (0.9, 0.8)]
    weak = battery("weak", *cells, rules=[LOW])
    strong = battery("strong", *[affine_cell(1e-3, 40.0, 0.9, base=2.8, span=0.6)] * 2, rules=[LOW])
    return run(bank_of(weak, strong, load=steady(20.0), duration_s=4e4, output_every_s=60.0))


def test_summary_has_the_agreed_keys(result):
    summary = result.summary()
    assert {
        "title", "duration_h", "end_reason", "bank", "batteries", "events", "cautions", "assumed",
    } <= set(summary)  # fmt: skip
    assert {
        "delivered_Ah", "delivered_Wh", "charged_Ah", "runtime_h", "cut_out_order", "rated_Ah",
        "lead_loss_Wh", "ledger_residual_Ah",
    } <= set(summary["bank"])  # fmt: skip
    assert {
        "name", "delivered_Ah", "delivered_Wh", "charged_Ah", "peak_discharge_A", "peak_charge_A",
        "share_at_start", "stranded_Ah", "final_state_of_charge", "first_cut_out",
    } <= set(summary["batteries"][0])  # fmt: skip
    assert {
        "time_h", "watches", "cell", "battery_voltage_V", "bus_voltage_V", "cell_voltages_V",
    } <= set(summary["batteries"][0]["first_cut_out"])  # fmt: skip
    assert {
        "time_h", "battery", "what", "watches", "cell", "battery_voltage_V", "cell_voltages_V",
        "currents_A",
    } <= set(summary["events"][0])  # fmt: skip


def test_summary_is_plain_json(result):
    text = json.dumps(result.summary(), allow_nan=False)
    assert json.loads(text)["bank"]["cut_out_order"] == ["weak", "strong"]


def test_summary_numbers_agree_with_each_other(result):
    summary = result.summary()
    bank, batteries = summary["bank"], summary["batteries"]
    net = sum(b["delivered_Ah"] - b["charged_Ah"] for b in batteries)
    assert bank["delivered_Ah"] == approx(net, rel=1e-9)
    assert bank["runtime_h"] == approx(bank["delivered_Ah"] / 20.0, rel=1e-9)
    assert summary["duration_h"] == bank["runtime_h"]
    assert bank["rated_Ah"] == approx(60.0)
    assert batteries[0]["first_cut_out"]["time_h"] == summary["events"][0]["time_h"]


def test_stranded_is_the_mean_above_the_weakest_cell(result):
    weak = result.batteries[0]
    held = np.array(weak.final_state_of_charge) * 20.0
    assert weak.stranded_Ah == approx(held.mean() - held.min(), rel=1e-12)
    assert weak.stranded_Ah == approx(1.0, rel=1e-9)  # 10 % of 20 Ah in one of two cells
    assert weak.remaining_Ah == approx(held.min())
    assert result.batteries[1].stranded_Ah == approx(0.0, abs=1e-9)


def test_timeline_columns_and_spacing(result):
    table = result.timeline()
    assert list(table.columns) == [
        "time_s", "bank.voltage_V", "bank.current_A",
        "weak.current_A", "weak.voltage_V", "weak.state_of_charge", "weak.temperature_C",
        "weak.cell1_voltage_V", "weak.cell2_voltage_V",
        "strong.current_A", "strong.voltage_V", "strong.state_of_charge", "strong.temperature_C",
        "strong.cell1_voltage_V", "strong.cell2_voltage_V", "weak.blocked", "strong.blocked",
    ]  # fmt: skip
    times = table["time_s"].to_numpy()
    assert np.allclose(times[:-1], 60.0 * np.arange(len(times) - 1), atol=1e-9)
    assert times[-1] == result.end_time_s
    assert table["bank.current_A"].to_numpy() == approx(np.full(len(times), 20.0))
    assert np.allclose(table["weak.temperature_C"], 25.0)
    cells = table["strong.cell1_voltage_V"] + table["strong.cell2_voltage_V"]
    assert np.allclose(table["strong.voltage_V"], cells, rtol=1e-12)


def test_jumps_show_both_sides_of_a_switching(result):
    table = result.timeline(jumps=True)
    at = table[table["time_s"] == result.events[0].time_s]
    assert len(at) == 2
    assert at["weak.current_A"].iloc[0] > 1.0
    assert at["weak.current_A"].iloc[1] == 0.0
    assert at["strong.current_A"].iloc[1] == approx(20.0)


def test_a_row_at_the_instant_of_a_load_change_shows_the_new_load():
    load = stepped([0, 600, 1200], [10, 30, 0])
    table = run(bank_of(affine("a"), load=load, duration_s=1800)).timeline().set_index("time_s")
    assert table["bank.current_A"].loc[540.0] == approx(10.0)
    assert table["bank.current_A"].loc[600.0] == approx(30.0)
    assert table["bank.current_A"].loc[1200.0] == 0.0


def test_share_at_start_waits_for_the_first_current():
    pair = [affine("a", 4e-3), affine("b", 12e-3)]
    load = stepped([0, 600], [0.0, 20.0])
    shares = [b.share_at_start for b in run(bank_of(*pair, load=load)).batteries]
    assert shares == approx([0.75, 0.25])
    nothing = run(bank_of(*pair, duration_s=600))
    assert [b.share_at_start for b in nothing.batteries] == [None, None]


def test_peaks_see_a_pulse_of_a_second_between_two_rows():
    # a 1 s pulse inside 10,000 s with rows every minute
    load = stepped([0, 5000.2, 5001.2], [1.0, 180.0, 1.0])
    result = run(bank_of(affine("a"), load=load, duration_s=10_000))
    assert result.batteries[0].peak_discharge_A == approx(180.0)
    assert result.bank.delivered_Ah == approx((9999.0 + 180.0) / 3600.0, rel=1e-9)


def test_charging_counts_apart_from_discharging():
    load = stepped([0, 1800], [20.0, -10.0])
    result = run(bank_of(affine("a", coulombic_efficiency=0.9), load=load))
    (one,) = result.batteries
    assert (one.delivered_Ah, one.charged_Ah) == (approx(10.0), approx(5.0))
    assert (result.bank.delivered_Ah, result.bank.charged_Ah) == (approx(10.0), approx(5.0))
    # 10 Ah out, 4.5 Ah stored
    assert one.final_state_of_charge[0] == approx(0.9 - 0.055, rel=1e-9)
    assert one.peak_charge_A == approx(10.0)


def test_standing_draw_empties_a_resting_battery():
    result = run(bank_of(affine("a", standing_A=0.1), duration_s=36_000))
    assert result.batteries[0].final_state_of_charge[0] == approx(0.89)
    assert result.bank.ledger_residual_Ah == approx(0.0, abs=1e-12)


def test_cold_raises_resistance_by_the_arrhenius_law():
    # exp(Ea / Rg (1/273.15 - 1/298.15)) = 2.09 for 20 kJ/mol
    cell = affine_cell(5e-3, activation_J_mol=20e3, span=0.0)
    bank = bank_of(battery("a", cell), load=steady(10.0), temperature_K=273.15)
    volts = run(bank).timeline()["bank.voltage_V"].iloc[0]
    assert (12.8 - volts) / 10.0 == approx(5e-3 * 2.09, rel=2e-3)


def test_cautions_name_the_battery_the_value_and_the_limit():
    loose = affine("loose", 5e-3)
    tight = replace(affine("tight", 5e-3), continuous_discharge_A=40.0, fuse_A=45.0)
    result = run(bank_of(loose, tight, load=steady(100.0)))
    topics = {caution.topic: caution for caution in result.cautions}
    assert topics["discharge above label"].value == approx(50.0, rel=0.05)
    assert topics["discharge above label"].limit == 40.0
    assert "tight" in topics["discharge above label"].text
    assert topics["fuse overloaded"].limit == 45.0
    assert topics["no low-voltage cut-out"].severity == "warning"
    order = [caution.severity for caution in result.cautions]
    assert order == sorted(order, key=["danger", "warning", "note"].index)


@pytest.mark.parametrize(("label_A", "severity"), [(60.0, "danger"), (70.0, "warning")])
def test_caution_when_a_cut_out_overloads_the_rest(label_A, severity):
    rule = Rule(Watch.DISCHARGE_CURRENT, False, 30.0, 5.0, Blocks.DISCHARGE)
    weak = affine("weak", 5e-3, 200.0, rules=[rule])
    rest = replace(affine("rest", 5e-3, 200.0), continuous_discharge_A=label_A)
    result = run(bank_of(weak, rest, load=steady(80.0)))
    (caution,) = [c for c in result.cautions if c.topic == "overload after a cut-out"]
    assert caution.severity == severity
    assert caution.value == approx(80.0)


def test_caution_for_cells_driven_below_empty():
    result = run(bank_of(affine("a", z=0.2), load=steady(50.0), duration_s=7200))
    topics = [caution.topic for caution in result.cautions]
    assert "cell driven below empty" in topics
    assert result.batteries[0].final_state_of_charge[0] == approx(-0.8)
    assert result.batteries[0].lowest_state_of_charge == approx(-0.8)


def test_caution_stays_when_the_cell_is_charged_again():
    load = stepped([0, 3600], [30.0, -60.0])
    result = run(bank_of(affine("a", z=0.2), load=load, duration_s=7200))
    topics = {caution.topic: caution for caution in result.cautions}
    assert result.batteries[0].final_state_of_charge[0] > 0.0
    assert topics["cell driven below empty"].value == approx(12.8 - 0.06 - 30 * 5e-3)


def test_caution_for_cells_charged_beyond_full():
    result = run(bank_of(affine("a"), load=steady(-30.0)))
    topics = {caution.topic: caution for caution in result.cautions}
    assert topics["cell charged beyond full"].value == approx(12.8 + 0.6 * 1.2 + 0.15)


def test_caution_for_a_large_current_when_first_connected():
    # 0.6 V x 0.8 over 15 mohm = 32 A into 50 Ah without a label
    pair = [affine("full", 5e-3, 50.0, 1.0), affine("low", 10e-3, 50.0, 0.2)]
    topics = {c.topic: c for c in run(bank_of(*pair)).cautions}
    assert topics["large charge current"].value == approx(32.0)
    assert "low" in topics["large charge current"].text


def test_caution_for_what_flows_when_first_connected():
    # 0.6 V x 0.6 over 5 + 2 + 10 + 2 mohm
    pair = [affine("full", 5e-3, lead=2e-3, z=1.0), affine("low", 10e-3, 50.0, 0.4, lead=2e-3)]
    topics = {c.topic: c for c in run(bank_of(*pair, load=steady(5.0))).cautions}
    found = topics["current when first connected"]
    assert (found.value, found.limit) == (approx(0.36 / 0.019), approx(10.0))
    even = run(bank_of(affine("a"), affine("b", z=0.88), load=steady(5.0))).cautions
    assert "current when first connected" not in {caution.topic for caution in even}


def test_an_ordinary_full_charge_is_no_danger():
    # a cell stopped by its own rule at 3.65 V holds a little more than the curve's "full"
    cell = replace(typical_cell(100.0, 360_000.0), state_of_charge=0.95)
    rule = Rule(Watch.HIGHEST_CELL, False, 3.65, 1.0, Blocks.CHARGE)
    guard = Rule(Watch.LOWEST_CELL, True, 2.5, 1.0)
    one = battery("a", *[cell] * 4, rules=[rule, guard], chemistry="LFP")
    result = run(bank_of(one, load=steady(-1.0), duration_s=36_000))
    assert result.batteries[0].highest_state_of_charge > 1.0
    assert {caution.severity for caution in result.cautions} == {"warning"}
    over = run(bank_of(replace(one, rules=(guard,)), load=steady(-10.0), duration_s=7200))
    assert "cell charged beyond full" in {caution.topic for caution in over.cautions}


def test_charge_offered_to_a_bank_that_is_out_is_told():
    rule = Rule(Watch.LOWEST_CELL, True, 13.0, blocks=Blocks.BOTH)
    load = stepped([0, 9000, 9100], [50.0, -10.0, 0.0])
    bank = bank_of(affine("a", rules=[rule]), load=load, duration_s=1e4, stop_when_empty=False)
    events = run(bank).events
    assert [(event.what, event.time_s) for event in events][1:] == [("charge not accepted", 9000.0)]


def test_caution_for_voltages_that_do_not_match():
    pair = [affine("twelve", 0.05), affine("twenty-four", 0.05, base=25.6, span=1.2)]
    result = run(bank_of(*pair, duration_s=60))
    assert result.cautions[0].severity == "danger"
    topics = {c.topic: c for c in result.cautions}
    assert topics["voltages do not match"].value == approx(13.34)
    fine = run(bank_of(affine("a"), affine("b", z=0.2), duration_s=60))
    assert "voltages do not match" not in {c.topic for c in fine.cautions}


def test_caution_for_the_main_fuse():
    bank = bank_of(affine("a"), affine("b"), load=steady(150.0), wiring=Wiring(main_fuse_A=125.0))
    (caution,) = [c for c in run(bank).cautions if c.topic == "fuse overloaded"]
    assert (caution.value, caution.limit) == (approx(150.0), 125.0)


def test_a_limit_that_was_assumed_is_not_called_a_label():
    one = replace(
        affine("a"), continuous_discharge_A=40.0, limits_assumed=("continuous_discharge_A",)
    )
    (caution,) = [
        c
        for c in run(bank_of(one, load=steady(50.0))).cautions
        if c.topic == "discharge above label"
    ]
    assert "not given" in caution.text


def test_a_current_that_a_rule_stops_at_once_is_no_peak():
    rule = Rule(Watch.CHARGE_CURRENT, False, 10.0, 0.0, Blocks.BOTH)
    pair = [affine("full", 5e-3, 50.0, 1.0), affine("low", 10e-3, 50.0, 0.2, rules=[rule])]
    result = run(bank_of(*pair, duration_s=60))
    assert result.events[0].currents_A[1] == approx(-32.0)
    assert result.batteries[1].peak_charge_A == 0.0


def test_caution_for_charging_below_freezing():
    cold = replace(affine("a"), chemistry="LFP")
    bank = bank_of(cold, load=steady(-5.0), temperature_K=263.15)
    topics = {caution.topic: caution for caution in run(bank).cautions}
    assert topics["charged below freezing"].value == approx(-10.0)
    assert "5.00 Ah" in topics["charged below freezing"].text
    warm = run(replace(bank, temperature_K=278.15)).cautions
    assert "charged below freezing" not in {caution.topic for caution in warm}


def test_charge_that_nobody_takes_is_told_once():
    rule = Rule(Watch.TEMPERATURE, True, 280.0, 0.0, Blocks.CHARGE)
    load = stepped(np.arange(100.0), -5.0 - np.mod(np.arange(100.0), 2.0))
    bank = bank_of(affine("a", rules=[rule]), load=load, duration_s=100, temperature_K=270.0)
    assert [event.what for event in run(bank).events] == ["trip", "charge not accepted"]


def test_summary_has_no_infinities_when_nothing_happens():
    summary = run(bank_of(affine("a"), duration_s=60)).summary()
    assert all(math.isfinite(v) for v in summary["bank"].values() if isinstance(v, float))


@pytest.mark.parametrize(
    ("what", "blocks", "cut"),
    [(TRIP, "discharge", True), (TRIP, "both", True), (TRIP, "charge", False),
     (RELEASE, "discharge", False), (RELEASE, "both", False), (LOAD_OFF, None, False)],
)  # fmt: skip
def test_a_cut_out_is_a_trip_that_blocks_discharge(result, what, blocks, cut):
    assert replace(result.events[0], what=what, blocks=blocks).cuts_out is cut


def test_public_names_can_be_imported():
    assert sorted(bankSim.__all__) == bankSim.__all__
    for name in bankSim.__all__:
        assert getattr(bankSim, name).__name__ == name
    with pytest.raises(AttributeError, match="nothing_here"):
        _ = bankSim.nothing_here
