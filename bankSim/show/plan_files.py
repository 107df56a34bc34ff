"""The numbers of a test plan for JSON."""

from typing import Any

from bankSim.show.plan_story import clock
from bankSim.show.study_files import study_summary
from bankSim.study.bench_plan import PERCENTS, BenchPlan, repeats


def plan_summary(plan: BenchPlan, wanted_percent: float) -> dict[str, Any]:
    """Return a plan as plain dictionaries."""
    summary = study_summary("plan", plan)
    for name in ("course_h", "course_V"):  # the figure shows them
        del summary[name]
    for name in ("duration_h", "given_Ah"):
        values = zip(PERCENTS, getattr(plan, name), strict=True)
        summary[name] = {f"{percent:g}": value for percent, value in values}
    return {
        **summary,
        "starts_at": clock(plan, 0.0),
        "be_there_from": clock(plan, plan.at(2.5), early=True),
        "be_there_until": clock(plan, plan.at(97.5)),
        "wanted_percent": wanted_percent,
        "repeats": repeats(plan.repeat_sd_percent, wanted_percent),
    }
