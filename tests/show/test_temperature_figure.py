"""The temperature of every battery over time."""

from dataclasses import replace

import made_up
import numpy as np
import pytest

from bankSim.show.temperature_figure import temperature_figure, warms


def warmed(count=2, end_h=10.0):
    """Batteries of which number n rises evenly from 20 degC by n + 1 K."""
    names = [f"b{n}" for n in range(count)]
    outcomes = [
        made_up.outcome(name, coldest_C=20.0, warmest_C=21.0 + n) for n, name in enumerate(names)
    ]
    result = made_up.result(outcomes, end_h=end_h)
    trace = result.trace.copy()
    for n in range(count):
        trace[:, 8 + 5 * n] = np.linspace(293.15, 294.15 + n, trace.shape[0])
    return replace(result, trace=trace)


def named(figure):
    texts = [text.get_text() for text in figure.legends[0].get_texts()]
    return dict(zip(texts, figure.axes[0].lines[: len(texts)], strict=True))  # then midnights


def test_a_battery_has_to_move_by_more_than_one_kelvin():
    assert not warms(warmed(1))
    assert warms(warmed(2))


def test_lines_are_in_degrees_and_the_surroundings_are_among_them():
    figure = temperature_figure(warmed())
    lines = named(figure)
    assert list(lines) == ["b0", "b1", "surroundings"]
    first, last = lines["b1"].get_ydata()[[0, -1]]
    assert (first, last) == pytest.approx((20.0, 22.0))
    assert lines["b1"].get_xdata()[-1] == pytest.approx(10.0)  # hours
    assert set(lines["surroundings"].get_ydata()) == {25.0}
    axes = figure.axes[0]
    assert (axes.get_xlabel(), axes.get_ylabel()) == ("time [h]", "temperature [degC]")


def test_surroundings_swing_over_the_day():
    result = warmed(end_h=24.0)
    bank = replace(result.scenario.bank, swing_K=5.0)
    result = replace(result, scenario=replace(result.scenario, bank=bank))
    around = named(temperature_figure(result))["surroundings"].get_ydata()
    assert (min(around), max(around)) == pytest.approx((20.0, 30.0), abs=0.01)


def test_of_many_batteries_those_that_move_most_are_drawn_in_their_order():
    lines = named(temperature_figure(warmed(14)))
    assert list(lines) == [*(f"b{n}" for n in range(2, 14)), "surroundings"]
