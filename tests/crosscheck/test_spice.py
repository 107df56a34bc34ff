"""ngspice against the slow twin on the same banks, and what happens when ngspice is missing."""

import subprocess
import sys

import numpy as np
import pytest
from crosscheck_banks import bare_pair, duty_pair, lively_pair, row_of_three

from bankSim.crosscheck import spice as spice_module
from bankSim.crosscheck.spice import SpiceError, run_deck, solve_spice
from bankSim.crosscheck.twin import solve_twin
from bankSim.model.bank import Layout

BANKS = {
    "bare": bare_pair,
    "same end": lambda: row_of_three(Layout.SAME_END),
    "opposite ends": lambda: row_of_three(Layout.OPPOSITE_ENDS),
    "lively": lively_pair,
    "duty": duty_pair,
}


@pytest.mark.ngspice
@pytest.mark.parametrize("name", BANKS)
def test_ngspice_and_the_twin_agree(name, spice):
    # limits: Ah within 0.1 %, bus voltage within 2 mV rms before and after the first cut-out
    bank = BANKS[name]()
    twin = solve_twin(bank, rtol=1e-7, atol=1e-8)
    found = solve_spice(bank, twin.end_time_s + 60.0)
    assert len(twin.cut_outs) == len(bank.batteries)
    assert found.delivered_Ah[-1] == pytest.approx(twin.delivered_Ah, rel=1e-3)
    assert found.charged_Ah[-1] == pytest.approx(twin.charged_Ah, rel=1e-3, abs=1e-3)
    expected_s = {trip.battery: trip.time_s for trip in twin.cut_outs}
    cuts_s = dict(enumerate(found.cut_out_s))
    assert cuts_s == pytest.approx(expected_s, abs=3 * found.max_step_s)
    first_s = min(expected_s.values())
    times = np.arange(25.0, twin.end_time_s, 10.0)
    times = times[[min(abs(t - c) for c in expected_s.values()) > 6.0 for t in times]]
    difference = twin.voltage_V(times) - found.voltage_V(times)
    for span in (times < first_s, times > first_s):
        assert np.sqrt(np.mean(difference[span] ** 2)) < 2e-3


@pytest.mark.ngspice
def test_broken_netlist_gives_one_clear_line(spice):
    with pytest.raises(SpiceError, match="ngspice failed: ") as caught:
        run_deck("* broken\nR1 a\n.tran 1 2\n.end\n")
    assert "\n" not in str(caught.value)


@pytest.mark.ngspice
def test_slow_run_is_ended(spice):
    with pytest.raises(SpiceError, match=r"did not finish within 0\.5 s"):
        solve_spice(duty_pair(), 4e7, timeout_s=0.5)


@pytest.mark.parametrize(
    ("code", "words"),
    [
        (3, r"same environment: pip install PySpice .*'\.\[spice\]'"),
        (4, "libngspice0"),
        (-11, "exit code -11"),
    ],
)
def test_missing_parts_are_named(monkeypatch, code, words):
    def fake(*_args, **_kwargs):
        return subprocess.CompletedProcess([], code, b"", b"")

    monkeypatch.setattr(spice_module.subprocess, "run", fake)
    with pytest.raises(SpiceError, match=words):
        run_deck("")


def test_worker_says_when_the_library_is_missing(monkeypatch):
    pytest.importorskip("PySpice")
    monkeypatch.setenv("NGSPICE_LIBRARY_PATH", "/nowhere/libngspice.so")
    with pytest.raises(SpiceError, match="the ngspice library was not found"):
        run_deck("* trifle\n")


def test_only_the_worker_imports_pyspice():
    code = "import sys, bankSim.crosscheck.compare; sys.exit('PySpice' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
