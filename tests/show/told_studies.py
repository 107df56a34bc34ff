"""Results of studies written by hand, so that what is told can be checked without any draw."""

from dataclasses import replace

import made_up
import numpy as np
from simple_banks import steady

from bankSim.model.bank import Bank, Wiring
from bankSim.model.spread import Shape, Spread
from bankSim.scenario.record import Scenario
from bankSim.sim.result import Caution
from bankSim.study.answers import BANK, CHARGED, RUNTIME, Answer
from bankSim.study.blocks import Draws
from bankSim.study.fields import Field
from bankSim.study.groups import Group
from bankSim.study.indices import Indices
from bankSim.study.matters import Dropped, Matter, MattersResult
from bankSim.study.outcomes import FIRST
from bankSim.study.plan import Plan
from bankSim.study.spread import Band, BatteryChances, OrderChance, Precision, SpreadResult
from bankSim.study.statistics import Estimate, chance
from bankSim.study.store import Memory
from bankSim.study.sums import PARTS, BatterySum, Part, SumsResult
from bankSim.study.sweep import SweepResult, SweptPoint
from bankSim.study.swept_keys import SweptKey
from bankSim.study.to_measure import ToMeasure
from bankSim.study.traced import CautionChance, Fan, Traced
from bankSim.study.uniforms import RandomDraws, Sampling
from bankSim.study.unknown import Effect, Kind, Op, Unknown
from bankSim.study.versus import HARDEST, BatteryDifference, Difference, VersusResult

COUNT = 1000
TITLE = "Made up"
HOSTILE = (
    "two\nlines",
    "$x^2$ \\alpha",
    "a name of sixty letters that goes on and on until it is 60",
    'says "hello"',
    "H\u00fctte \u6c34 \U0001f50b",
    "=1+1",
    "[red]not red[/red]",
    "\x1b[31mcontrol",
)


def unknown(label="capacity", kind=Kind.CAPACITY, subject="old", op=Op.FACTOR, **changes):
    spread = Spread(Shape.NORMAL, 1.0, 0.03, 0.9, 1.1)
    made = Unknown(
        f'{label} of "{subject}"', kind, subject, "battery[1].capacity_fraction", "", spread,
        (Effect(Field.CHARGE, (0,), op),), "somebody measured it",
    )  # fmt: skip
    return replace(made, **changes)


def plan(
    names=("old", "new"), *, loads=True, title=TITLE, unknowns=None, even=False, file="made-up.toml"
):
    """A plan of batteries of 100 Ah each."""
    batteries = tuple(made_up.battery(name) for name in names)
    bank = Bank(batteries, Wiring(), (steady(5.0),) if loads else (), duration_s=40.0 * 3600.0)
    found = (unknown(),) if unknowns is None else tuple(unknowns)
    design = RandomDraws(
        tuple(one.label for one in found), 7, Sampling.EVEN if even else Sampling.RANDOM
    )
    scenario = Scenario(title, bank, file=file)
    return Plan(scenario, found, design, 1e-2, COUNT, "content")


def draws(names=("old", "new"), count=COUNT, **more):
    return Draws(replace(plan(names, **more), block=count), Memory(), 1)


def sure(value):
    """An estimate without any doubt."""
    return Estimate(value, value, value)


def band(low, middle, high, unit="Ah", *, central=None, half=0.0, text="delivers"):
    """Points at 5, 25, 50, 75 and 95 %, each known to within `half`."""
    points = (low, 0.5 * (low + middle), middle, 0.5 * (middle + high), high)
    told = tuple(Estimate(point, point - half, point + half) for point in points)
    return Band(text, unit, middle if central is None else central, told, COUNT)


NOTHING = Band("delivers", "Ah", None, (), 0)
FLAT = band(0.0, 0.0, 0.0)


def battery(name="old", *, first=0.5, at_all=1.0, cells=(0.4, 0.3, 0.2, 0.1), **changes):
    made = BatteryChances(
        name=name,
        delivered=band(80.0, 85.0, 90.0),
        charged=FLAT,
        cut_out_h=band(9.0, 10.0, 11.0, "h") if at_all else None,
        voltage=band(10.0, 10.5, 11.0, "V") if at_all else None,
        stranded=band(0.1, 0.2, 0.3),
        first=of(first),
        at_all=of(at_all),
        cells=tuple(of(one) for one in cells),
    )
    return replace(made, **changes)


def of(part, count=COUNT):
    """The chance of something seen in this part of the draws."""
    return chance(round(part * count), count)


def caution(topic="fuse", severity="warning", part=0.5, draw=3, advice="Think twice."):
    text = f"The {topic} is not what it should be."
    return CautionChance(
        topic, severity, of(part, 100), Caution(topic, severity, 1.0, 2.0, "A", text, advice), draw
    )


def traced(*cautions, count=100):
    times = np.array([0.0, 1.0])
    fan = Fan(times, np.ones(2), np.full((5, 2), np.nan), np.full((2, 5, 2), np.nan), count)
    return Traced(fan, tuple(cautions))


def order(names, part):
    """The batteries one after the other."""
    return OrderChance(tuple((name,) for name in names), of(part))


def spread(names=("old", "new"), *, of_draws=None, **changes):
    """Two batteries of 100 Ah; "old" cuts out first in 80 of 100 cases."""
    firsts = [0.8, 0.2] + [0.0] * (len(names) - 2) if len(names) > 1 else [1.0]
    made = SpreadResult(
        draws=draws(names) if of_draws is None else of_draws,
        asked=Precision(),
        reached=True,
        bank=band(164.0, 170.0, 176.0, half=0.8),
        charged=band(0.0, 0.0, 0.0, text="takes in"),
        runtime=band(14.0, 15.0, 16.0, "h"),
        batteries=tuple(
            battery(name, first=first) for name, first in zip(names, firsts, strict=True)
        ),
        nobody=of(0.0),
        together=of(0.0),
        fed=of(0.0),
        orders=(order(names, 0.8), order(names[::-1], 0.2)),
        ends=(("bank empty", of(1.0)),),
        traced=traced(),
    )
    return replace(made, **changes)


def swept_key(name="battery[old].lead_mohm", values=(1.0, 2.0, 3.0), unit="mohm"):
    return SweptKey(name, ("battery", 0, name.rpartition(".")[2]), tuple(values), unit)


def point(values, Ah, *, first=(0.8, 0.2), hours=10.0, half=3.0, together=0.0, **changes):
    made = SweptPoint(
        values=tuple(values),
        bank=band(Ah - half, Ah, Ah + half, half=0.7),
        runtime=band(hours, hours, hours, "h"),
        hardest=band(25.0, 26.0, 27.0, "A"),
        by_battery=tuple(band(0.5 * Ah, 0.5 * Ah, 0.5 * Ah) for _ in first),
        first=tuple(of(one) for one in first),
        nobody=of(max(1.0 - together - sum(first), 0.0)),
        together=of(together),
        shares=tuple(1.0 / len(first) for _ in first),
        fed=of(0.0),
        cautions=(),
    )
    return replace(made, **changes)


def _swept(of_plan, keys, points, given):
    return SweepResult(
        scenario=of_plan.scenario, plan=of_plan, keys=keys, answer=BANK, points=points, draws=200,
        traced=20, seed=7, given=given,
    )  # fmt: skip


def sweep(medians=(150.0, 160.0, 170.0), *, key=None, names=("old", "new"), firsts=None, **changes):
    """A sweep of one key; a median for each of its values."""
    own = swept_key(values=tuple(float(n + 1) for n in range(len(medians)))) if key is None else key
    usual = [(0.8, 0.2) + (0.0,) * (len(names) - 2)] * len(medians)
    points = tuple(
        point((value,), Ah, first=first[: len(names)])
        for value, Ah, first in zip(own.values, medians, firsts or usual, strict=True)
    )
    made = _swept(plan(names), (own,), points, (1.5,))
    return replace(made, **changes)


def sweep_of_two(medians, *, names=("old", "new"), first=(0.8, 0.2), keys=None, **changes):
    """A sweep of two keys with 2 values each."""
    own = swept_key(values=(1.0, 2.0)), swept_key("load[lamp].power_W", (40.0, 60.0), "W")
    keys = own if keys is None else keys
    crossed = [(a, b) for a in keys[0].values for b in keys[1].values]
    points = tuple(
        point(values, Ah, first=first) for values, Ah in zip(crossed, medians, strict=True)
    )
    made = _swept(plan(names), keys, points, (1.5, 60.0))
    return replace(made, **changes)


def difference(answer=BANK, gap=(8.0, 10.0, 12.0), *, mean=(9.9, 10.0, 10.1), larger=1.0, at=170.0):
    unit = answer.unit
    return Difference(
        answer=answer,
        one=band(at - 5.0, at, at + 5.0, unit),
        other=band(at - 5.0 + gap[0], at + gap[1], at + 5.0 + gap[2], unit),
        difference=band(*gap, unit, half=0.05),
        mean=Estimate(mean[1], mean[0], mean[2]),
        larger=of(larger),
        smaller=of(1.0 - larger) if any(gap) else of(0.0),
    )


SAME = {"gap": (0.0, 0.0, 0.0), "mean": (0.0, 0.0, 0.0), "larger": 0.0}


def versus(Ah=None, hours=None, hardest=None, cautions=((), ()), **changes):
    """The other one delivers 10 Ah more and feeds its loads for as long."""
    names = ("old", "new")
    made = VersusResult(
        one=draws(names, title="As it is"),
        other=draws(("old", "third"), title="With a third"),
        differences=(
            Ah or difference(),
            hours or difference(RUNTIME, **SAME, at=15.0),
        ),
        batteries=(
            BatteryDifference("old", (of(0.8), of(0.1)), (band(80.0, 85.0, 90.0),) * 2,
                              (FLAT, FLAT), (band(5.0, 6.0, 7.0, "A"),) * 2),
            BatteryDifference("new", (of(0.2), None), (band(80.0, 85.0, 90.0), None),
                              (FLAT, None), (band(5.0, 6.0, 7.0, "A"), None)),
            BatteryDifference("third", (None, of(0.9)), (None, band(90.0, 95.0, 99.0)),
                              (None, FLAT), (None, band(5.0, 6.0, 7.0, "A"))),
        ),
        hardest=hardest or difference(HARDEST, **SAME, at=6.0),
        fed=(of(0.0), of(0.0)),
        traced=(traced(*cautions[0], count=50), traced(*cautions[1], count=50)),
        shared=40,
        alone=(2, 3),
        seed=7,
        reached=True,
    )  # fmt: skip
    return replace(made, **changes)


def charged(gap=(8.0, 10.0, 12.0), **changes):
    """Two banks without loads; the other takes in 10 Ah more."""
    rows = (
        BatteryDifference("old", (of(0.0), of(0.0)), (FLAT, FLAT), (band(30.0, 40.0, 50.0),) * 2,
                          (FLAT, FLAT)),
    )  # fmt: skip
    return versus(
        differences=(difference(CHARGED, gap),), batteries=rows,
        hardest=difference(HARDEST, **SAME, at=0.0), **changes,
    )  # fmt: skip


def sums(steps=(200.0, 190.0, 185.0, 180.0, 178.0, 177.0), names=("old", "new"), **changes):
    """The medians of all steps, from the labels to the bank."""
    parts, before = [], None
    for (word, text), Ah in zip(PARTS, steps, strict=True):
        change = None if before is None else band(Ah - before - 1.0, Ah - before, Ah - before + 1.0)
        spreads = 0.0 if word == "labels" else 3.0
        parts.append(Part(word, text, band(Ah - spreads, Ah, Ah + spreads), change))
        before = Ah
    batteries = tuple(
        BatterySum(name, band(88.0, 90.0, 92.0), band(87.0, 89.0, 91.0), band(0.5, 0.6, 0.7),
                   band(2.0, 2.5, 3.0))
        for name in names
    )  # fmt: skip
    return replace(SumsResult(plan(names), 100, tuple(parts), batteries), **changes)


def group(name='capacity of "old"', kind=Kind.CAPACITY, subject="old"):
    return Group(name, kind, subject, ("label",), ("battery[1].capacity_fraction",), (0,))


def matter(total=0.6, first=0.5, **more):
    return Matter(group(**more), Estimate(first, first - 0.1, first + 0.1),
                  Estimate(total, total - 0.1, total + 0.1), 1.0)  # fmt: skip


def to_measure(*groups, left=2.5, part=0.4, halves=True, high=0.45):
    return ToMeasure(
        groups or (group(),), Estimate(left, left - 0.2, left + 0.2),
        Estimate(part, 0.3, high), halves,
    )  # fmt: skip


FIRST_OF_OLD = Answer("first:old", 'whether "old" cuts out first', "", FIRST, 1)
LOAD = {"name": 'load of "lamp"', "kind": Kind.LOAD, "subject": "lamp"}


def matters(answer=BANK, **changes):
    """Two groups matter, one was dropped; cases lie as normal ones do unless told otherwise."""
    mean, sd = changes.setdefault("mean", sure(170.0)), changes.setdefault("sd", sure(4.0))
    reach, middle = 1.645 * sd.value, mean.value
    made = MattersResult(
        plan=plan(), answer=answer, draws=5000, seed=7, base=512, walks=10, central=171.0,
        mean=mean, sd=sd, seen=band(middle - reach, middle, middle + reach, answer.unit, half=0.5),
        matters=(matter(0.6, 0.6), matter(0.3, 0.3, **LOAD)),
        rest=Indices(sure(0.1), sure(0.1)),
        dropped=(Dropped(group('lead of "old"', Kind.LEAD), 0.001),),
        to_measure=to_measure(),
    )  # fmt: skip
    return replace(made, **changes)


def still(answer=BANK):
    """Nothing moves the answer."""
    return matters(
        answer, matters=(), rest=None, to_measure=None, sd=sure(0.0),
        dropped=(Dropped(group(), 0.0), Dropped(group('lead of "old"', Kind.LEAD), 0.0)),
    )  # fmt: skip
