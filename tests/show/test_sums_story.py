"""The bank and the sum of its batteries in sentences."""

import pytest
import told_studies as made

from bankSim.show.printing import story_text
from bankSim.show.sums_story import sums_headline, tell_sums

#        labels held   equal  alone  bare   bank
USUAL = (200.0, 190.0, 185.0, 180.0, 178.0, 177.0)


def said(steps, **more):
    return " ".join(sums_headline(made.sums(steps, **more)))


def squeezed(result):
    return " ".join(story_text(tell_sums(result), 300).split())


def test_less_than_the_sum_with_the_numbers_of_the_result():
    told = said(USUAL)
    assert "deliver 180.0 Ah (177 to 183 Ah) together; as a bank 177.0 Ah (174 to 180 Ah)" in told
    assert ", 3.00 Ah less." in told


def test_the_largest_part_comes_first():
    told = said(USUAL)
    parts = ("10.0 Ah capacity", "5.00 Ah what cannot", "5.00 Ah locked in", "2.00 Ah by the order")
    places = [told.index(part) for part in (*parts, "1.00 Ah by the resistance")]
    assert places == sorted(places)
    assert "Of the 200 Ah on the labels go: 10.0 Ah" in told


def test_parallel_capacities_add():
    told = said((200.0, 190.0, 185.0, 180.0, 180.0, 179.9))
    assert "as a bank 179.9 Ah (177 to 183 Ah): parallel capacities add." in told
    assert "by the resistance" not in told


def test_more_than_the_sum():
    told = said((200.0, 190.0, 185.0, 180.0, 184.0, 184.0))
    assert ", 4.00 Ah more." in told
    assert "by the order" not in told


def test_nothing_lost():
    told = said((200.0,) * 6)
    assert told.endswith("Next to nothing is lost on the way from the labels.")


def test_more_in_the_cells_than_on_the_labels():
    told = said((200.0, 210.0, 209.0, 208.0, 208.0, 208.0))
    assert "capacity that is not what the label says" not in told
    assert "Of the 200 Ah on the labels go: 1.00 Ah" in told


@pytest.mark.xfail(strict=True, reason="Each battery alone, the bank's batteries deliver: of one")
def test_a_single_battery_is_no_sum():
    told = said(USUAL, names=("alone",))
    assert "batteries" not in told


def test_steps_with_their_changes():
    told = squeezed(made.sums(USUAL))
    for row in (
        "on the labels 200.0 200.0 200.0 -",
        "in the cells at the start 187.0 190.0 193.0 -10.0",
        "all in one bank, if its wiring had no resistance 175.0 178.0 181.0 -2.00",
        "the bank as it is wired 174.0 177.0 180.0 -1.00",
    ):
        assert row in told
    assert "the bank as it is wired 181.0 184.0 187.0 +4.00" in squeezed(
        made.sums((200.0, 190.0, 185.0, 180.0, 180.0, 184.0))
    )


def test_battery_by_battery():
    told = squeezed(made.sums(USUAL))
    assert "old 90.0 89.0 0.600 2.50" in told
    assert "100 draws, seed 7." in told
    assert "2 batteries" in told
