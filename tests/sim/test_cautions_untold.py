"""Shorts of batteries that are given without any resistance inside: no number is told."""

import re
from dataclasses import replace

from pytest import approx
from simple_banks import affine, bank_of, run

from bankSim.model.bank import Wiring


def found(bank):
    return {caution.topic: caution for caution in run(bank).cautions}


def test_no_number_without_a_resistance():
    ideal = [affine(name, 0.0, lead=5e-3) for name in "ab"]
    caution = found(bank_of(*ideal))["no fuse at a battery"]
    assert (caution.severity, caution.value) == ("warning", None)
    assert 'no resistance inside "a" and "b" is given' in caution.text
    assert re.search(r"\d+ k?A", caution.text) is None
    assert "fuse_A" in caution.advice
    fused = [replace(one, fuse_A=100.0) for one in ideal]
    caution = found(bank_of(*fused))["short circuit beyond a fuse"]
    assert "cannot be told" in caution.text
    # one behind a main fuse is fused
    lone = found(bank_of(ideal[0], wiring=Wiring(main_fuse_A=50.0)))
    assert "no fuse at a battery" not in lone
    assert "short circuit beyond a fuse" in lone


def test_a_resistance_inside_is_enough_for_a_number():
    # Ohm's law: 13.4 V full over 0.1 mohm, the lead being beyond the short
    caution = found(bank_of(affine("a", 1e-4, lead=5e-3)))["no fuse at a battery"]
    assert caution.value == approx(13.4 / 1e-4)
