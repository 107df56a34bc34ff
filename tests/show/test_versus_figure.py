"""Two scenarios side by side."""

from dataclasses import replace

import made_up_studies as studies
import numpy as np
import pytest
from study_pictures import bars, one, whole

from bankSim.study.versus import CHARGED


def test_versus_counts_the_differences_of_the_same_draws():
    result = studies.versus()
    top, middle, _ = one(result).axes
    gap = result.other.column("bank.delivered_Ah") - result.one.column("bank.delivered_Ah")
    assert sum(bar.get_height() for bar in bars(top)) == gap.size == 300
    assert min(bar.get_x() for bar in bars(top)) == pytest.approx(gap.min())
    assert 0.0 in [line.get_xdata()[0] for line in top.lines]
    low, high = top.get_xlim()
    assert low < 0.0 < gap.max() < high
    named = [tick.get_text() for tick in middle.get_yticklabels()]
    assert named == ["One way", "Another way to wire"]
    assert top.get_xlabel() == '"Another way to wire" less "One way", of the same draw [Ah]'


def test_versus_names_both_sides_by_files_where_titles_do_not():
    result = studies.versus()
    sides = []
    for draws, file in ((result.one, "old.toml"), (result.other, "new.toml")):
        scenario = replace(draws.plan.scenario, title="The same", file=file)
        sides.append(replace(draws, plan=replace(draws.plan, scenario=scenario)))
    figure = one(replace(result, one=sides[0], other=sides[1]))
    named = [tick.get_text() for tick in figure.axes[1].get_yticklabels()]
    assert named == ["old: The same", "new: The same"]
    assert 'plain bars "old", hatched bars "new"' in whole(figure)


def test_versus_without_loads_draws_the_charge_taken_in():
    result = studies.versus()
    for draws, middle in ((result.one, 100.0), (result.other, 120.0)):
        table = {name: draws.store.column(name, 1) for name in draws.store.names()}
        table["bank.charged_Ah"] = np.linspace(middle - 1.0, middle + 1.0, 300)
        draws.store.write(0, table)
    gap = studies.difference(CHARGED, result.one, result.other)
    figure = one(replace(result, differences=(gap,)))
    (full,) = (bar for bar in bars(figure.axes[0]) if bar.get_height())
    assert full.get_height() == 300
    assert full.get_x() < 20.0 < full.get_x() + full.get_width()
    assert "What each bank takes in" in whole(figure)


def test_versus_draws_both_chances_and_says_who_is_not_there():
    result = studies.versus()
    axes = one(result).axes[2]
    named = [tick.get_text() for tick in axes.get_yticklabels()]
    assert named == ["old", "new", "third", "nobody"]
    assert [text.get_text() for text in axes.texts].count("not in this bank") == 2
    shown = [bar.get_width() for bar in bars(axes)]
    firsts = [100.0 * one.value for b in result.batteries for one in b.first if one is not None]
    assert shown[:4] == pytest.approx(firsts)
    assert len({bar.get_hatch() for bar in bars(axes)}) == 2


@pytest.mark.parametrize(
    ("count", "told"),
    [(13, "; 1 less likely battery is not shown"), (14, "; 2 less likely batteries are not shown")],
)
def test_versus_counts_the_batteries_beyond_twelve(count, told):
    names = tuple(f"b{n}" for n in range(count))
    axes = one(studies.versus(names, names, draws=60)).axes[2]
    assert axes.get_title(loc="left").replace("\n", " ").endswith(told)
    assert len(axes.get_yticklabels()) == 12 + 1  # and nobody


def test_versus_of_twelve_batteries_shows_all():
    names = tuple(f"b{n}" for n in range(12))
    assert "not shown" not in whole(one(studies.versus(names, names, draws=60)))
