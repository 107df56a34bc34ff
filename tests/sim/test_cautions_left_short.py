"""Lead-acid that chargers leave short of full for days, or hold below its float."""

from dataclasses import replace

import pytest
from made_results import Course, made
from pytest import approx
from simple_banks import affine_cell, bank_of, battery

from bankSim.model.charger import Charger, Stage
from bankSim.sim.cautions.lead_short import of_lead_short
from bankSim.sim.result import ChargerOutcome

DAY_S, K_25, K_35 = 86_400.0, 298.15, 308.15
SHORT, LOW = "lead-acid not full for days", "charge voltage too low for lead-acid"


def found(days=(0.0, 4.0), z=0.5, *, word="AGM", holds_V=(14.0,), K=K_25, gives_Ah=1.0):
    one = battery("a", *[affine_cell(base=2.0, span=0.1)] * 6, chemistry=word)
    stages = tuple(Stage(hold_V) for hold_V in holds_V)
    chargers = () if not stages else (Charger("mains", (stages[0],), limit_A=5.0),
                                      Charger("sun", stages, limit_A=5.0))  # fmt: skip
    given = [ChargerOutcome(charger.name, gives_Ah / 2.0, 0.0, 5.0) for charger in chargers]
    result = made(
        bank_of(one, chargers=chargers), [day * DAY_S for day in days], Course(z=z, K=K),
        chargers=tuple(given),
    )  # fmt: skip
    return list(of_lead_short(result))


# below 95 % (FULL_FROM) for three days on end
@pytest.mark.parametrize(
    ("days", "z", "told"),
    [
        ((0.0, 2.99), 0.9, False),
        ((0.0, 3.01), 0.9, True),
        ((0.0, 9.0), 0.949, True),
        ((0.0, 9.0), 0.951, False),
        ((0.0, 2.0, 2.5, 4.5), [0.9, 0.9, 1.0, 0.9], False),
    ],
)
def test_days_short_of_full(days, z, told):
    assert [one.topic for one in found(days, z)] == ([SHORT] if told else [])


def test_only_lead_acid_beside_a_charger_is_told():
    assert found(holds_V=()) == []
    assert found(word="LFP") == []
    assert found(word=None) == []


def test_how_it_is_told():
    # full at first, then 3.5 days in which it lies between just below empty and 87.6 %
    (one,) = found((0.0, 1.0, 2.0, 4.5), [1.0, 0.5, -0.001, 0.876])
    assert (one.severity, one.unit) == ("note", "days")
    assert (one.value, one.limit) == (approx(3.5), 3.0)
    assert '"a" is short of full for 84.0 h on end (0 to 88 % of its charge)' in one.text
    assert one.advice.startswith("Charge it longer or with more")


# float of a cell from 2.25 V on (AGM, gel) or 2.20 V (flooded), less 20 mV (ABOVE_FLOAT_V) and
# 4 mV for every K above 25 degC; the highest stage of any charger counts
@pytest.mark.parametrize(
    ("word", "hold_V", "kelvin", "low"),
    [
        ("AGM", 13.37, K_25, True), ("AGM", 13.39, K_25, False),
        ("gel", 13.37, K_25, True), ("gel", 13.39, K_25, False),
        ("flooded", 13.07, K_25, True), ("flooded", 13.09, K_25, False),
        ("AGM", 13.13, K_35, True), ("AGM", 13.15, K_35, False),
        ("AGM", 13.37, 288.15, True), ("AGM", 13.39, 288.15, False),
    ],
)  # fmt: skip
def test_a_charge_voltage_below_float(word, hold_V, kelvin, low):
    told = found(z=1.0, word=word, holds_V=(12.0, hold_V), K=[kelvin, min(kelvin, K_25)])
    assert [one.topic for one in told] == ([LOW] if low else [])
    short = found(word=word, holds_V=(12.0, hold_V), K=kelvin)
    assert [one.topic for one in short] == [SHORT]
    assert short[0].advice.startswith("Set ") == low


def test_how_a_low_voltage_is_told():
    (one,) = found(z=1.0, holds_V=(12.0, 13.123))
    assert (one.severity, one.unit) == ("note", "V")
    assert (one.value, one.limit) == (13.123, approx(13.5))
    assert one.text.startswith(
        'No charger holds more than 13.12 V, which is below the float of "a": lead-acid'
    )
    # six cells: 2.25 to 2.30 V, and 2.45 V to fill them
    assert one.advice == (
        'Set "mains" and "sun" higher, as the battery\'s maker says: for 6 cells at 25 degrees C '
        "13.5 to 13.8 V are usual as float, and more to fill it, up to 14.70 V, until the current "
        "has tapered off."
    )


# one that gives less than 1 mAh has its own caution (GIVES_AH)
@pytest.mark.parametrize(("gives_Ah", "told"), [(0.9e-3, False), (1.1e-3, True)])
def test_chargers_that_give_next_to_nothing(gives_Ah, told):
    assert len(found(z=1.0, holds_V=(13.0,), gives_Ah=gives_Ah)) == told


def test_each_battery_is_told_for_itself():
    cells = [affine_cell(base=2.0, span=0.1)] * 6
    bank = bank_of(
        *(battery(name, *cells, chemistry="AGM") for name in "ab"),
        chargers=(Charger("mains", (Stage(14.4),), limit_A=5.0),),
    )
    courses = [Course(z=1.0), Course(z=0.5)]
    (one,) = of_lead_short(made(bank, [0.0, 4.0 * DAY_S], *courses))
    assert one.text.startswith('"b" is short')
    lithium = replace(bank.batteries[0], chemistry="LFP")
    mixed = replace(bank, batteries=(lithium, bank.batteries[1]))
    assert len(list(of_lead_short(made(mixed, [0.0, 4.0 * DAY_S], Course(), Course())))) == 1
