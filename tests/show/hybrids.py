"""Short real runs of banks that live: charge, block, come back, push each other out."""

from functools import cache

from simple_banks import affine, bank_of, run, steady

from bankSim.model.charger import Charger, Stage, Sun
from bankSim.model.load import Schedule
from bankSim.model.rule import Blocks, Needs, Release, Rule, Watch

HOUR_S = 3600.0
SHAPE = {"base": 12.5, "span": 1.3}


def full(releases=13.2):
    return Rule(Watch.HIGHEST_CELL, False, 13.75, 2.0, Blocks.CHARGE, Release(releases, 60.0))


def empty(releases=12.9):
    return Rule(Watch.LOWEST_CELL, True, 12.6, 2.0, Blocks.DISCHARGE, Release(releases, 20.0))


@cache
def holds_back():
    """A full charge after which "small" sits out behind its diode and comes back with a surge."""
    rule = Rule(Watch.HIGHEST_CELL, False, 13.4, 2.0, Blocks.CHARGE, Release(13.2, 60.0))
    small = affine("small", 0.004, 40.0, z=0.66, rules=[rule], **SHAPE)
    large = affine("large", 0.008, 100.0, z=0.5, **SHAPE)
    mains = Charger(
        "mains", (Stage(13.6, 5.0), Stage(13.5)), limit_A=40.0,
        schedule=Schedule(active_s=((0.0, 2.0 * HOUR_S),)),
    )  # fmt: skip
    return run(
        bank_of(small, large, load=steady(12.0), duration_s=9 * HOUR_S, chargers=(mains,),
                stop_when_empty=False)
    )  # fmt: skip


@cache
def cascade():
    """Three batteries under 250 A: the first goes by its own rule, the others follow it."""
    limits = {"left": (80.0, 3.0), "middle": (110.0, 1.0), "right": (140.0, 1.0)}
    batteries = [
        affine(
            name, 0.01, z=0.9,
            rules=[Rule(Watch.DISCHARGE_CURRENT, False, amps, delay_s, Blocks.DISCHARGE,
                        Release(1.0, 30.0, Needs.LOAD_REMOVED))],
            **SHAPE,
        )
        for name, (amps, delay_s) in limits.items()
    ]  # fmt: skip
    load = steady(250.0, schedule=Schedule(active_s=((600.0, 1200.0),)))
    return run(bank_of(*batteries, load=load, duration_s=1800.0, stop_when_empty=False))


@cache
def hiccups():
    """One battery that recovers at rest and trips again at once, a hundred times."""
    old = affine("old", 0.02, z=0.3, rules=[empty(12.62)], **SHAPE)
    return run(bank_of(old, load=steady(15.0), duration_s=3 * HOUR_S, stop_when_empty=False))


@cache
def sunny(days=3):
    """Sun by day, a load all the time, the clock known."""
    roof = Charger("roof", (Stage(13.9),), sun=Sun(400.0, 7 * HOUR_S, 18 * HOUR_S))
    one = affine("one", 0.01, z=0.7, rules=[full(), empty()], **SHAPE)
    return run(
        bank_of(one, load=steady(9.0), duration_s=days * 24 * HOUR_S, chargers=(roof,),
                stop_when_empty=False, starts_at_s=6 * HOUR_S)
    )  # fmt: skip


@cache
def hiccups_both_ways():
    """As `hiccups`, by a rule that blocks charge and discharge."""
    rule = Rule(Watch.LOWEST_CELL, True, 12.6, 2.0, Blocks.BOTH, Release(12.62, 20.0))
    old = affine("old", 0.02, z=0.3, rules=[rule], **SHAPE)
    return run(bank_of(old, load=steady(15.0), duration_s=3 * HOUR_S, stop_when_empty=False))


@cache
def stops_before(window_s, sun=None):
    """A bank that is empty after half an hour, with a charger at these times."""
    mains = Charger(
        "mains", (Stage(13.6),), sun=sun, limit_A=None if sun else 1.0,
        schedule=Schedule(active_s=(window_s,)),
    )  # fmt: skip
    rule = Rule(Watch.LOWEST_CELL, True, 12.6, 2.0, Blocks.DISCHARGE)
    one = affine("one", 0.01, z=0.3, rules=[rule], **SHAPE)
    return run(
        bank_of(
            one, load=steady(20.0), duration_s=9 * HOUR_S, chargers=(mains,), starts_at_s=21600.0
        )
    )


@cache
def three_and_a_charger():
    """Three batteries that a charger feeds."""
    batteries = [affine(name, 0.01, z=0.5, **SHAPE) for name in ("a", "b", "c")]
    mains = Charger("mains", (Stage(13.6),), limit_A=10.0)
    return run(bank_of(*batteries, load=steady(2.0), duration_s=HOUR_S, chargers=(mains,)))
