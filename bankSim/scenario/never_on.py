"""Times that do not go with the run: loads and chargers never on, profiles that end long before."""

from dataclasses import replace

import numpy as np

from bankSim.model.bank import Bank
from bankSim.model.charger import Charger
from bankSim.model.load import Load, Schedule
from bankSim.scenario.notes import Notes
from bankSim.scenario.tables import Profile

LEAST_ROWS, MOST_GAPS = 3, 2.0  # of a profile that seems to go on; own choice


def note_never_on(bank: Bank, notes: Notes) -> None:
    """Remark on every load that never draws (or gives), and every charger that is never on.

    A load that is written as nothing at all, such as ``power_W = 0``, is left alone.

    Parameters
    ----------
    bank : Bank
    notes : Notes
        Gets the remarks.
    """
    run = f"in the {bank.duration_s / 3600.0:g} h of the run"
    for number, load in enumerate(bank.loads, 1):
        if load.profile_amount.any() and not _draws(load, bank):
            where = _times(load.schedule, profile=load.profile_s.size > 1 or load.profile_s[0] > 0)
            notes.no_effect(f"load[{number}]", f"it never draws {run}: look at {where}")
    for number, charger in enumerate(bank.chargers, 1):
        if not _is_on(charger, bank):
            where = _times(charger.schedule, sun=charger.sun is not None)
            notes.no_effect(f"charger[{number}]", f"it is never on {run}: look at {where}")


def note_profile_end(profile: Profile, duration_h: float, key: str, notes: Notes) -> None:
    """Remark on a profile whose last value has to stand for much of the run.

    Parameters
    ----------
    profile : Profile
    duration_h : float
        Of the run. [h]
    key : str
        Key path of its load.
    notes : Notes
        Gets the remark.
    """
    time_h = profile.time_s / 3600.0
    left_h = duration_h - float(time_h[-1])
    if time_h.size >= LEAST_ROWS and left_h > MOST_GAPS * float(np.diff(time_h).max()):
        unit = "A" if profile.is_current else "W"
        held = f"{profile.amount[-1]:g} {unit}"
        notes.remarks.append(
            f"{key}.profile ends after {time_h[-1]:.3g} h and does not begin again: its last "
            f"value, {held}, holds for what is left of the {duration_h:g} h; where that is meant, "
            "a last row at the end of the run says so."
        )


def _times(schedule: Schedule, *, profile: bool = False, sun: bool = False) -> str:
    """Name the keys that say when it is on."""
    given = (
        ("active_h", schedule.active_s is not None),
        ("daily", schedule.daily_s is not None),
        ("profile", profile),
        ("sun", sun),
    )
    return " and ".join(name for name, is_given in given if is_given)


def _draws(load: Load, bank: Bank) -> bool:
    """Tell whether a load is ever anything but 0; every duty cycle begins with its on part."""
    always = replace(load, schedule=replace(load.schedule, duty_s=None))
    times_s = np.append(0.0, always.edges_s(bank.duration_s, bank.starts_at_s))
    return bool(always.amount(times_s, bank.starts_at_s).any())


def _is_on(charger: Charger, bank: Bank) -> bool:
    """Tell whether the hours of a charger, and the sun, ever have it on."""
    times_s = np.append(0.0, charger.edges_s(bank.duration_s, bank.starts_at_s))
    return bool(charger.is_on(times_s, bank.starts_at_s).any())
