"""Loads that cut themselves off: what is refused, what is built, what is assumed."""

import pytest
from scenario_texts import LFP, TABLE_ONLY, assumed, faults_of, read

from bankSim.model.load import CutOff

LOAD = '[[load]]\nname = "fridge"\npower_W = 50\n'


@pytest.mark.parametrize(
    ("keys", "expected", "listed"),
    [
        ("", None, {}),
        (
            "cut_off_V = 10.8\ncut_off_after_s = 5\nrestart_V = 12.6",
            CutOff(10.8, 5.0, 12.6),
            {},
        ),
        ("cut_off_V = 10.8\nrestart_V = 12.6", CutOff(10.8, 0.0, 12.6), {"cut_off_after_s": 0.0}),
        ("cut_off_V = 10.8\ncut_off_after_s = 5", CutOff(10.8, 5.0), {"restart_V": "stays off"}),
        ("cut_off_V = 4.0\ncut_off_after_s = 0\nrestart_V = 24.0", CutOff(4.0, 0.0, 24.0), {}),
    ],
)
def test_cut_offs(keys, expected, listed, tmp_path):
    scenario = read(LFP + LOAD + keys, tmp_path)
    assert scenario.bank.loads[0].cut_off == expected
    found = {key: value for key, value in assumed(scenario).items() if key.startswith("load")}
    assert found == {f"load[1].{key}": value for key, value in listed.items()}


@pytest.mark.parametrize(
    ("keys", "expected"),
    [
        ("restart_V = 12.6", "10: load[1].restart_V needs cut_off_V; expected both or none"),
        ("cut_off_after_s = 5", "10: load[1].cut_off_after_s needs cut_off_V; expected both"),
        (
            "cut_off_V = 12.6\nrestart_V = 12.6",
            "11: load[1].restart_V = 12.6; expected more than cut_off_V = 12.6 V",
        ),
        (
            "cut_off_V = 10.8\nrestart_V = 9",
            "11: load[1].restart_V = 9.0; expected more than cut_off_V = 10.8 V",
        ),
        # the voltage of one cell
        ("cut_off_V = 2.8", "10: load[1].cut_off_V = 2.8; expected 4 to 24 V (at the loads"),
        ("cut_off_V = 108", "10: load[1].cut_off_V = 108.0; expected 4 to 24 V (at the loads"),
        (
            "cut_off_V = 10.8\nrestart_V = 126",
            "11: load[1].restart_V = 126.0; expected 4 to 24 V (at the loads, whole bank)",
        ),
        # one of the two in doubt: the other is not held against it
        ("cut_off_V = 108\nrestart_V = 12.6", "10: load[1].cut_off_V = 108.0; expected 4 to 24 V"),
        ("cut_off_V = -1\nrestart_V = 12.6", "10: load[1].cut_off_V = -1; expected 0 to 6000 V"),
        (
            "cut_off_V = 10.8\ncut_off_after_s = -5",
            "11: load[1].cut_off_after_s = -5; expected 0 to 86400 s",
        ),
    ],
)
def test_cut_offs_that_make_no_sense(keys, expected, tmp_path):
    (line,) = faults_of(LFP + LOAD + keys, tmp_path)
    assert line.startswith(f"bank.toml:{expected}")
    assert line.endswith('(load "fridge")')


def test_a_cut_off_of_a_bank_of_elements_may_be_high(tmp_path):
    text = TABLE_ONLY.replace("cells_in_series = 2", "cells_in_series = 1") + LOAD
    scenario = read(text + "cut_off_V = 44\nrestart_V = 50\n", tmp_path)
    assert scenario.bank.loads[0].cut_off == CutOff(44.0, 0.0, 50.0)
