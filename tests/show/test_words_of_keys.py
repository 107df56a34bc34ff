"""Reports are read by people who have neither the file nor a command line before them."""

import html
import re
from pathlib import Path

import made_up
import pytest

from bankSim.scenario.read import read_scenario
from bankSim.show.basis import assumed, assumed_rows
from bankSim.show.key_words import key_words
from bankSim.show.plain_words import PLAIN, in_plain_words
from bankSim.show.report import report_html
from bankSim.show.unknowns_table import drawn_section
from bankSim.sim.run import simulate
from bankSim.study.blocks import threads
from bankSim.study.find_unknowns import find_unknowns
from bankSim.study.plan import make_plan
from bankSim.study.spread import study_spread

SCENARIOS = sorted((Path(__file__).parents[2] / "scenarios").glob("*.toml"))
# options, commands, keys such as lead_mohm, and values as they are written into the file
OF_THE_FILE = re.compile(
    r"--[a-z]\w*|\bbanksim (?!\d)|`|\b[a-z][a-z0-9]*(?:_[A-Za-z0-9]+)+\b|\{ ?\w+ =|the question \w+"
)


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("cell.ohmic_mohm", "resistance of the cells"),
        ("cell.relaxation[2].time_constant_s", "time constant of relaxation 2 of the cells"),
        ("cells[3].capacity_Ah", "capacity of cell 3"),
        ("cell (hysteresis rate)", "hysteresis rate of the cells"),
        ("(heat loss)", "heat loss"),
        ("capacity_fraction", "capacity (1: as on the label)"),
        ("lead.joints", "bolted joints on each conductor of the leads"),
        ("protection[2]", "protection rule 2"),
        ("protection[1].release_after_s", "release delay of protection rule 1"),
        ("surroundings.temperature_C", "temperature of the surroundings"),
        ("surroundings.temperature_C.warmest_at", "warmest time of day of the surroundings"),
        ("simulation.starts_at", "time of day at the start"),
        ("wiring.layout", "how the batteries meet"),
        ("load[1].restart_V", "restart voltage of load 1"),
        ("some.new_key", "some.new_key"),
    ],
)
def test_a_key_is_told_by_what_it_means(key, words):
    assert key_words(key) == words


def test_loads_are_called_by_their_names():
    scenario = read_scenario(next(one for one in SCENARIOS if one.name == "boat.toml"))
    name = scenario.bank.loads[2].name
    assert key_words("load[3].restart_V", scenario.bank) == f'restart voltage of "{name}"'


@pytest.mark.parametrize("file", SCENARIOS, ids=lambda file: file.stem)
def test_every_assumed_or_varied_value_has_words(file):
    scenario = read_scenario(file)
    told = [key_words(re.sub(r"^battery\[\d+\][. ]", "", one.key)) for one in scenario.assumed]
    drawn = drawn_section(find_unknowns(scenario), in_words=True)
    told += [cell for row in (drawn.grid.rows if drawn.grid else ()) for cell in row]
    assert [words for words in told if OF_THE_FILE.search(words)] == []


def test_the_list_of_what_was_assumed_is_in_words_where_asked():
    pair = made_up.pair()
    rows = assumed(pair, in_words=True).grid.rows
    assert rows[0][0] == "internal resistance = 1.2 mohm"
    assert "internal resistance = 1.2 mohm" in [value for _, value, _ in assumed_rows(pair)]
    assert assumed(pair).grid.rows[0][0] == "internal_mohm = 1.2 mohm"


@pytest.mark.parametrize(("ours", "plain"), PLAIN.items())
def test_plain_words_hold_no_option_and_no_key(ours, plain):
    assert in_plain_words(f"a {ours} b") == f"a {plain} b"
    assert not re.search(r"--[a-z]|_[A-Za-z]|[{}=]", plain)


@pytest.mark.parametrize("name", ["half-known", "hut-same-end"])
def test_a_report_speaks_of_no_option_and_no_key(name):
    result = simulate(read_scenario(next(one for one in SCENARIOS if one.stem == name)))
    with threads(1) as workers:
        plan = make_plan(result.scenario, seed=1)
        spread = study_spread(plan, workers, most=20, traced=4)
    page = report_html(result, spread=spread, pictures={})
    assert "A draw can be run again alone by its number" in page
    own = r"<pre>.*?</pre>|<style>.*?</style>|<svg.*?</svg>|Notes in the file:.*?</p>"
    text = html.unescape(re.sub(r"<[^>]+>", "\n", re.sub(own, "", page, flags=re.DOTALL)))
    assert [line for line in text.splitlines() if OF_THE_FILE.search(line)] == []
