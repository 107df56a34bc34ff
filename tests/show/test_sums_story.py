"""Where the Ah on the labels go, in sentences."""

import re
from dataclasses import replace

import told_studies as made

from bankSim.show.printing import story_text
from bankSim.show.sums_story import ENOUGH, sums_headline, tell_sums
from bankSim.show.sums_words import CAUSES, GAINED, WHERE
from bankSim.sim.result import Caution
from bankSim.study.sums import PARTS, PARTS_OF_ONE

#        labels held   equal  alone  bare   bank
USUAL = (200.0, 190.0, 185.0, 180.0, 178.0, 177.0)


def said(steps, **more):
    return " ".join(sums_headline(made.sums(steps, **more)))


def squeezed(result):
    return " ".join(story_text(tell_sums(result), 300).split())


def single(steps, **more):
    """One battery, which has no order of cut-outs."""
    found = made.sums(steps, names=("alone",), **more)
    parts = [part for part in found.parts if part.word in dict(PARTS_OF_ONE)]
    return replace(
        found,
        parts=tuple(replace(part, text=dict(PARTS_OF_ONE)[part.word]) for part in parts),
    )


def test_the_question_is_answered_first_with_the_numbers_of_the_result():
    told = said(USUAL)
    assert told.startswith(
        "The labels say 200.0 Ah, the bank delivers 177.0 Ah (9 of 10 cases: 174.0 to 180.0 Ah). "
        "Where the other 23.0 Ah go: 10.0 Ah to age, "
    )
    assert "Each alone, the batteries deliver 180.0 Ah (9 of 10 cases: 177.0 to 183.0 Ah)" in told
    assert told.endswith("together; as a bank 3.0 Ah less.")


def test_a_danger_stands_before_where_the_Ah_go():
    empty, surge = (
        Caution(topic, "danger", 1.0, 2.0, "V", f"The {topic}.")
        for topic in ("cell driven below empty", "surge")
    )
    told = said(USUAL, dangers=(surge, empty))
    assert (
        "180.0 Ah). Danger: The cell driven below empty. So the Ah told here are more than cells "
        "can give or take and live. There is 1 danger more. Where" in told
    )
    assert "Danger" not in said(USUAL)


def test_the_largest_part_comes_first():
    told = said((200.0, 190.0, 185.0, 171.0, 169.0, 168.0))
    parts = ("14.0 Ah to weak cells", "10.0 Ah to age", "5.0 Ah to what cannot be drawn",
             "2.0 Ah to the order of the cut-outs", "1.0 Ah to the wiring")  # fmt: skip
    places = [told.index(part) for part in parts]
    assert places == sorted(places)


def test_what_takes_next_to_nothing_is_said_too():
    told = said((200.0, 190.0, 185.0, 180.0, 180.0, 179.9))
    assert "Next to nothing goes to the wiring (leads, links, main cable) and to the order" in told
    assert told.endswith("as a bank nearly the same: parallel capacities add.")


def test_more_than_the_sum():
    told = said((200.0, 190.0, 185.0, 180.0, 184.0, 184.0))
    assert "Gained: 4.0 Ah by the order of the cut-outs" in told
    assert told.endswith("as a bank 4.0 Ah more.")


def test_nothing_lost():
    told = said((200.0,) * 6)
    assert "Next to nothing is lost on the way. Each alone" in told
    assert "Gained" not in told


def test_more_in_the_cells_than_on_the_labels():
    told = said((200.0, 210.0, 209.0, 208.0, 208.0, 208.0))
    assert "Lost on the way: 1.0 Ah to" in told
    assert "Gained: 10.0 Ah that the cells hold beyond the label." in told
    assert "the other" not in told


def test_a_single_battery_is_no_sum():
    result = single(USUAL)
    told = " ".join(sums_headline(result))
    assert told.startswith("The label says 200.0 Ah, the battery delivers 177.0 Ah (9 of 10")
    assert "the order of the cut-outs" not in told
    assert not re.search(r"batteries|\bbank\b|labels", told.replace("generous labels", ""))
    assert "sum" not in tell_sums(result).title


def test_steps_of_a_single_battery():
    told = squeezed(single(USUAL))
    assert "From the label to the battery" in told
    assert "alone, without any wiring 177.0 180.0 183.0 -5.0" in told
    assert "alone 100.0 90.0 0.6 2.5" in told
    assert "bank" not in told.partition("Safety")[0]


def test_one_draw_has_no_range():
    told = squeezed(made.sums(USUAL, draws=1))
    assert "the bank delivers 177.0 Ah (one draw: no range)." in told
    assert "9 of 10" not in told
    assert "the bank as it is wired 177.0 -1.0" in told
    assert "edian" not in told
    assert "say nothing of a range" in told


def test_few_draws_are_called_few():
    # 0.95^58 is more than 0.05, 0.95^59 less: then some draw lies beyond the 5 % point
    assert 0.95 ** (ENOUGH - 1) > 0.05 > 0.95**ENOUGH
    assert "58 draws (few: the ends of ranges are rough" in squeezed(made.sums(draws=58))
    assert "59 draws (ends of the last range in the table: known to" in squeezed(
        made.sums(draws=59)
    )


def test_steps_with_their_changes():
    told = squeezed(made.sums(USUAL))
    for row in (
        "on the labels 200.0 200.0 200.0 -",
        "in the cells at the start 187.0 190.0 193.0 -10.0",
        "all in one bank, if its wiring had no resistance 175.0 178.0 181.0 -2.0",
        "the bank as it is wired 174.0 177.0 180.0 -1.0",
    ):
        assert row in told
    assert "the bank as it is wired 181.0 184.0 187.0 +4.0" in squeezed(
        made.sums((200.0, 190.0, 185.0, 180.0, 180.0, 184.0))
    )


def test_a_change_that_rounds_to_nothing_has_no_sign():
    told = squeezed(made.sums((200.0, 190.0, 185.0, 180.0, 179.98, 179.99)))
    assert "no resistance 177.0 180.0 183.0 0.0" in told
    assert "-0.0" not in told
    assert "+0.0" not in told


def test_all_numbers_have_the_same_decimals():
    for scale, decimals in ((0.1, 2), (1.0, 1), (10.0, 0)):
        result = made.sums(tuple(scale * Ah for Ah in USUAL))
        rows = tell_sums(result).sections[0].grid.rows
        numbers = [text for row in rows for text in row[1:] if text != "-"]
        assert {len(text.partition(".")[2]) for text in numbers} == {decimals}


def test_battery_by_battery():
    told = squeezed(made.sums(USUAL))
    assert "old 100.0 90.0 89.0 0.6 2.5" in told
    assert "Seed 7, 100 draws" in told
    assert "2 batteries" in told


def test_every_step_has_its_words():
    words = {word for word, _ in PARTS if word != "labels"}
    assert set(WHERE) == set(GAINED) == set(CAUSES) == words
    assert {word for word, _ in PARTS_OF_ONE} == {"labels", *words} - {"no leads"}
