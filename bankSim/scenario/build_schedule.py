"""When a load or a charger is on, in SI."""

from bankSim.model.load import Schedule
from bankSim.scenario.keys import ChargerKeys, DutyKeys, LoadKeys


def build_schedule(keys: LoadKeys | ChargerKeys, duty: DutyKeys | None = None) -> Schedule:
    """Return a schedule; its keys have passed `check_windows`."""
    active, daily = keys.active_h, keys.daily
    return Schedule(
        duty_s=(duty.on_min * 60.0, duty.off_min * 60.0) if duty else None,
        active_s=tuple((start * 3600.0, end * 3600.0) for start, end in active) if active else None,
        daily_s=tuple((window.start, window.end) for window in daily) if daily else None,
    )
