"""The words on a pair of runs are true: their numbers are worked out again from the summaries."""

import re
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from play_banks import DRAFTS
from pytest import approx

from bankSim.screens.what_if.bars import bars_html, pairs
from bankSim.screens.what_if.differences import charge_line, compared, differences
from bankSim.screens.what_if.outcome import Outcome, bench_of
from bankSim.screens.what_if.picture import dangers_html, present
from bankSim.show.causes import first_names
from bankSim.show.headline import headline
from bankSim.sim.result import Caution
from bankSim.sim.run import simulate

NUMBER = r"(-?\d+(?:\.\d+)?)"
PAIRS = 12


@cache
def run(kind, number):
    """Return a run with a few sliders anywhere; number 0 is the bank as it stands."""
    bench = bench_of(DRAFTS[kind])
    if number == 0:
        return simulate(bench.scenario)
    chance = np.random.default_rng(number)
    keys = chance.choice(sorted(bench.knobs), 3, replace=False)
    settings = {}
    for key in keys:
        knob = bench.knobs[key]
        steps = round((knob.high - knob.low) / knob.step)
        settings[key] = knob.low + knob.step * int(chance.integers(1, steps + 1))
    return simulate(bench.variant(settings))


def first_of(summary):
    """Return who cuts out first from a summary: the earliest trip that blocks discharge."""
    outs = {
        one["name"]: one["first_cut_out"]["time_h"] * 3600.0
        for one in summary["batteries"]
        if one["first_cut_out"]
    }
    earliest = min(outs.values(), default=None)
    return {name for name, time_s in outs.items() if time_s - earliest <= 1e-3}


@pytest.mark.parametrize("number", range(1, PAIRS + 1))
@pytest.mark.parametrize("kind", ["two LFP", "table only"])
def test_words_of_random_pairs_are_true(kind, number):
    before, now = run(kind, number - 1), run(kind, number)
    lines = differences(before, now)
    was, is_now = before.summary(), now.summary()
    old_Ah, new_Ah = was["bank"]["delivered_Ah"], is_now["bank"]["delivered_Ah"]
    told = re.fullmatch(
        rf"The bank delivers {NUMBER} Ah, {NUMBER} Ah (more|less) \({NUMBER} Ah before\)\.",
        lines[0],
    )
    if told is None:
        assert "as before" in lines[0]
        assert new_Ah == approx(old_Ah, abs=0.1)
    else:
        new, gap, old = (float(told[group]) for group in (1, 2, 4))
        assert new == approx(new_Ah, abs=0.051)
        assert old == approx(old_Ah, abs=0.051)
        assert gap == approx(abs(new - old), abs=1e-9)  # the three numbers agree as printed
        assert told[3] == ("more" if new_Ah > old_Ah else "less")
    firsts = [first_of(summary) for summary in (was, is_now)]
    line = next(line for line in lines if "cut" in line and "out" in line)
    if firsts[1]:
        assert all(f'"{name}"' in line for name in firsts[1])
        assert ("still" in line) == (firsts[0] == firsts[1])
    else:
        assert line.startswith("No battery cuts out")
    assert set(first_names(now)) == firsts[1]
    dangers = [
        {one["topic"] for one in summary["cautions"] if one["severity"] == "danger"}
        for summary in (was, is_now)
    ]
    text = " ".join(lines)
    for topic in dangers[1] - dangers[0]:
        assert re.search(rf"New DANGER: [^.]*{re.escape(topic)}", text)
    for topic in dangers[0] - dangers[1]:
        assert re.search(rf"No longer a danger: [^.]*{re.escape(topic)}", text)
    if dangers[0] == dangers[1]:
        assert "DANGER" not in text


def test_charge_only_banks_speak_of_what_goes_in():
    bench = bench_of(DRAFTS["charge only"])
    before, now = simulate(bench.scenario), simulate(bench.variant({"charger/0": 5.0}))
    line = charge_line(before, now)
    assert line.startswith("The bank takes in")
    assert "less" in line
    assert not any("loads" in line for line in differences(before, now))
    assert next(pair.name for pair in pairs(before, now)) == "bank takes in"


def test_bars_hold_the_numbers_of_both_runs():
    before, now = run("two LFP", 0), run("two LFP", 3)
    of_bank, hours, *others = pairs(before, now)
    assert (of_bank.before, of_bank.now) == (before.bank.delivered_Ah, now.bank.delivered_Ah)
    assert hours.now == approx(now.bank.runtime_s / 3600.0)
    assert [pair.name for pair in others[:2]] == ["new", "old"]
    assert others[1].before == before.batteries[1].delivered_Ah


def test_names_in_bars_are_no_markup():
    result = run("two LFP", 0)
    hostile = replace(
        result, batteries=tuple(replace(one, name="<b onclick=x>&") for one in result.batteries)
    )
    text = bars_html(hostile, hostile)
    assert "<b onclick" not in text
    assert "&lt;b onclick=x&gt;&amp;" in text


@pytest.mark.parametrize(
    ("was", "now", "told"),
    [
        (100.0, 90.0, "90.0 Ah, 10.0 Ah less (100.0 Ah before)"),
        (8.0, 8.5, "8.50 Ah, 0.50 Ah more (8.00 Ah before)"),
        (50.0, 50.01, "50.0 Ah, as before"),
        (0.0, 0.0, "nothing, as before"),
    ],
)
def test_compared(was, now, told):
    assert compared(was, now, "Ah") == told


def test_every_danger_stands_there_with_its_battery_and_value():
    clean = replace(run("two LFP", 0), cautions=())
    assert dangers_html(clean) == ""
    heavy = tuple(
        Caution("discharge above its label", "danger", 103.0 + n, 50.0, "A",
                f'"<b>{n}" delivers up to {103 + n} A; its label allows 50.0 A.', "Use less.")
        for n in range(8)
    )  # fmt: skip
    mild = Caution("low", "warning", 1.0, 2.0, "A", "A mere warning.", "")
    told = dangers_html(replace(clean, cautions=(mild, *heavy)))
    assert [f"up to {103 + n} A" in told for n in range(8)] == [True] * 6 + [False] * 2
    assert "&lt;b&gt;0" in told
    assert "And 2 more of the same kinds." in told
    assert "mere warning" not in told


def test_nothing_points_below_where_nothing_is():
    one = Caution("a", "danger", 1.0, 2.0, "A", "One danger.", "")
    two = replace(one, topic="b", text="Another danger.")
    result = replace(run("two LFP", 0), cautions=(one, two))
    assert any("more below" in line for line in headline(result))
    lines = present(Outcome(result, None))
    assert lines
    assert not any("more below" in line or "danger" in line.lower() for line in lines)
