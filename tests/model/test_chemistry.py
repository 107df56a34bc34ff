"""The chemistries by their words, and what must hold for each of them."""

import pytest

from bankSim.model.chemistry import BY_TABLE_ONLY, CHEMISTRIES, chemistry_of, material_of
from bankSim.scenario.keys_battery import CHEMISTRIES as WORDS


def test_every_word_of_the_file_is_known_here():
    assert set(WORDS) == set(CHEMISTRIES) | set(BY_TABLE_ONLY)
    for word in WORDS:
        assert material_of(word).word == word


def test_without_typical_values_nothing_is_filled_in():
    assert chemistry_of(None) is None
    assert chemistry_of("sodium-ion") is None
    assert chemistry_of("gel").word == "gel"


@pytest.mark.parametrize("word", CHEMISTRIES)
def test_cells_of_one_chemistry_share_their_curves(word):
    # a battery refuses cells that depend on temperature in different ways
    chemistry = chemistry_of(word)
    one, other = (chemistry.typical_cell(Ah, Ah * 3600.0) for Ah in (50.0, 80.0))
    assert one.ocv_V is other.ocv_V
    assert one.usable_part is other.usable_part


@pytest.mark.parametrize("word", CHEMISTRIES)
def test_every_value_has_a_source_and_limits_are_in_order(word):
    chemistry = chemistry_of(word)
    sources = chemistry.sources
    told = [sources.curve, sources.ohmic, sources.relaxation, sources.internal]
    told += [one.source for one in (sources.rise, *chemistry.fixed)]
    assert all(told)
    assert bool(sources.wells) is (chemistry.available_fraction < 1.0)
    limits = (chemistry.lowest_safe_V, chemistry.nominal_V, chemistry.highest_charge_V)
    assert list(limits) == sorted(limits)
    assert chemistry.highest_charge_V <= chemistry.highest_safe_V


@pytest.mark.parametrize(
    ("word", "cells", "lightest_kg", "heaviest_kg"),
    [  # usual masses of 12 V 100 Ah batteries, trade figures from memory
        ("LFP", 4, 9.0, 14.0),
        ("AGM", 6, 26.0, 36.0),
        ("gel", 6, 28.0, 38.0),
        ("flooded", 6, 22.0, 32.0),
    ],
)
def test_mass_of_a_usual_battery(word, cells, lightest_kg, heaviest_kg):
    material = material_of(word)
    mass_kg = 100.0 * cells * material.nominal_V / material.Wh_per_kg
    assert lightest_kg < mass_kg < heaviest_kg
