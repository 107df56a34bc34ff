"""Capacity tests as an answer: story, JSON, figures."""

from collections.abc import Sequence
from typing import Any

from bankSim.measured.capacity_test import CapacityAnswer, Course
from bankSim.measured.uncertainty import Budget
from bankSim.show.answer import Answer
from bankSim.show.bench_figure import charge_figure, course_figure
from bankSim.show.bench_rate import apart, apart_still
from bankSim.show.bench_story import tell_tests
from bankSim.show.study_files import study_summary

COURSE, CHARGE = "test-course", "test-Ah"
FILES = (f"{COURSE}.png", f"{CHARGE}.png")


def test_answer(answer: CapacityAnswer, courses: Sequence[Course]) -> Answer:
    """Return what is told, written and drawn about capacity tests."""
    return Answer(
        tell_tests(answer, briefly=True),
        tell_tests(answer),
        test_summary(answer),
        lambda: {COURSE: course_figure(answer, courses), CHARGE: charge_figure(answer)},
    )


def test_summary(answer: CapacityAnswer) -> dict[str, Any]:
    """Return the answer as plain dictionaries, the budgets with what follows from them.

    Degrees of freedom that are infinite read null. Where rates are not alike enough for a mean, the
    numbers of all tests together say nothing.
    """
    confidence = answer.question.confidence
    budgets = {
        "measured": answer.measured.budget,
        "corrected": None if answer.corrected is None else answer.corrected.budget,
    }
    told = {
        name: _budget(budget, confidence) for name, budget in budgets.items() if budget is not None
    }
    plain = study_summary("test", answer)
    asked = plain["question"]
    alike = {"measured": not apart(answer), "corrected": not apart_still(answer)}
    return {
        **plain, "question": "test", "asked": asked, "budgets": told,
        "rates_alike_enough_for_a_mean": alike,
    }  # fmt: skip


def _budget(budget: Budget, confidence: float) -> dict[str, Any]:
    degrees = budget.degrees
    return {
        "value": budget.value,
        "unit": budget.unit,
        "combined_standard": budget.combined,
        "degrees": degrees if degrees < 1e9 else None,
        "confidence": confidence,
        "factor": budget.factor(confidence),
        "expanded": budget.expanded(confidence),
        "contributions": [
            {
                "name": one.name,
                "type": one.kind.value,
                "shape": one.shape.value,
                "width": one.width,
                "unit": one.unit,
                "sensitivity": one.sensitivity,
                "standard": one.share,
                "source": one.source,
                "assumed": one.assumed,
            }
            for one in budget.contributions
        ],
    }
