"""Random hybrid banks with an unknown on every kind of number they have."""

import numpy as np
from random_hybrids import random_hybrid

from bankSim.model.spread import Shape, Spread
from bankSim.scenario.record import Scenario
from bankSim.study.draws import drawn_values
from bankSim.study.ensemble import Ensemble
from bankSim.study.fields import Field, base_columns
from bankSim.study.uniforms import uniforms
from bankSim.study.unknown import Effect, Kind, Op, Unknown

NARROW = (Field.THRESHOLD, Field.LET_GO, Field.HOLD)
SHIFTED = {Field.SOC: 0.02, Field.TEMPERATURE: 3.0}


def hybrid(seed):
    """A hybrid bank as a scenario without a file."""
    return Scenario("hybrid", random_hybrid(seed))


def hybrid_unknowns(bank):
    """One unknown for each field that the bank has numbers of."""
    found = []
    for field, own in base_columns(bank).items():
        used = own[0] < 1.0 if field is Field.AVAILABLE else own[0] != 0.0
        if not used.any():
            continue
        sd = 0.002 if field in NARROW else 0.03
        spread, op = Spread(Shape.NORMAL, 1.0, sd, 0.5, 1.5), Op.SCALE
        if field in SHIFTED:
            spread, op = Spread(Shape.NORMAL, 0.0, SHIFTED[field]), Op.SHIFT
        effect = Effect(field, tuple(np.flatnonzero(used).tolist()), op)
        found.append(
            Unknown(field.name, Kind.KEY, "", field.name, "", spread, (effect,), "made up")
        )
    return tuple(found)


def drawn(unknowns, draws, seed=1, first=0):
    """Values of some draws."""
    labels = [unknown.label for unknown in unknowns]
    return drawn_values(unknowns, uniforms(labels, seed, first, first + draws))


def hybrid_study(seed):
    """An ensemble of a hybrid with its unknowns."""
    scenario = hybrid(seed)
    return Ensemble(scenario, hybrid_unknowns(scenario.bank))


def assert_same_rows(one, other):
    """Check two tables bit for bit."""
    assert one.keys() == other.keys()
    for name in one:
        assert one[name].dtype == other[name].dtype, name
        assert one[name].tobytes() == other[name].tobytes(), name
