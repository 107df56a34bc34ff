"""A map over two sliders: what it asks for, and that its fields are those runs."""

import pytest
from play_banks import DRAFTS, TWO_LFP
from pytest import approx

from bankSim.scenario.draft import Draft
from bankSim.screens.jobs import Stopped
from bankSim.screens.what_if import map_study, matters_study
from bankSim.screens.what_if.map_study import (
    MapAsked,
    axis_numbers,
    first_out,
    go_together,
    key_of,
    make_map,
    map_lines,
    middles,
    paper_fields,
    steps_between,
)
from bankSim.screens.what_if.outcome import bench_of
from bankSim.sim.numbers import number
from bankSim.study.blocks import threads
from bankSim.study.sweep import study_sweep
from bankSim.study.swept_keys import read_swept


def asked(bench, one, other, settings=None, ends=None):
    knobs = (bench.knobs[one], bench.knobs[other])
    ends = ends or [(knob.low, knob.high) for knob in knobs]
    values = tuple(
        steps_between(knob, *end, count=2) for knob, end in zip(knobs, ends, strict=True)
    )
    return MapAsked("", settings or {}, knobs, values)


def test_axes_write_what_the_sliders_write():
    bench = bench_of(DRAFTS["two LFP"])
    question = asked(bench, "below/1/1", "load/0", ends=[(1.0, 11.0), (40.0, 80.0)])
    assert axis_numbers(bench, question, 0) == approx((0.99, 0.89))
    assert axis_numbers(bench, question, 1) == approx((40.0, 80.0))


def test_fields_are_a_sweep_of_the_same_keys(monkeypatch):
    monkeypatch.setattr(map_study, "DRAWS", 16)
    bench = bench_of(DRAFTS["two LFP"])
    question = asked(bench, "below/1/1", "load/0", ends=[(1.0, 11.0), (40.0, 80.0)])
    found = make_map(bench, question, lambda stage, done, total: None)
    keys = read_swept(
        ["load[1].power_W=40,80", "battery[2].cells[2].state_of_charge=0.99,0.89"], bench.scenario
    )
    with threads() as workers:
        same = study_sweep(bench.scenario, keys, workers, draws=16)
    assert middles(found) == approx(middles(same))
    assert middles(found).shape == (2, 2)
    assert middles(found)[0, 0] > middles(found)[0, 1]  # a cell that lags takes charge away
    names = {name for row in first_out(found) for name in row}
    assert names <= {"new", "old", "", map_study.TOGETHER}
    assert any("most" in line for line in map_lines(question, found))


def test_fields_whose_fuse_would_blow_are_on_paper_only(monkeypatch):
    # of 120 W at some 13 V it carries 4.6 A and more, once "old" is out 9 A; of 40 W 3 A at most
    monkeypatch.setattr(map_study, "DRAWS", 4)
    fused = Draft(TWO_LFP.replace("joints = 2 }", "joints = 2, fuse_A = 4.0 }"))
    bench = bench_of(fused)
    question = asked(bench, "below/1/1", "load/0", ends=[(1.0, 11.0), (40.0, 120.0)])
    found = make_map(bench, question, lambda stage, done, total: None)
    assert paper_fields(found) == [[False, False], [True, True]]
    lines = map_lines(question, found)
    ends = [middles(found).argmax() // 2, middles(found).argmin() // 2]
    for line, row in zip(lines[:2], ends, strict=True):
        assert (" Ah (on paper only), with " in line) is bool(row)
    most = number(float(middles(found)[0].max()))
    assert (
        "On paper only (*) are the Ah in 2 of 4 fields: in truth a fuse blows first; the most in "
        f"the others is {most} Ah." in lines
    )


def test_sliders_that_act_on_each_other_are_refused():
    bench = bench_of(DRAFTS["two LFP"])
    assert not go_together(bench, asked(bench, "health/1", "capacity/1/1"))
    assert go_together(bench, asked(bench, "health/1", "below/1/1"))
    assert go_together(bench, asked(bench, "limit/0/0", "below/1/1"))
    assert key_of(bench.knobs["charge/1"]) is None  # it writes two keys, as a cell has its own


def test_a_map_stops_when_asked_to():
    bench = bench_of(DRAFTS["two LFP"])

    def stop(stage, done, total):
        raise Stopped

    with pytest.raises(Stopped):
        make_map(bench, asked(bench, "below/1/1", "load/0"), stop)


def test_what_matters_reaches_from_low_to_high(monkeypatch):
    monkeypatch.setattr(matters_study, "BASE", 16)
    monkeypatch.setattr(matters_study, "WALKS", 2)
    bench = bench_of(DRAFTS["two LFP"])
    found = matters_study.find_matters(bench.scenario, lambda stage, done, total: None)
    assert len(found.labels) == len(found.low) == len(found.high) > 0
    place = next(n for n, label in enumerate(found.labels) if label.startswith("capacity of"))
    assert found.low[place] < found.middle < found.high[place]  # more capacity, more Ah
