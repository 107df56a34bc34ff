"""The plan of a test as story, JSON and figure."""

from bankSim.show.answer import Answer
from bankSim.show.plan_figure import plan_figure
from bankSim.show.plan_files import plan_summary
from bankSim.show.plan_story import tell_plan
from bankSim.study.bench_plan import BenchPlan


def plan_answer(plan: BenchPlan, precision_percent: float) -> Answer:
    """Return how a plan is told and written.

    Parameters
    ----------
    plan : BenchPlan
    precision_percent : float
        Wanted of the mean of repeated tests.
    """
    return Answer(
        tell_plan(plan, precision_percent, briefly=True),
        tell_plan(plan, precision_percent),
        plan_summary(plan, precision_percent),
        lambda: {"plan": plan_figure(plan)},
    )
