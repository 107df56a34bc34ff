"""Checks inside one [[load]]; every fault is noted, none is raised."""

from bankSim.scenario.faults import Faults, show
from bankSim.scenario.keys import LoadKeys
from bankSim.scenario.lines import Path
from bankSim.scenario.plausible import check_bank_voltage
from bankSim.scenario.schedule_checks import check_windows

MOST_SWITCHINGS = 1_000_000
_AMOUNTS = ("power_W", "current_A", "resistance_ohm", "profile")


def check_load(
    keys: LoadKeys,
    path: Path,
    duration_h: float,
    bank_V: tuple[float, float] | None,
    faults: Faults,
) -> None:
    """Check one load.

    Parameters
    ----------
    keys : LoadKeys
        Sound keys.
    path : tuple
        Where it stands in the file.
    duration_h : float
        Of the run. [h]
    bank_V : (float, float) or None
        From `plausible_bank_voltage`. [V]
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
    check_windows(keys, path, faults)
    _check_duty(keys, path, duration_h, faults)
    _check_cut_off(keys, path, bank_V, faults)


def _has_reference(keys: LoadKeys, path: Path, faults: Faults) -> bool:
    given = keys.reference_voltage_V is not None
    return given or faults.touches((*path, "reference_voltage_V"))


def _refuse_power_keys(keys: LoadKeys, given: str, path: Path, faults: Faults) -> None:
    for key in ("reference_voltage_V", "voltage_exponent"):
        if getattr(keys, key) is not None:
            faults.add((*path, key), f" does not go with {given}; expected it with a power only")


def _check_cut_off(
    keys: LoadKeys, path: Path, bank_V: tuple[float, float] | None, faults: Faults
) -> None:
    if keys.cut_off_V is None:
        for key in ("cut_off_after_s", "restart_V"):
            if getattr(keys, key) is not None and not faults.touches((*path, "cut_off_V")):
                faults.add((*path, key), " needs cut_off_V; expected both or none")
        return
    plausible = [
        check_bank_voltage(getattr(keys, key), (*path, key), bank_V, faults)
        for key in ("cut_off_V", "restart_V")
    ]
    if keys.restart_V is not None and all(plausible) and not keys.restart_V > keys.cut_off_V:
        allowed = f"more than cut_off_V = {show(keys.cut_off_V)} V"
        faults.refuse((*path, "restart_V"), keys.restart_V, allowed)


def _check_duty(keys: LoadKeys, path: Path, duration_h: float, faults: Faults) -> None:
    if keys.duty is None:
        return
    switchings = 2.0 * duration_h * 60.0 / (keys.duty.on_min + keys.duty.off_min)
    if switchings > MOST_SWITCHINGS:
        text = f" would switch {switchings:.3g} times in {duration_h:g} h"
        faults.add((*path, "duty"), f"{text}; expected at most {MOST_SWITCHINGS}")
