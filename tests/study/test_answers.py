"""The questions that draws answer, and groups of what people would measure together: by hand."""

from types import SimpleNamespace

import numpy as np
import pytest
from simple_banks import affine, bank_of, steady

from bankSim.errors import SimulationError
from bankSim.model.charger import Charger, Stage
from bankSim.model.spread import Shape, Spread
from bankSim.study.answers import BANK, CHARGED, RUNTIME, answer_of, answers, main_answer
from bankSim.study.fields import Field
from bankSim.study.groups import groups_of
from bankSim.study.outcomes import FIRST, NOBODY, TOGETHER
from bankSim.study.unknown import Effect, Kind, Op, Unknown

MAINS = (Charger("mains", (Stage(14.4),), limit_A=5.0),)


def unknown(label="capacity", kind=Kind.CAPACITY, subject="old", key="", effects=()):
    spread = Spread(Shape.NORMAL, 1.0, 0.03, 0.9, 1.1)
    return Unknown(f'{label} of "{subject}"', kind, subject, key, "", spread, effects, "a source")


def bank(*, load=True, charger=True):
    more = {"chargers": MAINS} if charger else {}
    return bank_of(affine("a"), affine("b"), load=steady(5.0) if load else None, **more)


@pytest.mark.parametrize(
    ("load", "charger", "words"),
    [(True, True, ["bank", "charged", "runtime"]), (True, False, ["bank", "runtime"]),
     (False, True, ["bank", "charged"]), (False, False, ["bank"])],
)  # fmt: skip
def test_what_can_be_asked_of_a_bank(load, charger, words):
    found = answers(bank(load=load, charger=charger))
    assert [one.word for one in found] == [*words, "Ah:a", "first:a", "Ah:b", "first:b"]
    assert main_answer(bank(load=load, charger=charger)) == (BANK if load else CHARGED)


def test_an_answer_is_read_from_its_column():
    first = answer_of("first:b", bank())
    table = {FIRST: np.array([1, 2, NOBODY, TOGETHER, 2]), "b.delivered_Ah": np.arange(5),
             RUNTIME.column: np.array([1.0, np.nan, 3.0, 4.0, 5.0])}  # fmt: skip
    assert first.of_table(table).tolist() == [0.0, 1.0, 0.0, 0.0, 1.0]
    assert (first.text, first.unit) == ('whether "b" cuts out first', "")
    given = answer_of("Ah:b", bank())
    assert given.of_table(table).tolist() == [0.0, 1.0, 2.0, 3.0, 4.0]
    assert given.of_table(table).dtype == float
    assert (given.text, given.unit) == ('Ah that "b" delivers', "Ah")
    draws = SimpleNamespace(column=table.__getitem__)
    np.testing.assert_array_equal(RUNTIME.of(draws), table[RUNTIME.column])
    assert first.of(draws).tolist() == [0.0, 1.0, 0.0, 0.0, 1.0]


def test_a_question_that_nobody_can_answer_lists_those_that_can_be_asked():
    with pytest.raises(SimulationError) as told:
        answer_of("charged", bank(charger=False))
    assert str(told.value) == (
        "--of 'charged'; expected one of: bank, runtime, Ah:a, first:a, Ah:b, first:b"
    )


def test_what_people_would_measure_together_is_one_group():
    cells = [
        unknown(f"capacity of cell {n}", Kind.CELL_CAPACITY, key=f"battery[1].cells[{n}].x")
        for n in (1, 2)
    ]
    other = unknown("capacity of cell 1", Kind.CELL_CAPACITY, "new", key="battery[2].cells[1]")
    link = unknown("links", Kind.LINK, "", key="wiring.link")
    own = [
        unknown(f"x, cell {n}", Kind.KEY, "old", key="battery[1].cell.capacity_Ah") for n in (1, 2)
    ]
    key = unknown("swing", Kind.KEY, "", key="surroundings.temperature_C.swing_C")
    found = groups_of([cells[0], link, other, cells[1], *own, key])
    assert [(one.name, one.columns) for one in found] == [
        ('capacities of the cells of "old"', (0, 3)), ("links", (1,)),
        ('capacities of the cells of "new"', (2,)), ('cell.capacity_Ah of "old"', (4, 5)),
        ("surroundings.temperature_C.swing_C", (6,)),
    ]  # fmt: skip
    assert found[0].labels == ('capacity of cell 1 of "old"', 'capacity of cell 2 of "old"')
    assert found[0].keys == ("battery[1].cells[1].x", "battery[1].cells[2].x")
    assert found[3].keys == ("battery[1].cell.capacity_Ah",)  # once
    assert (found[1].kind, found[1].subject) == (Kind.LINK, "")
    assert groups_of([]) == ()


def test_a_factor_is_told_from_a_value_of_a_key():
    def one(*ops):
        return unknown(effects=tuple(Effect(Field.CHARGE, (0,), op) for op in ops))

    assert one(Op.FACTOR, Op.FACTOR).is_factor
    assert not one(Op.FACTOR, Op.SET).is_factor
    assert not one().is_factor
