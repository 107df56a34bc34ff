"""Packed banks compared number by number, whatever way they came about."""

import numpy as np

from bankSim.sim.engine import Engine
from bankSim.study.pokes import pokes
from bankSim.study.pool import pool_of

TOLERANCE = 1e-2
RELATIVE, ABSOLUTE = 1e-12, 1e-15
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
    leave_out = (*CURVES, "ohm_scale")
    _assert_near(_fields(mine.cell, leave_out), _fields(theirs.cell, leave_out), "cell")
    _assert_near(_fields(mine.battery, CURVES), _fields(theirs.battery, CURVES), "battery")
    _assert_same_curves(mine, theirs)
    _assert_same_rules(mine.rule, theirs.rule)
    _assert_near(_fields(mine.charger), _fields(theirs.charger), "charger")
    for name in ("pair", "stage", "setting", "edge", "demand", "exponent"):
        _assert_near(getattr(mine, name), getattr(theirs, name), name)
    for name in ("moment", "now", "extreme", "level", "ledger", "gap"):
        _assert_near(getattr(one.run, name), getattr(other.run, name), name)
    for name in ("tally", "alarm", "source", "clock"):
        _assert_near(_fields(getattr(one.run, name)), _fields(getattr(other.run, name)), name)


def _assert_near(one, other, name):
    """Check numbers as `pytest.approx` does, all at once: its way takes far longer."""
    assert one.shape == other.shape, name
    with np.errstate(invalid="ignore"):
        close = np.abs(one - other) <= np.maximum(RELATIVE * np.abs(other), ABSOLUTE)
    alike = (one == other) | (np.isnan(one) & np.isnan(other)) | (close & np.isfinite(other))
    assert alike.all(), f"{name}: {one[~alike][:5]} are not {other[~alike][:5]}"


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
        _assert_near(voltage, theirs.pieces[b.ocv_first : b.ocv_end], "rest voltage")
        _assert_near(_resistance(mine, a), _resistance(theirs, b), "resistance")
    for a, b in zip(mine.battery, theirs.battery, strict=True):
        usable = mine.pieces[a.usable_first : a.usable_end]
        _assert_near(usable, theirs.pieces[b.usable_first : b.usable_end], "usable part")


def _resistance(bank, cell):
    """Rows of R0: anchors as they are, everything else times the scale."""
    return bank.pieces[cell.ohm_first : cell.ohm_end] * np.array([1.0, *[cell.ohm_scale] * 5])


def _assert_same_rules(mine, theirs):
    _assert_near(_fields(mine, RELEASE), _fields(theirs, RELEASE), "rule")
    lets_go = mine["releases"] == 1
    for name in RELEASE:
        _assert_near(mine[name][lets_go], theirs[name][lets_go], name)
