"""Places of every slider of the lesson, coarse, and the answers there, each solved once."""

from functools import cache

from bankSim.screens.lesson.step import Answer
from bankSim.screens.lesson.steps import STEPS

BY_KEY = {step.key: step for step in STEPS}
PLACES = 7


def places(key: str) -> list[float]:
    """Return some seven places of a slider: both ends, the start, and between."""
    slider = BY_KEY[key].slider
    count = round((slider.high - slider.low) / slider.step)
    stride = max(1, count // (PLACES - 1))
    found = {round(slider.low + slider.step * k, 6) for k in range(0, count + 1, stride)}
    return sorted(found | {slider.low, slider.high, slider.start})


@cache
def answer(key: str, value: float) -> Answer:
    """Return the answer of a step at a place of its slider."""
    return BY_KEY[key].answer(value)


GRID = [(key, value) for key in BY_KEY for value in places(key)]


def at(key: str) -> list[tuple[float, Answer]]:
    """Return places and answers of one step."""
    return [(value, answer(key, value)) for value in places(key)]
