"""Texts that a spreadsheet would run, also where it splits lines at semicolons or tabs."""

import csv
import io

import pytest
from scenario_texts import LFP

from bankSim.scenario.read import parse_scenario
from bankSim.show.sheets import events_csv, guarded, timeline_csv
from bankSim.sim.run import simulate

NAMES = (
    '=HYPERLINK("http://x.example")',
    "a;=1+1",
    "@SUM(A1)",
    "+1",
    "-1",
    "x;@y",
    "\uff1d1",
)
STARTS = ("=", "+", "-", "@", "\uff1d", "\uff0b", "\uff0d", "\uff20")


def is_number(field):
    try:
        float(field)
    except ValueError:
        return False
    return True


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_no_field_of_a_sheet_begins_like_a_formula(delimiter, tmp_path):
    batteries = "".join(LFP.replace('"house"', f"'{name}'") for name in NAMES)
    text = f"[simulation]\nduration_h = 1.0\n{batteries}[[load]]\nname = '=2'\npower_W = 100000\n"
    result = simulate(parse_scenario(text, tmp_path))
    for sheet in (timeline_csv(result), events_csv(result)):
        assert all(name.strip() in sheet.replace('""', '"').replace("'", "") for name in NAMES)
        for row in csv.reader(io.StringIO(sheet), delimiter=delimiter):
            harmful = [f for f in row if f.strip().startswith(STARTS) and not is_number(f)]
            assert harmful == []


@pytest.mark.parametrize("text", ["plain", "a = b", "3.2 V; then 4 V", "x-1", "a;b"])
def test_plain_texts_stay(text):
    assert guarded(text) == text
