"""Hours fed end where every load has cut itself off for good; in runs, draws and words alike."""

from dataclasses import replace

import numpy as np
import pytest
from pytest import approx
from simple_banks import affine, bank_of, run, steady

from bankSim.kernels import arrays as k
from bankSim.model.load import CutOff
from bankSim.scenario.record import Scenario
from bankSim.show.fed_words import counts_as_fed
from bankSim.show.headline import headline
from bankSim.sim.runtime import all_gone, fed_s
from bankSim.study.ensemble import STUDY_TOLERANCE, Ensemble

H = 3600.0
# 12.8 V + 0.6 V z - 5 mohm 20 A = 12.94 V at z = 0.4: from 0.9 that is 50 Ah of 100, 2.5 h, and the
# delay of 5 s then
FIRST, LAST_S = CutOff(12.94, 5.0), 2.5 * H + 5.0


def loads(*cut_offs, amps=20.0):
    """Loads that share some amperes, each with its cut-off."""
    each = amps / len(cut_offs)
    return tuple(replace(steady(each), name=f"l{n}", cut_off=c) for n, c in enumerate(cut_offs))


def bank(*cut_offs, **more):
    more = {"duration_s": 20.0 * H, "stop_when_empty": True, **more}
    return replace(bank_of(affine("a"), **more), loads=loads(*cut_offs))


def both_ways(own):
    """The same bank as a run and as a draw, at one tolerance."""
    table = Ensemble(Scenario("t", own), ()).evaluate(np.zeros((1, 0)))
    return run(own, relative_tolerance=STUDY_TOLERANCE), float(table["bank.runtime_h"][0])


def test_the_only_load_off_for_good_ends_the_hours():
    result, drawn_h = both_ways(bank(FIRST))
    assert result.end_time_s == 20.0 * H
    assert result.bank.runtime_s == approx(LAST_S, abs=0.01)
    assert result.bank.runtime_s == approx(result.events[-1].time_s, abs=1e-5)
    assert drawn_h == result.bank.runtime_s / H
    told = " ".join(headline(result))
    assert "delivers 50.0 Ah of the 100 Ah on the labels in 2.50 h." in told
    assert '"l0" cuts itself off after 2.50 h; no load is left for the rest of the 20.0 h.' in told
    assert "no battery is left" not in " ".join(one.text for one in result.cautions)


def test_the_last_of_several_decides():
    # 10 A then, 12.8 V + 0.6 V z - 50 mV = 12.87 V at z = 0.2: 20 Ah from 2.5 h on, of which the
    # delay has taken 5 s of 20 A
    result, drawn_h = both_ways(bank(FIRST, CutOff(12.87)))
    assert result.bank.runtime_s == approx(LAST_S + 2.0 * H - 10.0, abs=0.5)
    assert drawn_h == result.bank.runtime_s / H
    assert all_gone(result)


@pytest.mark.parametrize("other", [None, CutOff(12.94, 5.0, 13.39), CutOff(10.0)])
def test_a_load_that_is_left_or_may_start_again_counts_as_fed(other):
    own = bank(FIRST, other, duration_s=3.0 * H)
    result, drawn_h = both_ways(own)
    assert "load cut off" in [event.what for event in result.events]
    assert result.bank.runtime_s == 3.0 * H
    assert drawn_h == 3.0
    assert not all_gone(result)
    assert "no load is left" not in " ".join(headline(result))


def test_loads_that_could_not_be_fed_before_that_end_the_hours_as_ever():
    # P > E^2 / 4 R from the start: it is dropped, and never cuts itself off for that
    load = replace(steady(20e3, 0.0), cut_off=CutOff(1.0, 60.0))
    own = bank_of(affine("a", 0.02), load=load, duration_s=H, stop_when_empty=False)
    result, drawn_h = both_ways(own)
    assert result.bank.runtime_s == 0.0
    assert drawn_h == 0.0
    assert not all_gone(result)


def test_what_counts_as_fed_is_said_where_something_does():
    assert counts_as_fed(bank(FIRST)) == ""
    assert "before the last one" in counts_as_fed(bank(FIRST, FIRST))
    assert counts_as_fed(bank(FIRST, None)) == ", where one that cuts itself off counts as fed"


def test_when_the_last_of_all_is_off_for_good():
    # three draws of two loads: both off, one left, both off after they could not be fed any more
    two = bank(FIRST, FIRST)
    phase = np.array([[k.TRIPPED] * 2, [k.TRIPPED, k.ARMED], [k.TRIPPED] * 2])
    off_s = np.array([[50.0, 70.0], [50.0, 0.0], [150.0, 120.0]])
    could_s = np.array([100.0, 100.0, 100.0])
    assert fed_s(two, could_s, phase, off_s).tolist() == [70.0, 100.0, 100.0]
    # not where one may start again, or never cuts itself off; nor without loads
    for other in (CutOff(12.94, 5.0, 13.39), None):
        assert fed_s(bank(FIRST, other), could_s, phase, off_s).tolist() == [100.0] * 3
    none = replace(two, loads=())
    assert fed_s(none, could_s, phase[:, :0], off_s[:, :0]).tolist() == [100.0] * 3
