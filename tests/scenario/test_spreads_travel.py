"""Spreads come along when a scenario is copied or sent to another process."""

import copy
import pickle

from scenario_texts import LFP, read

from bankSim.model.spread import Shape, Spread
from bankSim.scenario.given_spreads import given_spreads
from bankSim.scenario.uncertain import Uncertain
from bankSim.sim.run import simulate

INDEPENDENT = '{ value = 0.9, sd = 0.01, cells = "independent" }'
SPREAD = "{ value = 2, sd = 1 }"
TEXT = f"""
[simulation]
duration_h = 1
{LFP}
capacity_fraction = {INDEPENDENT}
lead_mohm = {SPREAD}
[[load]]
power_W = 300
"""


def test_a_number_with_its_spread_travels():
    spread = Spread(Shape.TRIANGULAR, 2.0, 0.0, 1.0, 4.0)
    number = Uncertain(spread, independent=True)
    for twin in (pickle.loads(pickle.dumps(number)), copy.deepcopy(number), copy.copy(number)):
        assert type(twin) is Uncertain
        assert (twin, twin.spread, twin.independent) == (2.0, spread, True)


def test_a_scenario_with_spreads_travels(tmp_path):
    scenario = read(TEXT, tmp_path)
    twin = pickle.loads(pickle.dumps(scenario))
    assert given_spreads(twin.keys) == given_spreads(scenario.keys)
    assert len(given_spreads(twin.keys)) == 2
    assert twin.keys == scenario.keys
    assert (twin.text, twin.file, twin.folder) == (scenario.text, scenario.file, scenario.folder)
    assert (twin.assumed, twin.remarks) == (scenario.assumed, scenario.remarks)
    assert simulate(twin).trace.tobytes() == simulate(scenario).trace.tobytes()
