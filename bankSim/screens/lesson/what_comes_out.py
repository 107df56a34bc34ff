"""Step: all together, what a mixed bank of three gives."""

from bankSim.screens.lesson.banks import Unit, bank, solve
from bankSim.screens.lesson.circuit import Branch
from bankSim.screens.lesson.pictures import Bars
from bankSim.screens.lesson.step import Amount, Answer, Slider, Step
from bankSim.sim.numbers import after, listing, number
from bankSim.sim.result import Result

START_A = 80.0
FAIR = 0.95
NAMES, LABELS_AH = ("new", "old", "small"), (100.0, 100.0, 60.0)
LIMITS_A = (120.0, 120.0, 70.0)


def _rules(limit_A: float) -> tuple[str, ...]:
    return (
        '{ watches = "lowest cell voltage", trips_below = 2.5, after_s = 5.0, '
        'blocks = "discharge" }',
        f'{{ watches = "discharge current", trips_above = {limit_A}, after_s = 1.0, '
        'blocks = "discharge" }',
    )


UNITS = (
    Unit("new", rules=_rules(LIMITS_A[0])),
    Unit("old", left=0.8, weak=0.06, ohmic_mohm=1.0, rules=_rules(LIMITS_A[1])),
    Unit("small", LABELS_AH[2], lead="lead_mohm = 1.0", rules=_rules(LIMITS_A[2])),
)


def text_of(load_A: float) -> str:
    """Return the bank of the step on a load of so much. [A]"""
    return bank(UNITS, load_A, 20.0)


def answer(load_A: float) -> Answer:
    """Say what the bank of three gives on a load of so much. [A]"""
    result = solve(text_of(load_A))
    total_Ah, label_Ah = result.bank.delivered_Ah, sum(LABELS_AH)
    first_s = min(b.first_cut_out.time_s for b in result.batteries if b.first_cut_out)
    until_Ah = load_A * first_s / 3600.0
    given = tuple(battery.delivered_Ah for battery in result.batteries)
    return Answer(
        truth=total_Ah,
        headline=f"The labels add up to {label_Ah:g} Ah. {number(total_Ah)} Ah come out, "
        f"{100 * total_Ah / label_Ah:.0f} % of that; {number(until_Ah)} Ah of them before the "
        f"first one is out. Order: {_order(result)}.",
        why="Ah add, but only as far as the first one out lets them: after that the others must "
        "carry the whole load, and they may not be able or allowed to.",
        picture=Bars("charge", "Ah", NAMES, given, LABELS_AH, ("delivered", "label")),
        branches=tuple(
            Branch(name, f"{label:g} Ah", f"{number(round(ah, 1))} Ah", weak=name == "old")
            for name, label, ah in zip(NAMES, LABELS_AH, given, strict=True)
        ),
        doubt="Can I not just add what each gave in its own test?",
        reply=_reply(result, load_A, total_Ah),
        facts={
            "total_Ah": total_Ah,
            "until_Ah": until_Ah,
            "label_Ah": label_Ah,
            "sum_Ah": sum(given),
            "runtime_s": result.bank.runtime_s,
        },
        load=f"{load_A:g} A",
    )


def _order(result: Result) -> str:
    cut = [b for b in result.batteries if b.first_cut_out]
    cut.sort(key=lambda b: b.first_cut_out.time_s if b.first_cut_out else 0.0)
    return listing([f"{b.name} {after(b.first_cut_out.time_s)}" for b in cut if b.first_cut_out])


def _reply(result: Result, load_A: float, total_Ah: float) -> str:
    alone = [solve(bank([unit], load_A / 3.0, 40.0)) for unit in UNITS]
    sum_Ah = sum(one.bank.delivered_Ah for one in alone)
    left_Ah = sum(battery.remaining_Ah for battery in result.batteries)
    return (
        f"Alone, each at a third of the load, they give {number(sum_Ah)} Ah together; the bank "
        f"gives {number(total_Ah)} Ah and keeps {number(left_Ah)} Ah that it could still give. "
        f"{_judged(result, total_Ah / sum_Ah)}"
    )


def _judged(result: Result, part: float) -> str:
    over = [
        battery.name
        for battery in result.batteries
        if battery.first_cut_out and battery.first_cut_out.watches == "discharge current"
    ]
    if part >= FAIR:
        return "Here the sum is a fair guess. Raise the load and look again."
    if not over:
        return "Here the sum promises too much."
    return f"Here it promises too much: above their limit of current went {listing(over)}."


STEP = Step(
    key="what-comes-out",
    title="All together",
    text="Three charged batteries: a new one of 100 Ah; an old one, same label, that holds 80 % of "
    "it and has one cell 6 % low; a small one of 60 Ah on a short lead. Their electronics cut out "
    f"above {LIMITS_A[0]:g}, {LIMITS_A[1]:g} and {LIMITS_A[2]:g} A. "
    f"The load takes {START_A:g} A until it can no longer be fed.",
    question=Amount(
        "How many Ah does the load get altogether?", "Ah", 2000.0, (180.0, 220.0, 240.0, 255.0), 5.0
    ),
    slider=Slider("Load [A]", 20.0, 240.0, 20.0, START_A, "%d A"),
    before=(Branch("new", "100 Ah"), Branch("old", "100 Ah", weak=True), Branch("small", "60 Ah")),
    load=f"{START_A:g} A",
    answer=answer,
)
