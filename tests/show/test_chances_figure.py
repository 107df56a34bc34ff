"""Bars of chances."""

from dataclasses import replace

import made_up_studies as studies
import numpy as np
import pytest
from study_cases import SPREADS
from study_pictures import bars, texts

from bankSim.show.chances_figure import chances_figure
from bankSim.study.statistics import Estimate, chance


def test_bars_are_the_chances_of_the_result():
    result = studies.spread()
    first, _, cautions = chances_figure(result).axes
    values = [100.0 * b.first.value for b in result.batteries] + [100.0 * result.nobody.value]
    assert [bar.get_width() for bar in bars(first)] == pytest.approx(values)
    assert [bar.get_width() for bar in bars(cautions)] == pytest.approx([80.0, 79.0, 78.0])
    whiskers = [line.get_xdata() for line in first.lines if line.get_marker() == "|"]
    expected = [(100.0 * b.first.low, 100.0 * b.first.high) for b in result.batteries]
    np.testing.assert_allclose(whiskers[:2], expected)
    named = [tick.get_text() for tick in first.get_yticklabels()]
    assert named == ["old", "new", "nobody"]


def test_chances_are_told_of_a_hundred():
    figure = chances_figure(studies.spread(draws=400))
    rows = [text for text in texts(figure) if text.endswith(" of 100")]
    assert "80 of 100" in rows
    assert "0 of 100" in rows
    rare = replace(studies.spread(), nobody=chance(1, 3000))
    assert "0.03 of 100" in texts(chances_figure(rare))


def test_cells_of_a_battery_add_up_to_its_cut_outs():
    result = studies.spread()
    cells = chances_figure(result).axes[1]
    field = cells.collections[0].get_array().reshape(2, 6)
    assert field[0, 0] == pytest.approx(100.0 * result.batteries[0].at_all.value)
    assert field[1, 1] == pytest.approx(100.0 * result.batteries[1].at_all.value)
    assert field[0, 4] == pytest.approx(0.0)  # no other cause
    written = [text.get_text() for text in cells.texts]
    stays = round(100.0 * (1.0 - result.batteries[0].at_all.value))
    assert written[5] == f"{stays}"


def test_without_a_cut_out_there_are_no_cells_and_nobody_is_all():
    figure = chances_figure(SPREADS["no cut-out"]())
    assert len(figure.axes) == 2
    assert "Nobody cuts out in 100 of 100 cases" in texts(figure)


def test_severity_is_told_by_word_and_hatch_too():
    axes = chances_figure(studies.spread()).axes[2]
    named = [tick.get_text() for tick in axes.get_yticklabels()]
    assert [name.partition(":")[0] for name in named] == ["danger", "warning", "note"]
    assert len({bar.get_hatch() for bar in bars(axes)}) == 3
    assert "Cautions in 100 draws that were looked at in full" in axes.get_title(loc="left")
    many = chances_figure(SPREADS["many cautions"]()).axes[2]
    assert "6 more are less severe or rarer" in many.get_title(loc="left").replace("\n", " ")


def test_unlikely_firsts_of_a_crowd_are_added_up():
    result = SPREADS["crowd"]()
    axes = chances_figure(result).axes[0]
    named = [tick.get_text() for tick in axes.get_yticklabels()]
    assert len(named) == 13
    assert named[-2:] == ["53 others", "nobody"]
    assert sum(bar.get_width() for bar in bars(axes)) == pytest.approx(100.0)


def test_who_is_first_is_open_where_intervals_meet():
    close = replace(
        studies.spread(),
        batteries=tuple(
            replace(battery, first=Estimate(value, value - 0.1, value + 0.1))
            for battery, value in zip(studies.spread().batteries, (0.45, 0.5), strict=True)
        ),
    )
    assert any("is open" in text for text in texts(chances_figure(close)))
    apart = replace(close, batteries=(close.batteries[0],
                    replace(close.batteries[1], first=Estimate(0.9, 0.85, 0.95))))  # fmt: skip
    assert 'Cuts out first: "new" in 90 of 100 cases' in texts(chances_figure(apart))
