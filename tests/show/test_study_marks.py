"""Marks that all figures of studies share."""

from dataclasses import replace

import pytest
from matplotlib.figure import Figure
from told_studies import NOTHING, band

from bankSim.show.study_marks import (
    beside_row,
    interval_legend,
    interval_mark,
    name_rows,
    sign,
    whisker,
)
from bankSim.study.statistics import Estimate


@pytest.fixture
def axes():
    return Figure().subplots()


def test_an_interval_is_thin_outside_thick_inside_and_has_its_median(axes):
    interval_mark(axes, band(1.0, 3.0, 7.0, central=4.0), 2.0, "#0072B2")
    outer, inner, median, ring = axes.lines
    assert list(outer.get_xdata()) == [1.0, 7.0]
    assert list(inner.get_xdata()) == [2.0, 5.0]  # the quarters of `band` are half-way
    assert outer.get_linewidth() < inner.get_linewidth()
    assert (list(median.get_xdata()), median.get_marker()) == ([3.0], "|")
    assert all(set(line.get_ydata()) == {2.0} for line in (outer, inner, median))
    assert (list(ring.get_xdata()), ring.get_marker()) == ([4.0], "o")
    assert ring.get_ydata()[0] == pytest.approx(2.3)  # rows count downwards: below the line


def test_no_ring_without_a_single_run_and_nothing_without_draws(axes):
    interval_mark(axes, replace(band(1.0, 3.0, 7.0), central=None), 0.0, "k")
    assert len(axes.lines) == 3
    interval_mark(axes, NOTHING, 1.0, "k")
    assert len(axes.lines) == 3


def test_a_whisker_is_in_percent_unless_told_otherwise(axes):
    whisker(axes, Estimate(0.5, 0.4, 0.7), 3.0)
    whisker(axes, Estimate(0.5, 0.4, 0.7), 3.0, scale=1.0)
    per_cent, plain = axes.lines
    assert list(per_cent.get_xdata()) == pytest.approx([40.0, 70.0])
    assert list(per_cent.get_ydata()) == [3.0, 3.0]
    assert list(plain.get_xdata()) == pytest.approx([0.4, 0.7])


def test_rows_run_from_the_top_down_and_names_stand_as_written(axes):
    name_rows(axes, ["$old$", "_new"], first=1.0)
    assert [tick.get_text() for tick in axes.get_yticklabels()] == ["$old$", "_new"]
    assert not any(tick.get_parse_math() for tick in axes.get_yticklabels())
    assert list(axes.get_yticks()) == [1.0, 2.0]
    bottom, top = axes.get_ylim()
    assert (bottom, top) == pytest.approx((2.55, 0.4))


@pytest.mark.parametrize(("count", "size"), [(16, 8.5), (17, 6.5)])
def test_names_of_a_crowd_are_small(axes, count, size):
    name_rows(axes, [str(n) for n in range(count)])
    assert axes.get_yticklabels()[0].get_fontsize() == size


def test_words_stand_behind_a_mark_as_written(axes):
    beside_row(axes, 4.0, 1.0, "$x$ 3 %")
    (text,) = axes.texts
    assert (text.xy, text.get_text(), text.get_ha()) == ((4.0, 1.0), "$x$ 3 %", "left")
    assert text.xyann[0] > 0
    assert not text.get_parse_math()


@pytest.mark.parametrize("with_label", [False, True])
def test_the_legend_explains_each_mark(with_label):
    figure = Figure(layout="constrained")
    interval_legend(figure, with_label=with_label)
    told = [text.get_text() for text in figure.legends[0].get_texts()]
    label = ["label"] if with_label else []
    assert told == ["5 to 95 % of the draws", "25 to 75 %", "median", "the single run", *label]
    marks = figure.legends[0].legend_handles
    assert marks[0].get_linewidth() < marks[1].get_linewidth()


def test_draws_and_seed_are_signed_as_written():
    figure = Figure()
    sign(figure, "300 draws, seed 1, $")
    assert figure._supxlabel.get_text() == "300 draws, seed 1, $"
    assert not figure._supxlabel.get_parse_math()
