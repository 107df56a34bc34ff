"""A calibration as plain dictionaries, for JSON."""

from collections.abc import Sequence
from typing import Any

from bankSim.measured.calibrate import Calibration
from bankSim.measured.followed import Followed
from bankSim.show.study_files import plain, study_summary

DRAWN = ("time_s", "residual_mV", "z")


def calibration_summary(found: Calibration) -> dict[str, Any]:
    """Return what was found, without the curves that are only drawn; no NaN inside."""
    summary = study_summary("calibrate", found.label)
    summary["capacity_fraction"] = found.capacity_fraction
    summary["values"] = _plain_all(found.values)
    summary["cells"] = _plain_all(found.cells)
    summary["entangled"] = _plain_all(found.pairs)
    summary["logs"] = [_log(one) for one in found.followed]
    summary["warnings"] = [*found.label.guessed, *found.warnings]
    summary["assumed"] = [{"what": what, "source": why} for what, why in found.assumed]
    summary["fit"] = {
        "turns": found.fit.turns,
        "independent_residuals": found.fit.independent,
        "scale_of_residuals": found.fit.scale,
        "parameters": [
            {"name": one.name, "kind": one.kind, "value": float(value), "sd": float(sd),
             "sd_before": one.sd, "told_by_logs": float(learned)}
            for one, value, sd, learned in zip(
                found.fit.parameters, found.fit.numbers, found.fit.sd, found.fit.learned,
                strict=True,
            )
        ],
    }  # fmt: skip
    return summary


def _plain_all(records: Sequence[object]) -> list[Any]:
    return [plain(one) for one in records]


def _log(one: Followed) -> dict[str, Any]:
    row: dict[str, Any] = plain(one)
    for name in DRAWN:
        del row[name]
    return {**row, "error_percent": one.error_percent, "unexplained": one.unexplained}
