"""Banks at the ends of what is legal: they end, in time, and every number of theirs is one."""

import re

import pytest
from pace import within
from scenario_texts import COMES_AND_GOES, LFP

from bankSim.scenario.read import parse_scenario
from bankSim.show.story import tell
from bankSim.sim.run import simulate
from tests.hostile import shipped
from tests.hostile.judge import check_result

LOAD = "[[load]]\ncurrent_A = {}\n"


def head(hours, every_s=600.0):
    return f"[simulation]\nduration_h = {hours}\noutput_every_s = {every_s}\nstop = 'end'\n"


def batteries(count, more=""):
    return "".join(LFP.replace("house", f"b{n}") + more for n in range(count))


CHATTER = """
[[battery.protection]]
watches = "battery voltage"
trips_below = 13.2
blocks = "discharge"
releases_above = 13.200001
release_after_s = 0.0
"""
ONE_SECOND = """
[[battery.protection]]
watches = "discharge current"
trips_above = 20.0
after_s = 1.0
blocks = "discharge"
releases_below = 1.0
release_after_s = 1.0
"""
EXTREMES = {
    "64 batteries": (head(2.0) + batteries(64) + LOAD.format(600.0), 60.0),
    "leads of a micro-ohm": (
        head(10.0) + batteries(4, "lead_mohm = 0.001\n") + LOAD.format(80),
        20.0,
    ),
    "10 000 Ah": (head(200.0) + batteries(2).replace("100.0", "10000.0") + LOAD.format(50.0), 20.0),
    "delays of a second": (head(1.0) + batteries(2, ONE_SECOND) + LOAD.format(60.0), 20.0),
    "a rule that chatters": (head(1.0) + batteries(2, CHATTER) + LOAD.format(60.0), 20.0),
    "a year": (head(8760.0, 3600.0) + batteries(2) + LOAD.format(0.01), 20.0),
}


@pytest.mark.parametrize("name", EXTREMES)
def test_extremes_end_in_time(name, tmp_path):
    text, most_s = EXTREMES[name]
    with within(most_s):
        check_result(simulate(parse_scenario(text, tmp_path, "bank.toml")))


def test_a_year_in_a_winter_hut_is_told_soon(tmp_path):
    text = shipped.scenarios()["winter-hut.toml"].decode()
    text = re.sub(r"duration_h = [\d.]+", "duration_h = 5000.0", text)
    scenario = parse_scenario(re.sub(r"output_every_s = .*", "", text), tmp_path)
    assert scenario.bank.duration_s == 5000.0 * 3600.0
    result = simulate(scenario)
    with within(2.0):
        tell(result)


def test_thousands_of_events_are_told_soon(tmp_path):
    duty = "duty = { on_min = 0.3, off_min = 0.3 }\n"
    text = head(30.0, 60.0) + LFP + COMES_AND_GOES + LOAD.format(8.0) + duty
    result = simulate(parse_scenario(text, tmp_path))
    assert len(result.events) > 5_000
    with within(3.0):
        tell(result)
