"""Colours that can be read, names that can do no harm."""

import pytest
from chart_cases import NASTY, contrast, luminance

from bankSim.screens.charts import CONFIG, DARK, LIGHT, safe_text
from bankSim.screens.charts.map import SHADES


@pytest.mark.parametrize("look", [LIGHT, DARK], ids=lambda look: look.name)
def test_contrast(look):
    # WCAG 2.x: 4.5 for text, 3 for lines and areas that matter (1.4.3, 1.4.11; from memory)
    assert contrast(look.ink, look.paper) >= 4.5
    assert contrast(look.alert, look.paper) >= 4.5  # names of deciding cells are written in it
    for line in (look.quiet, *look.colours):
        assert contrast(line, look.paper) >= 3.0, line


@pytest.mark.parametrize("look", [LIGHT, DARK], ids=lambda look: look.name)
def test_numbers_read_on_every_shade_of_a_map(look):
    ends = [colour for _, colour in SHADES[look.name]]
    for colour in ends:
        assert contrast(look.ink, colour) >= 4.5
    assert abs(luminance(ends[0]) - luminance(ends[-1])) > 0.08  # told apart in grey


def test_contrast_formula():
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)  # a known near miss


def test_neighbours_differ_in_dashes_and_hatches_too():
    for look in (LIGHT, DARK):
        assert len(set(look.dashes)) == len(look.dashes)
        assert len(set(look.hatches)) == len(look.hatches)
        assert len({(look.colour(k), look.dash(k)) for k in range(30)}) == 30


@pytest.mark.parametrize(
    "text",
    [
        NASTY,
        "<script>alert(1)</script>",
        "a<br>b",
        "&#60;b&#62;",
        "$x$",
        "%{y:.2f}",
        "{a}",
        "\x07",
    ],
)
def test_nothing_that_plotly_reads_is_left(text):
    safe = safe_text(text)
    assert not set(safe) & set("<>&${}\n\x07\u202e")
    assert len(safe) == len(text)


def test_plain_names_stay():
    for name in ('house "2" (left) ä – 100 Ah / 12 V', "van & boat", "R&D; 2"):
        assert safe_text(name) in (name, "R＆D; 2")
    assert safe_text("x" * 50, 24) == "x" * 21 + "..."


def test_no_logo_and_few_buttons():
    assert CONFIG["displaylogo"] is False
    assert CONFIG["modeBarButtons"] == [["toImage", "zoom2d", "resetScale2d"]]
