"""Dangers in the headline and the section of cautions, on cautions written by hand."""

from dataclasses import replace

import made_up

from bankSim.show.beware import CHECKED, beware, cautions, danger, dangers_of, on_paper
from bankSim.sim.cautions.cells import BELOW_EMPTY, BEYOND_FULL
from bankSim.sim.cautions.fuses import WOULD_BLOW
from bankSim.sim.cautions.joined import DO_NOT_MATCH
from bankSim.sim.cautions.lost_takers import LOSES_TAKERS
from bankSim.sim.result import Caution


def caution(topic, severity="danger", text="", advice=""):
    return Caution(topic, severity, None, None, "", text or f"{topic}.", advice)


def raised(*found):
    return replace(made_up.pair(), cautions=found)


def test_chargers_that_lose_their_batteries_are_told_beside_the_first_danger():
    surge, other, lost = caution("surge"), caution("other"), caution(LOSES_TAKERS)
    told, more = dangers_of([lost, surge, other])
    assert told == ["Danger: surge.", f"Danger: {LOSES_TAKERS}."]
    assert more == 1
    assert dangers_of([lost]) == ([f"Danger: {LOSES_TAKERS}."], 0)
    blown, empty = caution(WOULD_BLOW), caution(BELOW_EMPTY)
    apart = caution(DO_NOT_MATCH)
    told, more = dangers_of([surge, lost, empty, blown, apart])
    assert [one.removeprefix("Danger: ") for one in told[:-1]] == [
        f"{topic}." for topic in (DO_NOT_MATCH, WOULD_BLOW, BELOW_EMPTY, LOSES_TAKERS)
    ]
    assert told[-1].startswith("So the Ah told here")
    assert more == 1  # the surge


def test_the_first_of_each_kind_that_makes_ah_doubtful_is_told():
    found = [caution(BEYOND_FULL, text=f"Cell {n}.") for n in (1, 2)]
    told, more = dangers_of(found)
    assert told[0] == "Danger: Cell 1."
    assert more == 1
    assert told[1].startswith("So the Ah told here")
    assert on_paper(raised(*found))
    # a fuse leaves the cells alone: its Ah are on paper, but no cell is ruined
    blown = raised(caution(WOULD_BLOW))
    assert on_paper(blown)
    assert danger(blown) == [f"Danger: {WOULD_BLOW}."]
    assert not on_paper(raised(caution(WOULD_BLOW, "warning")))


def test_how_many_dangers_more():
    one, two, three = (caution(topic) for topic in "abc")
    assert danger(raised(one)) == ["Danger: a."]
    assert danger(raised(one, two))[1] == "There is 1 danger more below."
    assert danger(raised(one, two, three))[1] == "There are 2 dangers more below."
    assert danger(raised(caution("a", "warning"))) == []
    assert beware(raised(one, two, caution("c", "note"))) == [
        "Look at the cautions below: 2 dangers and 1 note."
    ]
    assert beware(raised()) == []


def lines_of(*found):
    *lines, checked = cautions(raised(*found)).lines
    assert checked == CHECKED
    return lines


def test_cautions_come_worst_first_with_what_to_do():
    note, warning = caution("c", "note"), caution("b", "warning", advice="Mend\nit.")
    strange = caution("d", "alarm")
    assert lines_of(note, warning, caution("a"), strange) == [
        "DANGER: a.", "ALARM: d.", "WARNING: b. What to do: Mend?it.", "NOTE: c."
    ]  # fmt: skip
    assert lines_of() == ["None."]


def test_of_many_of_a_kind_six_are_told():
    def of(count):
        return [caution("surge", text=f"No {n}.") for n in range(count)]

    assert lines_of(*of(6)) == [f"DANGER: No {n}." for n in range(6)]
    told = lines_of(*of(8), caution("other", "note"))
    assert told[5:] == ["DANGER: No 5.", "NOTE: other.", "And 2 more of the kind: surge."]
