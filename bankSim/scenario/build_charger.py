"""A charger in SI, from its keys."""

from bankSim.model.charger import Charger, Stage, Sun
from bankSim.scenario.build_schedule import build_schedule
from bankSim.scenario.keys import ChargerKeys, StageKeys, SunKeys


def build_charger(keys: ChargerKeys, name: str) -> Charger:
    """Return a charger in SI; its keys have passed `check_charger`."""
    stages = tuple(_stage(stage) for stage in keys.stages or ())
    if keys.hold_V is not None:
        stages = (Stage(keys.hold_V),)
    return Charger(
        name=name,
        stages=stages,
        limit_A=keys.limit_A,
        limit_W=keys.limit_W,
        sun=_sun(keys.sun) if keys.sun else None,
        schedule=build_schedule(keys),
    )


def _stage(keys: StageKeys) -> Stage:
    most_s = None if keys.at_most_h is None else keys.at_most_h * 3600.0
    return Stage(keys.hold_V, keys.until_tail_A, most_s)


def _sun(keys: SunKeys) -> Sun:
    return Sun(keys.peak_W, keys.rise, keys.set)
