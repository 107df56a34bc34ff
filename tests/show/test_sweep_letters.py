"""A map of who most probably cuts out first."""

import numpy as np
import pytest
import told_studies
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure

from bankSim.show.looks import COLOURS
from bankSim.show.sweep_letters import draw_letters, name_letters, sign_of


def study_of(*names):
    """A sweep of two keys over a bank with these names; its numbers do not matter here."""
    return told_studies.sweep_of_two((1.0, 2.0, 3.0, 4.0), names=names)


def drawn(likely, chance=0.6, names=("the old one", "the new one")):
    likely = np.array(likely)
    axes = Figure().subplots()
    draw_letters(axes, study_of(*names), likely, np.full(likely.shape, chance))
    return axes


def named(likely, names=("the old one", "the new one")):
    axes = Figure().subplots()
    name_letters(axes, study_of(*names), np.array(likely))
    return [text.get_text() for text in axes.get_legend().get_texts()]


def test_each_cell_has_its_letter_and_the_chance_of_100_cases():
    axes = drawn([[0, 1], [-1, -2]], chance=0.604)
    told = {text.get_position(): text.get_text() for text in axes.texts}
    assert told == {(0, 0): "A: 60", (1, 0): "B: 60", (0, 1): "-: 60", (1, 1): "=: 60"}


def test_cells_are_pale_in_the_colour_of_the_battery_and_white_for_nobody():
    cells = drawn([[0, 1], [-1, -2]]).images[0].get_array()
    full = np.array([to_rgb(COLOURS[0]), to_rgb(COLOURS[1])])
    np.testing.assert_allclose(cells[0], 1.0 - 0.35 * (1.0 - full))  # a third of the ink
    np.testing.assert_allclose(cells[1], 1.0)


def borders(likely):
    found = set()
    for line in drawn(likely).lines:
        found.add((tuple(map(float, line.get_xdata())), tuple(map(float, line.get_ydata()))))
    return found


def test_lines_part_cells_of_different_batteries():
    assert borders([[0, 0, 1], [0, 0, 1]]) == {
        ((1.5, 1.5), (-0.5, 0.5)),
        ((1.5, 1.5), (0.5, 1.5)),
    }
    assert borders([[0, 0], [1, 0]]) == {((0.5, 0.5), (0.5, 1.5)), ((-0.5, 0.5), (0.5, 0.5))}
    assert borders([[1, 1], [1, 1]]) == set()


@pytest.mark.parametrize(("columns", "step"), [(12, 1), (13, 1), (24, 1), (25, 2), (49, 3)])
def test_in_large_maps_letters_stand_alone_and_in_every_so_many(columns, step):
    axes = drawn(np.zeros((2, columns), dtype=int))
    places = sorted(text.get_position()[0] for text in axes.texts if text.get_position()[1] == 0)
    assert places == list(range(0, columns, step))
    assert axes.texts[0].get_text() == ("A: 60" if columns <= 12 else "A")


def test_letters_are_named_and_short_names_stand_for_themselves():
    assert named([[0, 1], [-1, -2]]) == [
        "=  several at once", "-  nobody", "A  the old one", "B  the new one",
    ]  # fmt: skip
    assert named([[1, 1]], ("old", "new")) == ["new"]
    assert named([[1, 1]], ("A", "the other")) == ["#2  the other"]


def test_of_very_many_those_of_most_cells_are_named():
    names = tuple(f"battery {n}" for n in range(14))
    cells = [[n, n] for n in range(12)] + [[12, 13]]
    told = named(cells, names)
    assert told[:12] == [f"{sign_of(names, n)}  battery {n}" for n in range(12)]
    assert told[12:] == ["and 2 others, as in the file"]
    assert len(named(cells[:12], names)) == 12


def test_hostile_names_stand_as_written():
    assert named([[0, 1]], ("$\\frac$ _x", "<b>longer")) == ["A  $\\frac$ _x", "B  <b>longer"]
