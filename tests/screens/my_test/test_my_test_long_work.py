"""Steps 4 and 5: jobs whose digits are those of the commands, and the way into the bank."""

from dataclasses import replace

import numpy as np
import pytest
from my_test_page import (
    LOGS,
    TOP,
    bring,
    button,
    command,
    digests,
    open_page,
    said,
    step,
    wait_for,
)

from bankSim.scenario.draft import Draft
from bankSim.screens.answers import checked
from bankSim.screens.desk import Desk
from bankSim.screens.my_test.adopt import adopt

BENCH = TOP / "scenarios/bench-bank.toml"
NEWER = "synthetic-newer-capacity.csv"
BANK = "synthetic-bank-parallel.csv"


def in_full(record):
    """Every digit of a record with arrays in it."""
    with np.printoptions(precision=17, threshold=100_000):
        return repr(record)


@pytest.mark.slow
def test_calibration_goes_into_the_bank(offered, capsys, monkeypatch, tmp_path):
    (tmp_path / NEWER).write_bytes((LOGS / NEWER).read_bytes())
    monkeypatch.chdir(tmp_path)
    page = open_page()
    bring(page, (NEWER, (LOGS / NEWER).read_bytes()))
    step(page, "calibrate")
    wait_for(page, lambda: any(one.key == "calibrate logs" for one in page.multiselect))
    page.multiselect(key="calibrate logs").set_value(digests(page, NEWER)).run()
    page.number_input(key="calibrate label").set_value(120.0).run()
    button(page, "Calibrate").click().run()
    assert button(page, "Stop")
    wait_for(page, lambda: "calibration" in offered)
    theirs = command(capsys, "calibrate", NEWER, "--rated-Ah", "120", "--battery", "battery.toml")
    assert offered["calibration"] == theirs
    _goes_into_the_bank(page, tmp_path)


def _goes_into_the_bank(page, folder):
    before = page.session_state["desk"].draft
    button(page, "Put it into my bank").click().run()
    desk = page.session_state["desk"]
    assert desk.draft.count(("battery",)) == before.count(("battery",)) + 1
    own = checked(desk.draft).scenario.bank.batteries[-1]
    from bankSim.scenario.read import read_scenario

    alone = read_scenario(folder / "battery.toml").bank.batteries[0]
    assert in_full(own.cells) == in_full(alone.cells)
    assert own.rules == alone.rules
    assert any("is in your bank now" in one.value for one in page.success)
    desk.undo()
    assert desk.draft == before


@pytest.mark.slow
def test_comparison(offered, capsys, monkeypatch, tmp_path):
    for file in (BENCH, LOGS / BANK):
        (tmp_path / file.name).write_bytes(file.read_bytes())
    monkeypatch.chdir(tmp_path)
    page = open_page()
    bring(page, (BANK, (LOGS / BANK).read_bytes()))
    step(page, "compare")
    wait_for(page, lambda: any(one.key == "compare log" for one in page.selectbox))
    button(page, "made-up bank").click().run()
    page.number_input(key="compare draws").set_value(30).run()
    button(page, "Compare").click().run()
    wait_for(page, lambda: "comparison" in offered)
    theirs = command(capsys, "compare", "bench-bank.toml", BANK, "--draws", "30")
    assert offered["comparison"] == theirs
    assert any(line.startswith("**The bank gave 182.0 Ah") for line in said(page))


@pytest.fixture
def made(tmp_path):
    """Battery files as a calibration makes them, in the small."""
    from bankSim.measured.battery_file import BatteryFiles

    text = (
        '[[battery]]\nname = "new"\nchemistry = "LFP"\ncells_in_series = 4\n'
        "rated_capacity_Ah = 90.0\nlead_mohm = 0.0\n"
        '[battery.cell]\nocv_table = "new-curve.csv"\ncapacity_Ah = { value = 80.0, sd = 1.0 }\n'
    )
    table = "state_of_charge,voltage_V,ohmic_mohm\n0.0,2.5,1.0\n0.5,3.28,0.9\n1.0,3.4,0.9\n"
    return BatteryFiles(text, {"new-curve.csv": table})


def test_in_place_of_one_keeps_what_belongs_to_its_place(made):
    bench = Draft(BENCH.read_text())
    found = adopt(bench, made, 0)
    battery = found.draft.at(("battery", 0))
    assert found.name == battery["name"] == "older"
    assert battery["lead"] == bench.at(("battery", 0, "lead"))
    assert "lead_mohm" not in battery
    assert battery["continuous_discharge_A"] == 60.0
    cell = checked(found.draft).scenario.bank.batteries[0].cells[0]
    assert cell.charge_C == 80.0 * 3600.0
    others = [checked(one).scenario.bank.batteries[1] for one in (found.draft, bench)]
    assert in_full(others[0]) == in_full(others[1])


def test_in_place_of_one_keeps_its_heater_and_its_rules(made):
    rules = [{"watches": "lowest cell voltage", "trips_below": 2.6, "blocks": "discharge"}]
    heater = {"power_W": 40.0, "on_below_C": 3.0, "off_above_C": 8.0}
    place = ("battery", 0)
    bench = Draft(BENCH.read_text()).with_values(
        {(*place, "protection"): rules, (*place, "heater"): heater}
    )
    battery = adopt(bench, made, 0).draft.at(place)
    assert battery["heater"] == heater
    assert battery["protection"] == rules
    own = replace(made, text=f'{made.text}[[battery.protection]]\nwatches = "temperature"\n')
    assert adopt(bench, own, 0).draft.at((*place, "protection")) == [{"watches": "temperature"}]


@pytest.mark.parametrize("text", ["battery = 3\n", '[battery]\nname = "x"\n'])
def test_a_bank_that_is_laid_out_wrongly_is_told_of(made, text):
    from streamlit.testing.v1 import AppTest

    def page():
        import streamlit as st

        from bankSim.screens.my_test.into_bank import offer

        offer(st.session_state["files"], "x")

    shown = AppTest.from_function(page)
    shown.session_state["files"] = made
    shown.session_state["desk"] = Desk(Draft(text))
    shown.run()
    assert not shown.exception
    assert "mended first" in shown.info[0].value


def test_only_battery_can_be_replaced(made):
    alone = Draft(BENCH.read_text()).without_item(("battery",), 1)
    found = adopt(alone, made, 0)
    assert found.draft.count(("battery",)) == 1
    assert checked(found.draft).faults == ()


def test_one_more_gets_a_name_and_tables_of_its_own(made):
    from bankSim.measured.battery_file import BatteryFiles

    bench = Draft(BENCH.read_text())
    once = adopt(bench, made, None, 3.0).draft
    assert adopt(once, made, None, 3.0).draft.count(("battery",)) == 4
    other = BatteryFiles(made.text, {"new-curve.csv": made.tables["new-curve.csv"] + "\n"})
    twice = adopt(once, other, None, 3.0)
    assert twice.name == "new 2"
    assert [name for name, _ in twice.draft.tables] == ["new-curve-2.csv", "new-curve.csv"]
    assert checked(twice.draft).faults == ()
    again = adopt(twice.draft, made, 3).draft
    assert [name for name, _ in again.tables] == ["new-curve.csv"]
