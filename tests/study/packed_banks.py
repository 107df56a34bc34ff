"""Packed banks compared number by number, whatever way they came about."""

import numpy as np
from pytest import approx

from bankSim.sim.engine import Engine
from bankSim.study.pokes import pokes
from bankSim.study.pool import pool_of

TOLERANCE = 1e-2
NEAR = {"rel": 1e-12, "abs": 1e-15, "nan_ok": True}
CURVES = ("ocv_first", "ocv_end", "ohm_first", "ohm_end", "usable_first", "usable_end")
RELEASE = ("let_go", "let_go_delay")  # have no meaning where a rule never lets go


def packed(bank):
    """The pool of a bank as draws are marched: without a trace."""
    engine = Engine(bank, TOLERANCE, keep_trace=False)
    return pool_of(engine.packed, engine.run)


def poked(bank, columns, draw=0):
    """The pool of a bank with the numbers of one draw written over its own."""
    pool = packed(bank)
    spots, values = pokes(bank, pool, columns)
    pool.numbers[spots] = values[draw]
    return pool


def assert_same_bank(one, other):
    """Check two pools for the same numbers; curves may be stored apart, R0 as curve x scale."""
    mine, theirs = one.bank, other.bank
    assert _fields(mine.cell, (*CURVES, "ohm_scale")) == approx(
        _fields(theirs.cell, (*CURVES, "ohm_scale")), **NEAR
    )
    assert _fields(mine.battery, CURVES) == approx(_fields(theirs.battery, CURVES), **NEAR)
    _assert_same_curves(mine, theirs)
    _assert_same_rules(mine.rule, theirs.rule)
    assert _fields(mine.charger) == approx(_fields(theirs.charger), **NEAR)
    for name in ("pair", "stage", "setting", "edge", "demand", "exponent"):
        assert getattr(mine, name) == approx(getattr(theirs, name), **NEAR), name
    for name in ("moment", "now", "extreme", "level", "ledger", "gap"):
        assert getattr(one.run, name) == approx(getattr(other.run, name), **NEAR), name
    for name in ("tally", "alarm", "source", "clock"):
        records = _fields(getattr(one.run, name))
        assert records == approx(_fields(getattr(other.run, name)), **NEAR), name


def is_same_bank(one, other):
    """Tell whether two pools hold the same numbers."""
    try:
        assert_same_bank(one, other)
    except AssertionError:
        return False
    return True


def _fields(array, leave_out=()):
    """Numbers of an array of records, one row a name."""
    names = [name for name in array.dtype.names if name not in leave_out]
    return np.array([array[name].astype(float) for name in names])


def _assert_same_curves(mine, theirs):
    for a, b in zip(mine.cell, theirs.cell, strict=True):
        voltage = mine.pieces[a.ocv_first : a.ocv_end]
        assert voltage == approx(theirs.pieces[b.ocv_first : b.ocv_end], **NEAR)
        assert _resistance(mine, a) == approx(_resistance(theirs, b), **NEAR)
    for a, b in zip(mine.battery, theirs.battery, strict=True):
        usable = mine.pieces[a.usable_first : a.usable_end]
        assert usable == approx(theirs.pieces[b.usable_first : b.usable_end], **NEAR)


def _resistance(bank, cell):
    """Rows of R0: anchors as they are, everything else times the scale."""
    return bank.pieces[cell.ohm_first : cell.ohm_end] * np.array([1.0, *[cell.ohm_scale] * 5])


def _assert_same_rules(mine, theirs):
    assert _fields(mine, RELEASE) == approx(_fields(theirs, RELEASE), **NEAR)
    lets_go = mine["releases"] == 1
    for name in RELEASE:
        assert mine[name][lets_go] == approx(theirs[name][lets_go], **NEAR), name
