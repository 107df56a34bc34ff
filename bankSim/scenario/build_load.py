"""A load in SI, from its keys."""

import numpy as np

from bankSim.model.load import Load, Schedule
from bankSim.scenario.keys import LoadKeys
from bankSim.scenario.notes import Notes
from bankSim.scenario.tables import Profile


def build_load(keys: LoadKeys, name: str, key: str, profile: Profile | None, notes: Notes) -> Load:
    """Return a load in SI; its keys have passed `check_load`.

    Parameters
    ----------
    keys : LoadKeys
    name : str
    key : str
        Its key path, for remarks.
    profile : Profile or None
        What the profile file holds, if the keys name one.
    notes : Notes
        Gets keys that have no effect.
    """
    exponent = keys.voltage_exponent or 0.0
    scale = (keys.reference_voltage_V or 1.0) ** -exponent
    if keys.reference_voltage_V is not None and exponent == 0.0:
        notes.no_effect(f"{key}.reference_voltage_V", "voltage_exponent is 0")
    if keys.current_A is not None:
        exponent, scale, amount = 1.0, 1.0, keys.current_A
    elif keys.resistance_ohm is not None:
        exponent, scale, amount = 2.0, 1.0, 1.0 / keys.resistance_ohm
    else:
        amount = keys.power_W or 0.0
    times, amounts = np.array([0.0]), np.array([amount])
    if profile is not None:
        times, amounts = profile.time_s, profile.amount
        exponent = 1.0 if profile.is_current else exponent
    return Load(name, exponent, times, amounts * scale, _schedule(keys))


def _schedule(keys: LoadKeys) -> Schedule:
    duty, active, daily = keys.duty, keys.active_h, keys.daily
    return Schedule(
        duty_s=(duty.on_min * 60.0, duty.off_min * 60.0) if duty else None,
        active_s=tuple((start * 3600.0, end * 3600.0) for start, end in active) if active else None,
        daily_s=tuple((window.start, window.end) for window in daily) if daily else None,
    )
