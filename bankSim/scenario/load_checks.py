"""Checks inside one [[load]]; every fault is noted, none is raised."""

from bankSim.scenario.faults import Faults
from bankSim.scenario.keys import LoadKeys
from bankSim.scenario.lines import Path

MOST_SWITCHINGS = 1_000_000
_AMOUNTS = ("power_W", "current_A", "resistance_ohm", "profile")


def check_load(keys: LoadKeys, path: Path, duration_h: float, faults: Faults) -> None:
    """Check one load.

    Parameters
    ----------
    keys : LoadKeys
        Sound keys.
    path : tuple
        Where it stands in the file.
    duration_h : float
        Of the run. [h]
    faults : Faults
        Gets what is wrong; keys that are already in doubt are not told again.
    """
    given = [key for key in _AMOUNTS if getattr(keys, key) is not None]
    if len(given) > 1:
        faults.add(path, f": {' and '.join(given)} are given together; expected one of them")
    elif not given and not faults.touches(*((*path, key) for key in _AMOUNTS)):
        faults.add(path, f": nothing is drawn; expected one of {', '.join(_AMOUNTS)}")
    if given in (["current_A"], ["resistance_ohm"]):
        _refuse_power_keys(keys, given[0], path, faults)
    elif keys.voltage_exponent and not _has_reference(keys, path, faults):
        faults.add((*path, "reference_voltage_V"), " is missing; voltage_exponent needs it")
    _check_windows(keys, path, faults)
    _check_duty(keys, path, duration_h, faults)


def _has_reference(keys: LoadKeys, path: Path, faults: Faults) -> bool:
    given = keys.reference_voltage_V is not None
    return given or faults.touches((*path, "reference_voltage_V"))


def _refuse_power_keys(keys: LoadKeys, given: str, path: Path, faults: Faults) -> None:
    for key in ("reference_voltage_V", "voltage_exponent"):
        if getattr(keys, key) is not None:
            faults.add((*path, key), f" does not go with {given}; expected it with a power only")


def _check_windows(keys: LoadKeys, path: Path, faults: Faults) -> None:
    latest = 0.0
    for number, (start, end) in enumerate(keys.active_h or ()):
        where = (*path, "active_h", number)
        if not start < end:
            faults.refuse(where, [start, end], "[from, to] with from before to")
        elif start < latest:
            faults.refuse(where, [start, end], f"a start at {latest:g} h or later, in order")
        latest = max(latest, end)
    for number, window in enumerate(keys.daily or ()):
        if window.start == window.end:
            faults.add((*path, "daily", number), ": from and to are equal; expected two times")


def _check_duty(keys: LoadKeys, path: Path, duration_h: float, faults: Faults) -> None:
    if keys.duty is None:
        return
    switchings = 2.0 * duration_h * 60.0 / (keys.duty.on_min + keys.duty.off_min)
    if switchings > MOST_SWITCHINGS:
        text = f" would switch {switchings:.3g} times in {duration_h:g} h"
        faults.add((*path, "duty"), f"{text}; expected at most {MOST_SWITCHINGS}")
