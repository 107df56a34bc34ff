"""The benchmarks run, and what they compare is the same bank. No test here looks at a time."""

import re
from types import SimpleNamespace

import numpy as np
import pytest

from bankSim.model.bank import Layout
from benchmarks import ours
from benchmarks.__main__ import main
from benchmarks.banks import many, without_charge_lag
from benchmarks.contenders import OURS
from benchmarks.equal_error import Entry, cheapest
from benchmarks.lean_march import compile_equations
from benchmarks.outcome import Outcome, errors
from benchmarks.timing import race


def test_solver_agrees_with_cvode_on_lean_equations():
    # Reference: CVODE (SUNDIALS) with its own root finding, equations written a second time in
    # benchmarks/lean.py. The limit is 10 times the tolerance asked of this solver.
    pytest.importorskip("sksundae")
    from benchmarks.cvode import run_cvode

    bank = without_charge_lag(many(3, Layout.EQUAL_LEADS, 0.15))
    reference = run_cvode(compile_equations(bank), 1e-11)
    assert reference.cut_out_s.size == len(bank.batteries)
    assert max(errors(ours.run(bank, 1e-8), reference)) < 1e-7


def test_lean_equations_refuse_cells_whose_law_they_do_not_know():
    with pytest.raises(ValueError, match="no charge lag"):
        compile_equations(many(2, Layout.EQUAL_LEADS))


def test_setting_that_is_good_by_luck_is_not_taken():
    scan = [Entry(None, s, None, (e, 0.0)) for s, e in ((4, 1e-5), (3, 1e-3), (2, 1e-4), (1, 1e-6))]
    assert cheapest(scan, 2e-4).setting == 2
    assert cheapest(scan, 1e-7) is None


def test_errors_are_the_worst_relative_ones():
    right = Outcome(np.array([[10.0, 20.0]]), np.array([100.0]), 1)
    found = Outcome(np.array([[10.1, 20.1]]), np.array([102.0]), 1)
    assert errors(found, right) == pytest.approx((0.01, 0.02))
    nothing = Outcome(np.empty((0, 2)), np.empty(0), 1)
    assert errors(nothing, right) == (np.inf, np.inf)


def test_everyone_takes_turns():
    calls = []

    def runner(name, seconds):
        def run():
            calls.append(name)
            return next(seconds)

        return run

    clock = SimpleNamespace(a=iter([1.0, 2.0, 4.0]), b=iter([3.0] * 3))
    times = race({"a": runner("a", clock.a), "b": runner("b", clock.b)}, 3, least_s=0.0)
    assert calls == ["a", "b"] * 3
    assert (times["a"].seconds, times["a"].spread) == (2.0, 1.5)


@pytest.mark.slow
def test_short_form_prints_all_tables(capsys):
    assert main(["--short"]) == 0
    text = capsys.readouterr().out
    assert "none tried" not in text
    assert OURS in text
    assert "(1 is linear)" in text
    assert "later answers" in text
    assert "slider let go by mouse" in text
    assert "\x1b" not in text
    found = re.findall(r"differs from it by (\S+) in Ah and (\S+) in time", text)
    assert len(found) == 2
    assert all(float(value) < 1e-6 for pair_of in found for value in pair_of)
