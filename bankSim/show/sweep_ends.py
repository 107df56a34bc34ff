"""Where along a sweep the run is too short: at its end loads are fed, or charge still enters."""

from bankSim.show.fed_words import MOST, are_mostly_off, too_short
from bankSim.show.sweep_words import is_charged_only, where
from bankSim.study.sweep import SweepResult, SweptPoint


def told_ends(result: SweepResult) -> list[str]:
    """Say at which points the end of the run, not the bank, decides in most cases."""
    charging = is_charged_only(result)
    flags = [_still_charges(point) if charging else _is_fed(point) for point in result.points]
    if not any(flags):
        return []
    what = "the bank still takes in charge" if charging else "the loads are still fed"
    told = f"In most cases {what} when the run ends, {where(result, flags)}"
    return [f"{told}: {too_short(charging=charging)}."]


def _is_fed(point: SweptPoint) -> bool:
    return point.fed.value >= MOST and not are_mostly_off(point.happenings)


def _still_charges(point: SweptPoint) -> bool:
    return point.happenings.still_charging.value >= MOST
