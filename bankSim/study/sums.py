"""``study sums``: the bank against the sum of its batteries alone, and where the difference goes.

Each step changes one thing, so that a difference between neighbours has one name:

1. what the labels say;
2. what the cells hold at the start, on average over the cells of a battery;
3. every battery alone, its cells made equal in capacity, charge and resistance: less what cannot
   be drawn before its rule cuts it out (its limit, the current, the cold);
4. every battery alone, its cells as they are: less what stays locked in behind the weakest cell;
5. all in one bank with next to no resistance in leads, links and main cable: less (or more) by
   the order in which they cut out and by the way they share the current;
6. the bank as it is wired: less by its leads.

Alone, a battery feeds its part of every load by its label, without chargers.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from bankSim.errors import ParameterError
from bankSim.kernels import arrays as k
from bankSim.kernels.arrays import Floats
from bankSim.model.bank import Bank, Wiring
from bankSim.model.battery import Battery
from bankSim.sim.engine import Engine
from bankSim.sim.result import Caution
from bankSim.sim.run import result_of
from bankSim.study.blocks import Workers
from bankSim.study.drawn_bank import drawn_bank
from bankSim.study.equal_cells import made_equal
from bankSim.study.plan import Plan, ready
from bankSim.study.spread import Band, band
from bankSim.study.store import StudyError
from bankSim.study.window import in_order

DRAWS, MOST_DRAWS = 100, 10_000
THIN = 0.01  # of its resistance: what is left of the wiring in the bank "without" any
LONGER = 20.0  # times its duration: how long a run may take to get empty
LONGEST_S = 8760.0 * 3600.0
TOLERANCE = 1e-3
C_PER_AH = 3600.0


@dataclass(frozen=True, slots=True)
class Part:
    """One step of the sum.

    Parameters
    ----------
    word : str
        "labels", "held", "equal cells", "alone", "no leads" or "bank".
    text : str
        What it stands for.
    Ah : Band
    change : Band or None
        Against the step before, draw by draw; None for the first.
    """

    word: str
    text: str
    Ah: Band
    change: Band | None


@dataclass(frozen=True, slots=True)
class BatterySum:
    """One battery alone and in the bank.

    Parameters
    ----------
    name : str
    alone, in_bank : Band
        What it delivers. [Ah]
    left : Band
        What its weakest cell still holds when the bank is empty. [Ah]
    locked : Band
        What its other cells hold above that, on average. [Ah]
    """

    name: str
    alone: Band
    in_bank: Band
    left: Band
    locked: Band


@dataclass(frozen=True, eq=False)
class SumsResult:
    """All that `study sums` finds.

    Parameters
    ----------
    plan : Plan
    draws : int
    parts : tuple of Part
    batteries : tuple of BatterySum
    dangers : tuple of Caution
        Of the bank without its chargers, run until it is empty, with every value in the middle.
    """

    plan: Plan
    draws: int
    parts: tuple[Part, ...]
    batteries: tuple[BatterySum, ...]
    dangers: tuple[Caution, ...] = ()


PARTS = (
    ("labels", "on the labels"),
    ("held", "in the cells at the start"),
    ("equal cells", "each battery alone, if its cells were equal"),
    ("alone", "each battery alone"),
    ("no leads", "all in one bank, if its wiring had no resistance"),
    ("bank", "the bank as it is wired"),
)
PARTS_OF_ONE = (
    ("labels", "on the label"),
    ("held", "in the cells at the start"),
    ("equal cells", "alone, if its cells were equal"),
    ("alone", "alone, without any wiring"),
    ("bank", "as it is wired"),
)


def study_sums(
    plan: Plan,
    workers: Workers,
    *,
    draws: int = DRAWS,
    progress: Callable[[str, int, int], None] | None = None,
) -> SumsResult:
    """Run every draw as a bank and as batteries alone.

    Parameters
    ----------
    plan : Plan
    workers : Workers
    draws : int
        1 to `MOST_DRAWS`; the run with all values in the middle is made beside them.
    progress : callable, optional
        Told what is being done, how many draws are finished, and of how many.

    Raises
    ------
    ParameterError
        When `draws` is none of these.
    StudyError
        When the sum has no meaning: a run does not get empty.

    Source
    ------
    docs/theory.md, eq. 24.1.
    """
    if not plan.scenario.bank.loads:
        raise StudyError("sums: the scenario has no load; expected one that empties the bank")
    if not 1 <= draws <= MOST_DRAWS:
        raise ParameterError("draws", draws, f"1 to {MOST_DRAWS:,} for sums")

    def tell(done: int) -> None:
        if progress is not None:
            progress("draws", done - 1, draws)  # the central run is no draw

    values = plan.values(0, draws)
    cases = [(0, plan.middle[0]), *enumerate(values)]
    rows = in_order(workers, partial(_one_draw, plan), cases, tell)
    return _result(plan, draws, np.array(list(rows)))


def _one_draw(plan: Plan, case: tuple[int, Floats]) -> Floats:
    """Return the six sums of one draw, then alone, in the bank, left, locked of every battery."""
    draw, values = case
    base, columns = ready(plan).bank_of(values, draw)
    bank = without_chargers(drawn_bank(base, columns, 0))
    equal = [_delivered(alone(bank, n, equal_cells=True)) for n in range(len(bank.batteries))]
    own = [_delivered(alone(bank, n)) for n in range(len(bank.batteries))]
    bare = _run(with_thin_wiring(bank))
    whole = _run(bank)
    held = [_mean_held(battery) for battery in bank.batteries]
    labels = sum(battery.rated_C for battery in bank.batteries)
    sums = [labels, sum(held), sum(equal), sum(own), _out(bare).sum(), _out(whole).sum()]
    left, locked = _left(whole)
    return np.concatenate([sums, own, _out(whole), left, locked]) / C_PER_AH


def without_chargers(bank: Bank) -> Bank:
    """Return the bank with its loads alone, and with time enough to get empty."""
    duration_s = min(LONGER * bank.duration_s, LONGEST_S)
    return replace(bank, chargers=(), stop_when_empty=True, duration_s=duration_s)


def alone(bank: Bank, number: int, *, equal_cells: bool = False) -> Bank:
    """Return one battery without any wiring, feeding its part of the loads by its label."""
    battery = bank.batteries[number]
    part = battery.rated_C / sum(one.rated_C for one in bank.batteries)
    if equal_cells:
        battery = replace(battery, cells=made_equal(battery.cells))
    loads = tuple(replace(load, profile_amount=load.profile_amount * part) for load in bank.loads)
    thin = replace(battery, lead_ohm=THIN * battery.lead_ohm)
    return replace(bank, batteries=(thin,), wiring=Wiring(), loads=loads)


def with_thin_wiring(bank: Bank) -> Bank:
    """Return the bank with next to no resistance between its batteries and the loads."""
    wiring = replace(
        bank.wiring,
        link_ohm=THIN * bank.wiring.link_ohm,
        main_ohm=THIN * bank.wiring.main_ohm,
    )
    batteries = tuple(replace(one, lead_ohm=THIN * one.lead_ohm) for one in bank.batteries)
    return replace(bank, batteries=batteries, wiring=wiring)


def _mean_held(battery: Battery) -> float:
    return float(np.mean([cell.charge_C * cell.state_of_charge for cell in battery.cells]))


def _run(bank: Bank) -> Engine:
    engine = Engine(bank, TOLERANCE, keep_trace=False).finish()
    if engine.status == k.DURATION:
        raise StudyError(
            "sums: the loads do not empty the bank (without chargers, in "
            f"{bank.duration_s / 3600.0:.0f} h): a sum of what it delivers would depend on when "
            "one stops; expected loads that draw until it cuts out"
        )
    return engine


def _out(engine: Engine) -> Floats:
    tally = engine.run.tally
    net: Floats = tally["out"] - tally["into"]
    return net


def _delivered(bank: Bank) -> float:
    return float(_out(_run(bank))[0])


def _left(engine: Engine) -> tuple[Floats, Floats]:
    """Return what the weakest cells hold, and what the others hold above them on average. [C]"""
    held = engine.run.moment[:, k.SOC] * engine.packed.cell["charge"]
    firsts = engine.packed.battery["first"]
    counts = engine.packed.battery["end"] - firsts
    least = np.minimum.reduceat(held, firsts)
    return least, np.add.reduceat(held, firsts) / counts - least


def _result(plan: Plan, draws: int, rows: Floats) -> SumsResult:
    """Sum up rows of `_one_draw`, of which the first is the central one."""
    n = len(plan.scenario.bank.batteries)

    def of(values: Floats, text: str) -> Band:
        return band(text, "Ah", values[1:], float(values[0]))

    sums = {word: rows[:, number] for number, (word, _) in enumerate(PARTS)}
    parts: list[Part] = []
    before: Floats | None = None
    for word, text in PARTS if n > 1 else PARTS_OF_ONE:
        own = sums[word]
        change = None if before is None else of(own - before, text)
        parts.append(Part(word, text, of(own, text), change))
        before = own
    place = len(PARTS)
    batteries = []
    for number, battery in enumerate(plan.scenario.bank.batteries):
        alone_, in_bank, left, locked = (
            of(rows[:, place + block * n + number], battery.name) for block in range(4)
        )
        batteries.append(BatterySum(battery.name, alone_, in_bank, left, locked))
    return SumsResult(plan, draws, tuple(parts), tuple(batteries), _dangers(plan))


def _dangers(plan: Plan) -> tuple[Caution, ...]:
    """Return the dangers of the run whose Ah the sums tell, with every value in the middle."""
    base, columns = ready(plan).bank_of(plan.middle[0], 0)
    bank = without_chargers(drawn_bank(base, columns, 0))
    told = result_of(replace(plan.scenario, bank=bank), Engine(bank, TOLERANCE).finish())
    return tuple(caution for caution in told.cautions if caution.severity == "danger")
