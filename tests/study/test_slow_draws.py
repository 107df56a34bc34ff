"""No draw may creep: a limit that is touched is not to cut the march into microseconds."""

from pathlib import Path

import pytest

from bankSim import read_scenario
from bankSim.sim.engine import Engine
from bankSim.study.drawn_bank import drawn_bank
from bankSim.study.plan import make_plan, ready

CASCADE = Path(__file__).parents[2] / "scenarios" / "cascade.toml"
MOST_STEPS = 20_000  # a usual draw takes some 200


@pytest.mark.parametrize("draw", [387, 795])
def test_a_current_that_dips_back_under_its_limit(draw):
    # Own count: at a wide step the current rises through the limit, at the short one of the rule's
    # delay it falls back; both together once took 2 to 15 million steps of a microsecond.
    plan = make_plan(read_scenario(CASCADE), seed=1)
    study = ready(plan)
    base, columns = study.bank_of(plan.values(draw, draw + 1)[0], draw)
    engine = Engine(drawn_bank(base, columns, 0), study.tolerance, keep_trace=False)
    while not engine.go_on(2_000):
        assert engine.run.clock["steps"][0] < MOST_STEPS
    assert engine.run.clock["steps"][0] < MOST_STEPS
