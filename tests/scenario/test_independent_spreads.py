"""Spreads of which every cell of a battery has its own draw: where they may stand."""

import tomllib

import pytest
from jsonschema import Draft202012Validator
from scenario_texts import LFP, faults_of, read

from bankSim.scenario.given_spreads import given_spreads
from bankSim.scenario.schema import scenario_schema

INDEPENDENT = '{ value = 0.9, sd = 0.01, cells = "independent" }'


@pytest.mark.parametrize(
    "key", ["state_of_charge", "capacity_fraction", "resistance_factor", "cell.ohmic_mohm",
            "cell.capacity_Ah", "cell.state_of_charge", "cell.hysteresis_mV",
            "cell.available_fraction", "cell.well_rate_per_h"],
)  # fmt: skip
def test_independent_cells(key, tmp_path):
    inside = "[battery.cell]\nwell_rate_per_h = 0.5\n" if key.endswith("fraction") else ""
    name = key.removeprefix("cell.")
    head = "" if name == key else (inside or "[battery.cell]\n")
    text = f"{LFP}{head}{name} = {INDEPENDENT}\n"
    (given,) = given_spreads(read(text, tmp_path).keys)
    assert given.independent
    assert Draft202012Validator(scenario_schema()).is_valid(tomllib.loads(text))


NOT_OF_ALL_CELLS = [
    (f"{LFP}lead_mohm = {INDEPENDENT}", "battery[1].lead_mohm"),
    (f"{LFP}internal_mohm = {INDEPENDENT}", "battery[1].internal_mohm"),
    (f"{LFP}mass_kg = {INDEPENDENT}", "battery[1].mass_kg"),
    (f"[wiring]\nmain_mohm = {INDEPENDENT}\n{LFP}", "wiring.main_mohm"),
    (f"[surroundings]\ntemperature_C = {INDEPENDENT}\n{LFP}", "surroundings.temperature_C"),
    (f"{LFP}[[load]]\npower_W = {INDEPENDENT}", "load[1].power_W"),
    (f"{LFP}[[battery.cells]]\ncapacity_Ah = {INDEPENDENT}" + "\n[[battery.cells]]" * 3,
     "battery[1].cells[1].capacity_Ah"),
]  # fmt: skip
REASON = (
    ': cells = "independent" is for values that all cells of a battery have in common, as in '
    '[battery.cell]; expected cells = "shared", or none'
)


@pytest.mark.parametrize(
    ("text", "key"), NOT_OF_ALL_CELLS, ids=[row[1] for row in NOT_OF_ALL_CELLS]
)
def test_independent_cells_where_there_are_none(text, key, tmp_path):
    (line,) = faults_of(text, tmp_path)
    assert f": {key}{REASON}" in line
    assert text.splitlines()[int(line.split(":")[1]) - 1].endswith(INDEPENDENT)


def test_independent_cells_inside_one_cell(tmp_path):
    own = f"[[battery.cells]]\nstate_of_charge = {INDEPENDENT}" + "\n[[battery.cells]]" * 3
    (line,) = faults_of(LFP + own, tmp_path)
    assert f": battery[1].cells[1].state_of_charge{REASON}" in line
