"""Checks of the windows in which a load or a charger is on."""

from bankSim.scenario.faults import Faults
from bankSim.scenario.keys import ChargerKeys, LoadKeys
from bankSim.scenario.lines import Path


def check_windows(keys: LoadKeys | ChargerKeys, path: Path, faults: Faults) -> None:
    """Check `active_h` and `daily`; every fault is noted."""
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
