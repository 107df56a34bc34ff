"""Rows that figures of a study draw, on draws written by hand."""

from dataclasses import replace

import numpy as np
import pytest
import told_studies as made

from bankSim.show.cell_chances import (
    CellRow,
    _written,
    cell_rows,
    column_edges,
    draw_cells,
    field_of,
)
from bankSim.show.share_rows import Row, bank_charge, charge_rows, hour_rows, only_takes


def charged():
    """Two batteries without any load, which take in 8 to 12 Ah each."""
    taken = made.band(8.0, 10.0, 12.0)
    return made.spread(
        of_draws=made.draws(loads=False),
        batteries=tuple(made.battery(name, charged=taken, at_all=0.0) for name in ("old", "new")),
    )


def test_what_every_battery_gives_beside_its_label():
    rows = charge_rows(made.spread())
    assert [(row.name, row.label, row.note) for row in rows] == [
        ("old", 100.0, "label 100"), ("new", 100.0, "label 100")
    ]  # fmt: skip
    assert rows[0].band.percentiles[2].value == 85.0
    assert rows[0].ends == [85.0, 100.0, 80.0, 82.5, 85.0, 87.5, 90.0]  # central, label, points


def test_what_is_taken_in_where_there_is_no_load():
    result = charged()
    assert only_takes(result)
    assert not only_takes(made.spread())
    assert [row.band.percentiles[2].value for row in charge_rows(result)] == [10.0, 10.0]
    assert hour_rows(result) == []


def test_the_charge_of_all_draws(monkeypatch):
    found = {}
    for loads, column in ((True, "bank.delivered_Ah"), (False, "bank.charged_Ah")):
        draws = made.draws(loads=loads)
        result = made.spread(of_draws=draws)
        seen = []
        monkeypatch.setattr(type(draws), "column", lambda _, name, seen=seen: (
            seen.append(name), np.arange(3.0))[1])  # fmt: skip
        values, band = bank_charge(result)
        assert values.tolist() == [0.0, 1.0, 2.0]
        found[loads] = band
        assert seen == [column]
    assert found[True].percentiles[2].value == 170.0
    assert found[False].percentiles[2].value == 0.0


def hours(*at_all):
    batteries = tuple(made.battery(f"b{n}", at_all=part) for n, part in enumerate(at_all))
    names = tuple(one.name for one in batteries)
    return [row.name for row in hour_rows(made.spread(names, batteries=batteries))]


def test_when_loads_stop_and_who_cuts_out():
    assert hours(1.0, 0.5) == ["loads fed", "b0 cuts out", "b1 cuts out"]
    assert hours(1.0, 0.009) == ["loads fed", "b0 cuts out"]  # fewer than one in a hundred draws
    assert hours(1.0, 0.01) == ["loads fed", "b0 cuts out", "b1 cuts out"]
    assert hours(0.0, 0.0) == ["loads fed"]
    many = hours(*(0.1 * n for n in range(1, 11)))  # the eight likeliest, in the order of the file
    assert many == ["loads fed", *(f"b{n} cuts out" for n in range(2, 10))]
    row = hour_rows(made.spread(batteries=(made.battery(at_all=0.5),)))[1]
    assert row.words == "10.0 (9.0 to 11.0) h, in 50 of 100"


def test_a_row_without_note_or_label():
    row = Row("x", replace(made.band(1.0, 2.0, 3.0), central=None))
    assert "," not in row.words
    assert row.words.endswith(" Ah")
    assert row.ends == [1.0, 1.5, 2.0, 2.5, 3.0]


def test_which_cell_decides_of_100_cases():
    batteries = (
        made.battery("old", at_all=0.9, cells=(0.4, 0.3, 0.1, 0.0)),
        made.battery("never", at_all=0.0, cells=(0.0,) * 4),
        made.battery("new", at_all=1.0, cells=(0.5, 0.5)),
    )
    result = made.spread(("old", "never", "new"), batteries=batteries)
    old, new = cell_rows(result, 10)
    assert (old.name, new.name) == ("old", "new")
    assert old.cells == pytest.approx((40.0, 30.0, 10.0, 0.0))
    assert (old.other, old.stays) == pytest.approx((10.0, 10.0))  # 90 less 80 by its cells
    assert (new.other, new.stays) == pytest.approx((0.0, 0.0))
    field = field_of([old, new])
    assert field[1, :2] == pytest.approx((50.0, 50.0))
    assert np.isnan(field[1, 2:4]).all()  # it has two cells
    assert field[:, 4:].tolist() == [[old.other, old.stays], [new.other, new.stays]]


def test_of_too_many_the_likeliest_to_be_first_and_nothing_where_no_cell_decides():
    firsts = {"a": 0.2, "b": 0.5, "c": 0.3}
    batteries = tuple(made.battery(name, first=part) for name, part in firsts.items())
    result = made.spread(tuple("abc"), batteries=batteries)
    assert [row.name for row in cell_rows(result, 2)] == ["b", "c"]
    assert [row.name for row in cell_rows(result, 3)] == ["a", "b", "c"]
    by_current = replace(batteries[0], cells=(made.of(0.0),) * 4)
    assert cell_rows(replace(result, batteries=(by_current,) * 3), 3) == []


@pytest.mark.parametrize(
    ("value", "told"), [(0.0, "0"), (0.4, "<1"), (0.5, "<1"), (0.6, "1"), (99.6, "100")]
)
def test_a_chance_is_never_written_as_none_where_there_is_one(value, told):
    assert _written(value) == told  # one of 200 draws was written as 0


def test_columns_behind_the_cells_are_wide_enough_for_words():
    assert column_edges(4).tolist() == [0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0]
    assert column_edges(18)[-3:].tolist() == [18.0, 20.0, 22.0]
    assert field_of([CellRow("a", (1.0,), 2.0, 3.0)]).tolist() == [[1.0, 2.0, 3.0]]


def drawn(*rows):
    """Texts in the field as (x, row, text, colour), names along both axes."""
    from matplotlib.figure import Figure

    axes = Figure(figsize=(7.0, 3.0)).subplots()
    draw_cells(axes, list(rows), 7.0)
    texts = [(*one.get_position(), one.get_text(), one.get_color()) for one in axes.texts]
    below = [label.get_text().replace("\n", " ") for label in axes.get_xticklabels()]
    return axes, texts, below


def test_the_field_of_cells_says_every_chance():
    # white figures on what is darker than 55 of 100; that a battery stays in is not shaded
    rows = (CellRow("old", (40.0, 56.0), 3.0, 1.0), CellRow("new", (0.2,), 0.0, 99.0))
    axes, texts, below = drawn(*rows)
    assert [(x, row, told) for x, row, told, _ in texts] == [
        (0.5, 0, "40"), (1.5, 0, "56"), (2.5, 0, "3"), (3.5, 0, "1"),
        (0.5, 1, "<1"), (2.5, 1, "0"), (3.5, 1, "99"),
    ]  # fmt: skip
    assert [told for *_, told, colour in texts if colour == "white"] == ["56"]
    assert below == ["cell 1", "cell 2", "other cause", "stays in"]
    assert axes.get_xlabel() == ""
    assert axes.get_ylim() == (1.5, -0.5)  # the first battery on top
    assert [label.get_text() for label in axes.get_yticklabels()] == ["old", "new"]
    shaded = axes.collections[0].get_array()
    assert np.ma.getmaskarray(shaded).tolist() == [[False, False, False, True],
                                                   [False, True, False, True]]  # fmt: skip


@pytest.mark.parametrize(
    ("count", "told", "first"),
    [(6, 6, "cell 1"), (7, 7, "1"), (24, 24, "1"), (25, 13, "1"), (49, 17, "1")],
)
def test_of_many_cells_every_second_or_third_is_numbered(count, told, first):
    axes, _, below = drawn(CellRow("a", (100.0 / count,) * count, 0.0, 0.0))
    assert len(below) == told + 2
    assert below[0] == first
    assert (axes.get_xlabel() == "cell") == (count > 6)


def test_of_very_many_cells_the_likeliest_is_written_beside_it():
    cells = [1.0] * 30
    for place, side in ((4, "left"), (20, "right")):
        row = CellRow("a", (*cells[:place], 71.0, *cells[place + 1 :]), 0.0, 0.0)
        axes, texts, _ = drawn(row)
        assert [told for _, _, told, _ in texts] == ["0", "0", f"cell {place + 1}: 71"]
        assert axes.texts[-1].get_ha() == side
