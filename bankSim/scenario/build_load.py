"""A load in SI, from its keys."""

import numpy as np

from bankSim.model.load import CutOff, Load
from bankSim.scenario.build_schedule import build_schedule
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
        Its key path.
    profile : Profile or None
        What the profile file holds, if the keys name one.
    notes : Notes
        Gets what was assumed or has no effect.
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
    schedule = build_schedule(keys, keys.duty)
    cut_off = _cut_off(keys, key, notes)
    return Load(name, exponent, times, amounts * scale, schedule, cut_off)


def _cut_off(keys: LoadKeys, key: str, notes: Notes) -> CutOff | None:
    if keys.cut_off_V is None:
        return None
    source = "not given: switches off at once"
    after_s = notes.given_or(keys.cut_off_after_s, f"{key}.cut_off_after_s", 0.0, "s", source)
    if keys.restart_V is None:
        notes.assume(f"{key}.restart_V", "stays off", "", "not given: somebody has to switch it on")
    return CutOff(keys.cut_off_V, after_s, keys.restart_V)
