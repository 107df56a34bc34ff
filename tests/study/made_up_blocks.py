"""Plans whose blocks cost nothing: numbers made up from the chances of the draws."""

import time
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager

import numpy as np
from simple_banks import affine, bank_of, steady

from bankSim.model.spread import Shape, Spread
from bankSim.scenario.record import Scenario
from bankSim.study.blocks import Workers
from bankSim.study.fields import Field
from bankSim.study.plan import Plan
from bankSim.study.uniforms import RandomDraws
from bankSim.study.unknown import Effect, Kind, Unknown

BLOCK = 10


def made_up_plan(*, seed=1, tolerance=1e-2, block=BLOCK, title="made up"):
    """A plan of one battery with one unknown."""
    bank = bank_of(affine("a"), load=steady(5.0))
    spread = Spread(Shape.NORMAL, 1.0, 0.05, 0.5, 1.5)
    unknown = Unknown(
        "capacity", Kind.CAPACITY, "a", "", "", spread, (Effect(Field.CHARGE, (0,)),), "made up"
    )
    scenario = Scenario(title, bank, text=title)
    design = RandomDraws(("capacity",), seed)
    return Plan(scenario, (unknown,), design, tolerance, block, content=title)


def made_up_block(plan, number):
    """A table as of a march, of all kinds of numbers that tables have."""
    first = number * plan.block
    draw = np.arange(first, first + plan.block)
    Ah = 100.0 * plan.values(first, first + plan.block)[:, 0]
    return {
        "draw": draw,
        "end_status": np.full(plan.block, 4, dtype=np.int8),
        "first_cut_out": (draw % 3).astype(np.int16),
        "bank.delivered_Ah": Ah,
        "a.cut_out_h": np.where(draw % 4 == 0, np.nan, Ah / 7.0),
    }


def whole_table(plan, blocks):
    """What so many blocks must hold together."""
    tables = [made_up_block(plan, number) for number in range(blocks)]
    return {name: np.concatenate([table[name] for table in tables]) for name in tables[0]}


@contextmanager
def made_up_workers(count=2, march=made_up_block, delays=None):
    """Threads that make up blocks; `delays` from a seed mixes up their order."""
    rng = np.random.default_rng(delays)

    def delayed(plan, number):
        if delays is not None:
            time.sleep(rng.uniform(0.0, 0.004))
        return march(plan, number)

    with ThreadPoolExecutor(count) as executor:
        yield Workers(executor, count, delayed)
