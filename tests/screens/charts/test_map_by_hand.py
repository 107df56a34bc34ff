"""Maps by hand: what stands in each field, what is told of it, the ring, the axes; safe texts."""

import numpy as np
import pytest
from pytest import approx

from bankSim.screens.charts.frame import legend_px
from bankSim.screens.charts.look import LIGHT
from bankSim.screens.charts.map import map_chart, map_words
from bankSim.screens.charts.text import LONGEST, safe_name, safe_text

LABELS = ("load [W]", "health [1]", "delivered [Ah]")


def map_of(across, up=1, **more):
    z = 100.0 + np.arange(float(across * up)).reshape(up, across)
    return map_chart(range(1, across + 1), range(1, up + 1), z, LABELS, **more)


def ring(spec):
    return [(one["x"][0], one["y"][0]) for one in spec["data"] if one.get("name") == "as it stands"]


@pytest.mark.parametrize(
    ("here", "places"),
    [
        ((30.0, 0.8), [(0.0, 0.0)]), ((45.0, 0.9), [(0.5, 0.5)]), ((60.0, 1.0), [(1.0, 1.0)]),
        ((29.0, 0.9), []), ((61.0, 0.9), []), ((45.0, 0.79), []), ((45.0, 1.01), []), (None, []),
    ],
)  # fmt: skip
def test_the_ring_is_where_the_bank_stands_or_nowhere(here, places):
    # of a map that does not reach so far a ring at its rim would name a wrong load
    spec = map_chart([30.0, 60.0], [0.8, 1.0], np.ones((2, 2)), LABELS, here=here)
    assert ring(spec) == [approx(place) for place in places]


def test_a_field_tells_both_values_the_number_and_who_is_first():
    z = np.array([[170.25, np.nan]])
    given = ([30.5, 60], [0.8], z, LABELS)
    heat = map_chart(*given, first=[["old", ""]], paper=[[True, False]])["data"][0]
    assert heat["text"] == [["170*<br>A", "-<br>–"]]
    assert heat["customdata"] == [[
        "load [W]: 30.5<br>health [1]: 0.8<br>delivered [Ah]: 170 (on paper only)"
        "<br>first out: old",
        "load [W]: 60<br>health [1]: 0.8<br>delivered [Ah]: -<br>first out: nobody",
    ]]  # fmt: skip
    bare = map_chart(*given)["data"][0]
    assert bare["text"] == [["170", "-"]]
    assert bare["customdata"][0][0].endswith("delivered [Ah]: 170")


@pytest.mark.parametrize(
    ("across", "told"), [(8, "100<br>A"), (9, "A"), (14, "A"), (15, "")]
)  # numbers and letters, letters alone, nothing
def test_as_much_stands_in_a_field_as_fits(across, told):
    heat = map_of(across, first=[["old"] * across])["data"][0]
    assert heat["text"][0][0] == told
    marked = map_of(across, first=[["old"] * across], paper=[[True] * across])["data"][0]
    assert "*" in marked["text"][0][0]


@pytest.mark.parametrize(
    ("across", "ticks"),
    [(1, [0]), (8, list(range(8))), (9, [0, 2, 4, 6, 8]), (16, list(range(0, 16, 2))),
     (17, [0, 3, 6, 9, 12, 15])],
)  # fmt: skip
def test_at_most_eight_ticks_at_their_fields(across, ticks):
    axis = map_of(across)["layout"]["xaxis"]
    assert axis["tickvals"] == ticks
    assert axis["ticktext"] == [str(1 + place) for place in ticks]
    assert axis["range"] == [-0.5, across - 0.5]


@pytest.mark.parametrize(("up", "plot_px"), [(1, 160.0), (4, 184.0), (30, 460.0)])
def test_height_follows_the_fields_within_bounds(up, plot_px):
    spec = map_of(2, up)
    assert spec["layout"]["height"] == round(34 + plot_px + 44)  # no legend: nothing to explain
    keyed = map_of(2, up, here=(1, 1))
    foot = 44 + legend_px(["as it stands"])
    assert keyed["layout"]["height"] == round(34 + plot_px + foot)
    assert keyed["layout"]["legend"]["y"] == approx(-44 / plot_px)


def test_words_name_the_extremes_and_count_who_is_first():
    z = np.array([[170.0, 160.0, 150.0], [180.0, np.nan, 155.0]])
    first = [["old", "new", "new"], ["old", "", "new"]]
    words = map_words([30, 45, 60], [0.8, 1.0], z, LABELS, first=first)
    assert words == (
        "Map of delivered [Ah] over load [W] (3 values) and health [1] (2); least 150 at 60 and "
        '0.8; most 180 at 30 and 1. First out, of 6 fields: "old" in 2, "new" in 3, nobody in 1.'
    )
    assert map_words([1, 2], [1], np.full((1, 2), np.nan), LABELS) == "A map without numbers."
    assert map_chart([], [], np.empty((0, 0)), LABELS)["data"] == []


def test_letters_are_as_plotly_reads_them_never_its_markup():
    assert safe_text("<b> $a$ %{y} {z}") == "‹b› ＄a＄ %(y) (z)"
    assert safe_text("a & b &amp; &#60; &c") == "a & b ＆amp; ＆#60; &c"
    assert safe_text("a\nb\u202ec") == "a?b?c"
    assert safe_name("a" * LONGEST) == "a" * LONGEST
    assert safe_name("a" * (LONGEST + 1)) == "a" * (LONGEST - 3) + "..."
    assert map_of(1, first=[["<b>"]])["data"][-1]["name"] == "A: ‹b› first out"
    assert map_of(1)["data"][0]["textfont"]["color"] == LIGHT.ink
