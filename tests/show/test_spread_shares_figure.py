"""Ah and hours of the draws of a spread."""

import made_up_studies as studies
import pytest
from study_cases import charge_only
from study_pictures import bars, texts

from bankSim.show.shares_figure import shares_figure


def test_histogram_counts_every_draw_and_marks_the_points():
    result = studies.spread()
    axes = shares_figure(result).axes[0]
    assert sum(bar.get_height() for bar in bars(axes)) == pytest.approx(400)
    marked = sorted(line.get_xdata()[0] for line in axes.lines)
    points = [result.bank.percentiles[k].value for k in (0, 2, 4)]
    assert marked == pytest.approx(sorted([*points, result.bank.central]))


def test_intervals_are_those_of_the_result():
    result = studies.spread()
    axes = shares_figure(result).axes[1]
    thin, thick, middle, ring, label = (line.get_xdata() for line in axes.lines[:5])
    points = [point.value for point in result.batteries[0].delivered.percentiles]
    assert list(thin) == pytest.approx([points[0], points[4]])
    assert list(thick) == pytest.approx([points[1], points[3]])
    assert list(middle) == pytest.approx([points[2]])
    assert list(ring) == pytest.approx([result.batteries[0].delivered.central])
    assert list(label) == [100.0]
    assert axes.get_xlabel() == "charge [Ah]"


def test_the_labels_and_the_hours_stand_beside():
    told = texts(shares_figure(studies.spread()))
    assert any(text.endswith("; the labels say 210 Ah") for text in told)
    assert {"loads fed", "old cuts out", "new cuts out"} <= set(told)
    assert any(" h, in " in text for text in told)


def test_without_a_load_it_is_told_what_is_taken():
    figure = shares_figure(charge_only())
    assert len(figure.axes) == 2
    assert figure.axes[0].get_xlabel() == "charge the bank takes [Ah]"
    assert figure.axes[1].lines[2].get_xdata()[0] == pytest.approx(70.0)
