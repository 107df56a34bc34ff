"""Results of studies written by hand, so that figures can be checked without any march."""

from dataclasses import replace

import made_up
import numpy as np

from bankSim.model.bank import Bank, Wiring
from bankSim.model.load import Load, Schedule
from bankSim.scenario.record import Scenario
from bankSim.sim.result import Caution
from bankSim.study.answers import BANK, RUNTIME
from bankSim.study.blocks import Draws
from bankSim.study.groups import Group
from bankSim.study.indices import Indices
from bankSim.study.matters import Dropped, Matter, MattersResult
from bankSim.study.outcomes import BANK_AH, CHARGED_AH, END, FIRST, RUNTIME_H, battery_column
from bankSim.study.plan import Plan
from bankSim.study.spread import (
    Band,
    BatteryChances,
    OrderChance,
    Precision,
    SpreadResult,
    band,
)
from bankSim.study.statistics import Estimate, chance
from bankSim.study.store import Memory
from bankSim.study.sums import PARTS, BatterySum, Part, SumsResult
from bankSim.study.sweep import SweepResult, SweptPoint
from bankSim.study.swept_keys import SweptKey
from bankSim.study.to_measure import ToMeasure
from bankSim.study.traced import CautionChance, Fan, Traced
from bankSim.study.uniforms import RandomDraws
from bankSim.study.unknown import Kind
from bankSim.study.versus import BatteryDifference, Difference, VersusResult

HOSTILE = (
    "$\\frac{1}{0$ _x_ <b>&amp;</b>",
    "_hidden" + "W" * 53,
    "a\nb\x1b[1m" + "w" * 54,
    "\N{GREEK SMALL LETTER OMEGA}\u0308 " + "i" * 58,
)
CELLS = 4
LIKELY, NEVER = chance(60, 100), chance(0, 100)


def names(count):
    return [f"battery {place + 1}" for place in range(count)]


def scenario(called, title="Made up", duration_h=20.0, daily=False, cells=CELLS):
    batteries = tuple(made_up.battery(name, 100.0 + 10.0 * k, cells)
                      for k, name in enumerate(called))  # fmt: skip
    schedule = Schedule(daily_s=((0.0, 3600.0),)) if daily else Schedule()
    load = Load("lamp", 0.0, np.array([0.0]), np.array([50.0]), schedule)
    bank = Bank(batteries, Wiring(), (load,), duration_s=3600.0 * duration_h)
    return Scenario(title=title, bank=bank, file="made-up.toml")


def table(called, draws, spread=1.0, outs=True, cells=CELLS, seed=0):
    """One row a draw: every battery gives 0.9 of its label, the k-th is out after 10 + k h."""
    rng = np.random.default_rng(seed)
    scatter = spread * rng.normal(size=draws)
    first = 1 + rng.integers(0, len(called), draws) if outs else np.zeros(draws)
    columns = {
        BANK_AH: sum(90.0 + 9.0 * k for k in range(len(called))) + 5.0 * scatter,
        CHARGED_AH: np.zeros(draws),
        RUNTIME_H: np.clip(15.0 + scatter, 0.0, 20.0),
        END: np.zeros(draws),
        FIRST: first.astype(np.int16),
    }
    for k, name in enumerate(called):
        columns |= {
            battery_column(name, "delivered_Ah"): 90.0 + 9.0 * k + 2.0 * scatter,
            battery_column(name, "charged_Ah"): np.zeros(draws),
            battery_column(name, "stranded_Ah"): np.abs(scatter),
            battery_column(name, "peak_discharge_A"): 30.0 + k + scatter,
            battery_column(name, "peak_charge_A"): np.abs(scatter),
            battery_column(name, "cut_out_h"): np.where(outs, 10.0 + 0.1 * k + scatter, np.nan),
            battery_column(name, "cut_out_voltage_V"): np.where(outs, 11.0 + scatter, np.nan),
            battery_column(name, "cut_out_place"): (first == k + 1) + 0.0 if outs else first,
            battery_column(name, "cut_out_cell"): np.where(first == k + 1, 1 + k % cells, 0),
        }
    return columns


def draws_of(about, columns, seed=7):
    count = len(columns[BANK_AH])
    plan = Plan(about, (), RandomDraws((), seed), 1e-2, count, "made up")
    store = Memory()
    store.write(0, columns)
    return Draws(plan, store, 1)


def fan(count, steps=120, draws=100, ending=True, span_h=16.0, duty=False):
    """Voltage falls from 13 to 12 V; half of the draws have ended at 7/8 of the span."""
    time_h = (np.arange(steps) + 0.5) * span_h / steps
    part = time_h / span_h
    running = np.clip(1.0 - 4.0 * (part - 0.75), 0.01, 1.0) if ending else np.ones(steps)
    spreads = 0.1 * np.array([-2.0, -1.0, 0.0, 1.0, 2.0])[:, None] * part
    voltage = 13.0 - part + spreads
    percents = np.array([5.0, 25.0, 50.0, 75.0, 95.0])[:, None] / 100.0
    voltage[1.0 - running > percents] = np.nan
    on = np.where(np.arange(steps) % 2, 0.2, 1.8) if duty else np.ones(steps)
    current = np.array([(2.0 + k + spreads) * on for k in range(count)])
    current[:, :, running <= 0.5] = np.nan
    return Fan(time_h, running, voltage, current, draws)


def cautions(count=3, draws=100):
    kinds = [("danger", "surge when one comes back"), ("warning", "discharge above label"),
             ("note", "no fuse at a battery")]  # fmt: skip
    return tuple(
        CautionChance(topic if k < 3 else f"{topic} {k}", severity, chance(80 - k, draws),
                      Caution(topic, severity, 1.0, 2.0, "A", "Something."), k)
        for k in range(count) for severity, topic in [kinds[k % 3]]
    )  # fmt: skip


def spread(called=("old", "new"), draws=400, outs=True, width=1.0, cells=CELLS, **changes):
    """The first battery cuts out as often as the others."""
    about = changes.pop("about", None) or scenario(called, cells=cells)
    columns = changes.pop("columns", None) or table(called, draws, width, outs, cells)
    made = draws_of(about, columns)
    first = made.column(FIRST)
    batteries = tuple(_battery(made, k, name, outs, cells) for k, name in enumerate(called))
    return replace(
        SpreadResult(
            draws=made, asked=Precision(), reached=True,
            bank=band(BANK.text, "Ah", columns[BANK_AH], float(columns[BANK_AH].mean())),
            charged=band("takes in", "Ah", made.column(CHARGED_AH), 1.0),
            runtime=band(RUNTIME.text, "h", columns[RUNTIME_H], 15.2), batteries=batteries,
            nobody=chance(int((first == 0).sum()), draws), together=chance(0, draws),
            fed=chance(0, draws),
            orders=(OrderChance((tuple(called[:1]),), chance(draws, draws)),), ends=(),
            traced=Traced(fan(len(called), draws=min(draws, 100)), cautions()),
        ),
        **changes,
    )  # fmt: skip


def _battery(made, number, name, outs, cells):
    def own(what, unit):
        values = made.column(battery_column(name, what)).astype(float)
        return band(what, unit, values, float(values.mean()))

    first, cell = made.column(FIRST), made.column(battery_column(name, "cut_out_cell"))
    count = int((first == number + 1).sum())
    return BatteryChances(
        name=name, delivered=own("delivered_Ah", "Ah"), charged=own("charged_Ah", "Ah"),
        cut_out_h=own("cut_out_h", "h") if outs else None, voltage=None,
        stranded=own("stranded_Ah", "Ah"), first=chance(count, made.count),
        at_all=chance(count, made.count),
        cells=tuple(chance(int((cell == k + 1).sum()), made.count) for k in range(cells)),
    )  # fmt: skip


def sweep(values=(1.0, 2.0, 3.0, 4.0), more=None, called=("old", "new"), given=(2.5,), draws=50):
    """The bank gives 100 Ah and the first value more; with `more` a second key's value besides."""
    keys = [SweptKey("battery[1].lead_mohm", ("battery", 0, "lead_mohm"), tuple(values), "mohm")]
    if more is not None:
        keys.append(SweptKey('battery["$_x"].word', ("battery", 0, "word"), tuple(more), ""))
    points = [_point((value, *other), place, called)
              for place, value in enumerate(values)
              for other in ([(one,) for one in more] if more is not None else [()])]  # fmt: skip
    about = scenario(called)
    return SweepResult(
        scenario=about, plan=Plan(about, (), RandomDraws((), 3), 1e-2, draws, "made up"),
        keys=tuple(keys), answer=BANK, points=tuple(points), draws=draws, traced=20, seed=3,
        given=tuple(given),
    )  # fmt: skip


def _shifted(text, unit, middle, central):
    """Percentiles of an even spread of 8 around a middle; all with intervals of 0.2."""
    points = tuple(
        Estimate(middle + by, middle + by - 0.1, middle + by + 0.1)
        for by in (-3.6, -2.0, 0.0, 2.0, 3.6)
    )
    return Band(text, unit, central, points, 100)


def _point(values, place, called):
    extra = sum(float(one) for one in values if isinstance(one, int | float))
    leader = place % len(called)
    return SweptPoint(
        values=values,
        bank=_shifted("bank", "Ah", 100.0 + extra, 101.0 + extra),
        runtime=_shifted("runtime", "h", 10.0, 10.0),
        by_battery=tuple(
            _shifted(name, "Ah", 50.0 + k + extra, 50.0) for k, name in enumerate(called)
        ),
        hardest=_shifted("hardest", "A", 30.0, 30.0),
        first=tuple(LIKELY if k == leader else NEVER for k in range(len(called))),
        nobody=Estimate(1.0 - LIKELY.value, 1.0 - LIKELY.high, 1.0 - LIKELY.low),
        together=Estimate(0.0, 0.0, 0.0), shares=(1.0 / len(called),) * len(called), fed=NEVER,
        cautions=(),
    )  # fmt: skip


def versus(one=("old", "new"), other=("old", "third"), draws=300, width=1.0, gap_Ah=3.0, outs=True):
    """The other bank gives `gap_Ah` more in every draw, give or take 1 Ah."""
    about = [scenario(one, "One way"), scenario(other, "Another way to wire")]
    tables = [table(called, draws, width, outs) for called in (one, other)]
    tables[1][BANK_AH] = (
        tables[0][BANK_AH] + gap_Ah + width * np.random.default_rng(5).normal(size=draws)
    )
    made = [draws_of(a, t) for a, t in zip(about, tables, strict=True)]
    differences = tuple(difference(answer, *made) for answer in (BANK, RUNTIME))
    return VersusResult(
        one=made[0], other=made[1], differences=differences,
        batteries=tuple(_pair(name, (one, other), made) for name in dict.fromkeys([*one, *other])),
        hardest=differences[0], fed=(NEVER, NEVER),
        traced=(Traced(fan(2), ()), Traced(fan(2), cautions())),
        shared=10, alone=(0, 0), seed=7, reached=True,
    )  # fmt: skip


def difference(answer, one, other):
    a, b = answer.of(one), answer.of(other)
    mean = float((b - a).mean())
    return Difference(
        answer, band("one", answer.unit, a, float(a[0])),
        band("other", answer.unit, b, float(b[0])), band("gap", answer.unit, b - a, 3.0),
        Estimate(mean, mean - 0.1, mean + 0.1),
        chance(int((b > a).sum()), a.size), chance(int((b < a).sum()), a.size),
    )  # fmt: skip


def _pair(name, called, made):
    firsts = [
        chance(int((draws.column(FIRST) == names.index(name) + 1).sum()), draws.count)
        if name in names else None
        for names, draws in zip(called, made, strict=True)
    ]  # fmt: skip
    return BatteryDifference(name, tuple(firsts), (None, None), (None, None), (None, None))


def sums(levels=(200.0, 180.0, 176.0, 171.0, 171.5, 170.0), draws=100, width=1.0):
    """Levels of the steps, each with a scatter of `width` Ah."""
    scatter = width * np.linspace(-2.0, 2.0, draws)
    parts = []
    for number, ((word, text), level) in enumerate(zip(PARTS, levels, strict=True)):
        own = level + (scatter if number else 0.0 * scatter)
        change = None
        if number:
            change = band(text, "Ah", level - levels[number - 1] + 0.3 * scatter, 0.0)
        parts.append(Part(word, text, band(text, "Ah", own, level), change))
    plan = draws_of(scenario(("old", "new")), table(("old", "new"), draws)).plan
    one = band("old", "Ah", 80.0 + scatter, 80.0)
    return SumsResult(plan, draws, tuple(parts), (BatterySum("old", one, one, one, one),))


def matters(count=5, measured=2, called=None, halves=True, dropped=0, **changes):
    """Totals fall like 1/2, 1/4, 1/8, ...; what a group does alone is 0.9 of that."""
    called = called or [f'capacities of the cells of "battery {k + 1}"' for k in range(count)]
    groups = [Group(name, Kind.CELL_CAPACITY, "", (), (), ()) for name in called]
    found = tuple(
        Matter(group, _near(0.9 * 0.5 ** (k + 1)), _near(0.5 ** (k + 1)), 1.0)
        for k, group in enumerate(groups)
    )
    measure = ToMeasure(tuple(groups[:measured]), _near(1.25), _near(0.36), halves)
    return replace(
        MattersResult(
            plan=draws_of(scenario(("old", "new")), table(("old", "new"), 10)).plan, answer=BANK,
            draws=4096, seed=11, base=512, walks=10, central=170.0, mean=_near(169.0),
            sd=_near(3.5), seen=band("", "Ah", np.linspace(160.0, 180.0, 1024), 170.0),
            matters=found,
            rest=Indices(_near(0.01), _near(0.02)) if dropped else None,
            dropped=tuple(Dropped(group, 0.1) for group in groups[:1] * dropped),
            to_measure=measure if groups else None,
        ),
        **changes,
    )  # fmt: skip


def _near(value):
    return Estimate(value, value - 0.02, value + 0.03)
