"""Curves and maps of sweeps."""

from dataclasses import replace

import made_up_studies as studies
import numpy as np
import pytest
from study_pictures import one, texts

from bankSim.show.sweep_letters import letter, likeliest, sign_of
from bankSim.show.words import shortened
from bankSim.study.statistics import chance


def test_sweep_draws_bands_batteries_and_chances():
    result = studies.sweep()
    bank, batteries, first = one(result).axes
    middle = next(line for line in bank.lines if line.get_linewidth() == 1.6)
    assert list(middle.get_ydata()) == pytest.approx([101.0, 102.0, 103.0, 104.0])
    rings = next(line for line in bank.lines if line.get_marker() == "o")
    assert list(rings.get_ydata()) == pytest.approx([102.0, 103.0, 104.0, 105.0])
    assert list(batteries.lines[1].get_ydata()) == pytest.approx([52.0, 53.0, 54.0, 55.0])
    assert list(first.lines[0].get_ydata()) == pytest.approx([60.0, 0.0, 60.0, 0.0])
    assert list(first.lines[2].get_ydata()) == pytest.approx([40.0] * 4)  # nobody
    names = [text.get_text() for text in one(result).legends[0].get_texts()]
    assert names == ["old", "new", "nobody"]


def test_the_value_of_the_file_is_marked():
    result = studies.sweep()
    for axes in one(result).axes:
        assert 2.5 in [line.get_xdata()[0] for line in axes.lines if len(line.get_xdata()) == 2]
    assert "in the file" in texts(one(result))
    assert one(result).axes[2].get_xlabel() == "battery[1].lead_mohm [mohm]; in the file: 2.5"
    assert "in the file" not in texts(one(studies.sweep(given=(None,))))


def test_words_stand_in_cells():
    axes = one(studies.sweep(("a", "$b_" + "x" * 40, True), given=("a",))).axes[2]
    assert [tick.get_text() for tick in axes.get_xticklabels()] == [
        "a", shortened("$b_" + "x" * 40, 16), "true",
    ]  # fmt: skip
    assert all(line.get_linestyle() == "None" for line in axes.lines if len(line.get_xdata()) == 3)


def test_values_out_of_order_are_joined_in_order():
    bank = one(studies.sweep((3.0, 1.0, 2.0))).axes[0]
    middle = next(line for line in bank.lines if line.get_linewidth() == 1.6)
    assert list(middle.get_xdata()) == [1.0, 2.0, 3.0]
    assert list(middle.get_ydata()) == pytest.approx([101.0, 102.0, 103.0])
    battery = one(studies.sweep((3.0, 1.0, 2.0))).axes[1].lines[0]
    assert list(battery.get_xdata()) == [1.0, 2.0, 3.0]
    assert list(battery.get_ydata()) == pytest.approx([51.0, 52.0, 53.0])


def test_a_value_of_the_file_between_two_cells_is_pointed_at_between_them():
    result = studies.sweep((1.0, 2.0, 4.0), (30.0, 10.0), given=(3.0, 25.0))
    marks = [line for line in one(result).axes[0].lines if line.get_marker() in ("^", ">")]
    assert [marks[0].get_xdata()[0], marks[1].get_ydata()[0]] == [1.5, 0.25]
    outside = studies.sweep((1.0, 2.0, 4.0), (30.0, 10.0), given=(5.0, None))
    assert not [line for line in one(outside).axes[0].lines if line.get_marker() in ("^", ">")]
    assert "in the file: 5" in one(outside).axes[0].get_xlabel()


def test_map_has_the_first_key_to_the_right_and_its_numbers_written():
    result = studies.sweep((1.0, 2.0, 3.0), (10.0, 30.0), given=(2.0, 10.0))
    top, bottom = one(result).axes[:2]
    amounts = top.images[0].get_array()
    np.testing.assert_allclose(amounts, [[111.0, 112.0, 113.0], [131.0, 132.0, 133.0]])
    assert [text.get_text() for text in top.texts][:3] == ["111.0", "112.0", "113.0"]
    assert [text.get_text() for text in bottom.texts] == ["old: 60", "new: 60", "old: 60"] * 2
    marks = [line for line in top.lines if line.get_marker() in ("^", ">")]
    assert [line.get_xdata()[0] for line in marks] == [1.0, 0.0]
    assert [line.get_ydata()[0] for line in marks] == [0.0, 0.0]
    assert {"old", "new"} <= set(texts(one(result)))


def test_nobody_is_likeliest_where_rather_nobody_cuts_out():
    result = studies.sweep((1.0, 2.0), (1.0, 2.0))
    quiet = tuple(
        replace(point, first=(chance(20, 100), chance(20, 100)), nobody=chance(60, 100))
        for point in result.points
    )
    likely, part = likeliest(replace(result, points=quiet))
    assert np.all(likely == -1)
    np.testing.assert_allclose(part, 0.6)
    assert [letter(number) for number in (0, 25, 26, 63)] == ["A", "Z", "AA", "BL"]


def test_several_at_once_are_likeliest_where_they_are():
    result = studies.sweep((1.0, 2.0), (1.0, 2.0))
    equal = tuple(
        replace(
            point, first=(chance(20, 100),) * 2, nobody=chance(0, 100), together=chance(60, 100)
        )
        for point in result.points
    )
    likely, part = likeliest(replace(result, points=equal))
    assert np.all(likely == -2)
    np.testing.assert_allclose(part, 0.6)


def test_signs_of_batteries():
    assert [sign_of(["old", "new"], number) for number in (1, 0, -1, -2)] == [
        "new",
        "old",
        "-",
        "=",
    ]
    assert [sign_of(["five years", "new"], number) for number in (0, 1)] == ["A", "B"]
    assert [sign_of(["five years", "A"], number) for number in (0, 1)] == ["#1", "#2"]


def test_next_to_no_difference_stays_pale():
    points = studies.sweep((1.0, 1.01), (1.0, 1.01), given=(None, None))
    low, high = one(points).axes[0].images[0].get_clim()
    assert high - low == pytest.approx(0.02 * 102.02)
