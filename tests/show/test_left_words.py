"""What is left in cells of two wells, against discharges that the solver makes."""

import re
from dataclasses import replace

import pytest
from pytest import approx
from simple_banks import affine, bank_of, battery, run, steady

from bankSim.model.chemistry import chemistry_of
from bankSim.model.load import CutOff, Load
from bankSim.show.left_words import drawable_Ah, left_lines
from bankSim.show.outcomes import charge_table

RATED_AH = 100.0


def lead(word="AGM", z=1.0, name="lead"):
    own = chemistry_of(word)
    cell = own.typical_cell(RATED_AH, RATED_AH * 3600.0 * own.capacity_per_rated)
    cell = replace(cell, state_of_charge=z)
    return battery(name, *[cell] * 6, chemistry=word)


def given_Ah(word, z, amperes):
    """What a discharge down to 10.5 V gives, told by the solver. [Ah]"""
    load = steady(amperes)
    ends = Load("load", 1.0, load.profile_s, load.profile_amount, cut_off=CutOff(10.5, 1.0))
    bank = bank_of(lead(word, z), load=ends, duration_s=40 * 3600.0)
    return run(bank).bank.delivered_Ah


@pytest.mark.parametrize("word", ["AGM", "gel", "flooded"])
def test_what_can_be_drawn_is_what_a_slow_discharge_gives(word):
    # the 20 h current of a full one, 5 A: what it keeps does not depend on where it began
    for z in (1.0, 0.8):
        rested = run(bank_of(lead(word, z), duration_s=1.0)).batteries[0]
        assert drawable_Ah(lead(word, z), rested) == approx(given_Ah(word, z, 5.0), abs=1.5)
        assert rested.remaining_Ah > drawable_Ah(lead(word, z), rested) + 5.0


def test_the_line_stands_by_the_table_of_lead_always():
    result = run(bank_of(lead(z=0.7), affine("straight", 0.1, base=12.0), duration_s=60.0))
    lines = charge_table(result).lines
    (line,) = [line for line in lines if "over 20 h" in line]
    told_Ah = float(re.search(r'"lead" ([\d.]+) Ah', line)[1])
    # 108.16 Ah in both wells, of which 8.16 stay (`capacity_per_rated` 1.0816)
    assert told_Ah == approx(0.7 * 108.16 - 8.16, abs=0.2)
    assert "straight" not in line
    assert left_lines(run(bank_of(affine(), duration_s=60.0))) == []


def test_an_empty_one_gives_next_to_nothing():
    result = run(bank_of(lead(z=0.05), duration_s=60.0))
    assert '"lead" next to nothing.' in left_lines(result)[0]


def test_what_is_beyond_full_does_not_come_back():
    # the cells hold 6 % more than full on paper; over 20 h a full one gives its label
    result = run(bank_of(lead(), duration_s=1.0))
    (full,) = result.batteries
    over = replace(full, remaining_Ah=1.06 * full.remaining_Ah)
    assert drawable_Ah(lead(), over) == approx(RATED_AH, abs=0.2)
    assert '"lead" 100 Ah.' in left_lines(replace(result, batteries=(over,)))[0]
