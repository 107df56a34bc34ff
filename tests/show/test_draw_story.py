"""One draw told in full, and the list of what was drawn."""

import made_up
import numpy as np
import pytest
import told_studies as made

from bankSim.model.spread import Shape, Spread
from bankSim.show.draw_story import tell_draw
from bankSim.show.printing import story_text
from bankSim.show.story import tell
from bankSim.show.unknowns_table import drawn_section
from bankSim.study.unknown import Kind, Op

CHARGE = made.unknown(
    "charge of cell 2", Kind.CELL_CHARGE, op=Op.SHIFT, unit="",
    spread=Spread(Shape.NORMAL, 0.0, 0.01),
)  # fmt: skip
LIMIT = made.unknown(
    "limit", Kind.LIMITS, op=Op.SHIFT, unit="V", spread=Spread(Shape.NORMAL, 0.0, 0.1)
)
GIVEN = made.unknown(
    "cell.capacity_Ah", Kind.KEY, op=Op.SET, unit="Ah", given=True,
    key="battery[1].cell.capacity_Ah", spread=Spread(Shape.NORMAL, 100.0, 2.0),
    source="given in the file",
)  # fmt: skip
OFFSET = made.unknown(
    "offset", Kind.KEY, op=Op.SET, unit="V", given=True,
    spread=Spread(Shape.UNIFORM, 0.0, 0.0, -1.0, 1.0),
)  # fmt: skip


def squeezed(unknowns, values):
    story = tell_draw(made_up.pair(), unknowns, np.array(values), 85, 7)
    return " ".join(story_text(story, 200).split())


def listed(*unknowns, **more):
    section = drawn_section(unknowns, **more)
    rows = section.grid.rows if section.grid is not None else ()
    return rows, " ".join(section.lines)


def test_a_draw_has_the_story_of_its_run_and_its_values():
    story = tell_draw(made_up.pair(), (made.unknown(),), np.array([0.9731]), 85, 7)
    own = tell(made_up.pair())
    assert story.title == f"{own.title}: draw 85 of seed 7"
    assert story.headline == own.headline
    assert story.sections[1:] == own.sections
    assert story.sections[0].title == "What draw 85 has"
    assert story.sections[0].grid.rows == (('capacity of "old"', "x 0.973"),)


def test_factors_differences_and_values_look_different():
    told = squeezed((made.unknown(), CHARGE, LIMIT, GIVEN), (1.0261, -0.00314, 0.197, 98.7654))
    assert 'capacity of "old" x 1.026' in told
    assert 'charge of cell 2 of "old" -0.00314' in told
    assert 'limit of "old" +0.197 V' in told
    assert 'cell.capacity_Ah of "old" 98.765 Ah' in told


def test_a_given_value_around_0_is_no_difference():
    assert 'offset of "old" 0.25 V' in squeezed((OFFSET,), (0.25,))


def test_a_draw_of_nothing_says_so():
    told = squeezed((), ())
    assert "Factors are" not in told


def test_unknowns_of_several_batteries_share_a_row():
    rows, line = listed(made.unknown(), made.unknown(subject="new"), GIVEN)
    assert rows == (
        ('capacity ("old" and "new")', "+- 3 % (standard deviation)", "somebody measured it"),
        ("battery[1].cell.capacity_Ah", "+- 2 Ah (standard deviation)", "given in the file"),
    )
    assert line.startswith("3 values: 1 with a spread from the file, 2 with a typical one.")


def test_other_spreads_and_other_sources_have_rows_of_their_own():
    wider = made.unknown(subject="new", spread=Spread(Shape.NORMAL, 1.0, 0.04))
    from_elsewhere = made.unknown(subject="third", source="somebody else")
    rows, _ = listed(made.unknown(), wider, from_elsewhere)
    assert [row[0] for row in rows] == [
        'capacity ("old")',
        'capacity ("new")',
        'capacity ("third")',
    ]


@pytest.mark.parametrize(
    ("spread", "words"),
    [
        (Spread(Shape.LOGNORMAL, 1.0, 0.3), "+- 30 % (standard deviation)"),
        (Spread(Shape.UNIFORM, 1.0, 0.0, 0.9, 1.05), "-10 to +5 %"),
        (Spread(Shape.TRIANGULAR, 1.0, 0.0, 0.8, 1.7), "-20 to +70 %"),
    ],
)
def test_factors_are_told_in_percent(spread, words):
    ((_, told, _),), _ = listed(made.unknown(spread=spread))
    assert told == words


def test_cells_of_a_battery_are_one_row():
    cells = [made.unknown(f"capacity of cell {n}", Kind.CELL_CAPACITY) for n in (1, 2, 3, 4)]
    rows, line = listed(*cells)
    assert [row[0] for row in rows] == ['capacities of the cells ("old")']
    assert line.startswith("4 values:")


def test_nothing_unknown():
    rows, line = listed()
    assert rows == ()
    assert line.startswith("Nothing: the file gives every value exactly.")


def test_briefly_only_counted():
    rows, line = listed(made.unknown(), GIVEN, briefly=True)
    assert rows == ()
    assert line.startswith("2 values: 1 with")
    assert "story.txt" in line


def test_one_value():
    assert listed(made.unknown())[1].startswith("1 value:")


# Whose doing the chances are: the kind of every typical spread is in its source.
def test_what_the_typical_spreads_rest_on():
    sources = ["10 %, choice"] * 3 + ["trade sources", "15 to 25 around 20, from memory"]
    sources.append("4 %, from memory; correlation -0.5, choice")
    found = [made.unknown(source=source) for source in sources]
    for briefly in (False, True):
        _, line = listed(*found, GIVEN, briefly=briefly)
        assert "7 values: 1 with a spread from the file, 6 with a typical one." in line
        told = "our own choice (4), figures from memory (1) and published figures (1)"
        assert f"Behind the typical ones stand {told}:" in line


def test_all_from_the_file():
    _, line = listed(GIVEN)
    assert "Every spread is from the file" in line
    assert "Behind the typical" not in line


@pytest.mark.parametrize("op", [one for one in Op if one is not Op.FACTOR])
def test_only_factors_are_told_as_factors(op):
    spread = Spread(Shape.NORMAL, 1.0, 0.03)
    assert not made.unknown(op=op, spread=spread).is_factor
    assert made.unknown(spread=spread).is_factor
