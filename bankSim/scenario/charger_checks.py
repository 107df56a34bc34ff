"""Checks inside one [[charger]]; every fault is noted, none is raised."""

from bankSim.scenario.faults import Faults, show
from bankSim.scenario.keys import ChargerKeys
from bankSim.scenario.lines import Path
from bankSim.scenario.plausible import check_bank_voltage
from bankSim.scenario.quantity import time_of_day
from bankSim.scenario.schedule_checks import check_windows

_LIMITS = ("limit_A", "limit_W", "sun")
_HOLDS = ("stages", "hold_V")


def check_charger(
    keys: ChargerKeys, path: Path, bank_V: tuple[float, float] | None, faults: Faults
) -> None:
    """Check one charger.

    Parameters
    ----------
    keys : ChargerKeys
        Sound keys.
    path : tuple
        Where it stands in the file.
    bank_V : (float, float) or None
        From `plausible_bank_voltage`. [V]
    faults : Faults
        Gets what is wrong; keys that are already in doubt are not told again.
    """
    _check_one_of(keys, _LIMITS, "how much it gives is missing", path, faults)
    _check_one_of(keys, _HOLDS, "the voltage that it holds is missing", path, faults)
    check_bank_voltage(keys.hold_V, (*path, "hold_V"), bank_V, faults)
    stages = keys.stages or []
    for number, stage in enumerate(stages):
        where = (*path, "stages", number)
        check_bank_voltage(stage.hold_V, (*where, "hold_V"), bank_V, faults)
        endless = stage.until_tail_A is None and stage.at_most_h is None
        if endless and number < len(stages) - 1:
            text = ": it never ends, so the next stage is never reached; "
            faults.add(where, f"{text}expected until_tail_A or at_most_h")
        _check_tail(stage.until_tail_A, keys.limit_A, (*where, "until_tail_A"), faults)
    if keys.sun is not None and not keys.sun.rise < keys.sun.set:
        rise, sets = time_of_day(keys.sun.rise), time_of_day(keys.sun.set)
        text = f": set = {sets} is not after rise = {rise}"
        faults.add((*path, "sun"), f"{text}; expected both on the same day")
    check_windows(keys, path, faults)


def _check_tail(tail_A: float | None, limit_A: float | None, path: Path, faults: Faults) -> None:
    """Note a tail current that a stage reaches as soon as it has reached its voltage."""
    if tail_A is not None and limit_A is not None and tail_A >= limit_A:
        faults.refuse(path, tail_A, f"less than limit_A = {show(limit_A)} A, or it ends at once")


def _check_one_of(
    keys: ChargerKeys, names: tuple[str, ...], missing: str, path: Path, faults: Faults
) -> None:
    given = [name for name in names if getattr(keys, name) is not None]
    if len(given) > 1:
        faults.add(path, f": {' and '.join(given)} are given together; expected one of them")
    elif not given and not faults.touches(*((*path, name) for name in names)):
        faults.add(path, f": {missing}; expected one of {', '.join(names)}")
