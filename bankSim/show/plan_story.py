"""Tells a test plan as a checklist for the bench."""

from bankSim.model.cell import ZERO_C_K
from bankSim.model.chemistry import is_lead, odd_cells
from bankSim.show.blocks import Grid, Section, Story
from bankSim.show.plan_no_test import no_test, not_one
from bankSim.show.plan_words import CHARGING, end_of, end_words, least_rest_h, watch_words
from bankSim.sim.numbers import clean, number, quoted, span
from bankSim.sim.summary import SAFETY_TEXT
from bankSim.study.bench_plan import ALLOWED_PERCENT, ROOM_K, BenchPlan, repeats
from bankSim.study.bench_scenario import LONGEST_H

STEADY = 1.25  # times the mean current at most; a steady power draws more and more, own choice
SHUNT_OVER = 1.25  # times the largest current; choice
HARDLY_PERCENT = 0.01  # of the Ah, for a kelvin
NIGHT_ENDS_H = 6.0
NOT_CHARGED_COLD = ("LFP", "NMC")
NO_FUSE = "no fuse at a battery"  # topic of a caution


def tell_plan(plan: BenchPlan, wanted_percent: float, *, briefly: bool = False) -> Story:
    """Return the checklist.

    Parameters
    ----------
    plan : BenchPlan
    wanted_percent : float
        How well the mean of repeated tests shall be known.
    briefly : bool
        Leave the list of unknowns and assumed values out.
    """
    if not plan.is_capacity_test:
        ends = (no_test(plan), _unsure(plan, briefly), Section("Safety", (SAFETY_TEXT,)))
        return Story(_title(plan), (not_one(plan),), (*_beware(plan), *ends))
    sections = (
        *_beware(plan),
        _before(plan),
        _wire(plan),
        _logging(plan),
        _presence(plan),
        _at_the_end(plan),
        _again(plan, wanted_percent),
        _unsure(plan, briefly),
        Section("Safety", (SAFETY_TEXT,)),
    )
    return Story(_title(plan), (_headline(plan),), sections)


def _title(plan: BenchPlan) -> str:
    return f"Test plan: {plan.scenario.title}"


def _headline(plan: BenchPlan) -> str:
    low, middle, high = (span(3600.0 * plan.at(one)) for one in (5.0, 50.0, 95.0))
    battery = plan.scenario.bank.batteries[0]
    end = end_of(battery)
    text = (
        f"{quoted(battery.name)} {end.comes} after about "
        f"{middle}, in 90 of 100 cases after {low} to {high}; "
        f"started at {clock(plan, 0.0)}, be there from {clock(plan, plan.at(2.5), early=True)} on "
        "(95 of 100 cases)."
    )
    if plan.cut_out_part < 1.0:
        part = number(100.0 * (1.0 - plan.cut_out_part), 2)
        text += f" In {part} of 100 cases {end.stays_out} within {LONGEST_H:.0f} h."
    return text


def clock(plan: BenchPlan, hours: float, *, early: bool = False) -> str:
    """Return the wall clock so many hours after the start, to the minute; `early` rounds down."""
    seconds = plan.starts_at_s + 3600.0 * hours
    minutes = int(seconds // 60.0) if early else round(seconds / 60.0)
    days, rest = divmod(minutes, 24 * 60)
    later = "" if days == 0 else f" (day {days + 1})"
    return f"{rest // 60:02d}:{rest % 60:02d}{later}"


def any_at_night(from_h: float, to_h: float) -> bool:
    """Tell whether any of a span of hours lies between midnight and six. [h after a midnight]"""
    return from_h % 24.0 < NIGHT_ENDS_H or from_h // 24.0 < to_h // 24.0


def _beware(plan: BenchPlan) -> list[Section]:
    """Say what the run in the middle warns of; the fuse is a line of the checklist already."""
    lines = [
        f"{one.severity.upper()}: {clean(one.text)}"
        + (f" What to do: {clean(one.advice)}" if one.advice else "")
        for one in plan.cautions
        if one.topic != NO_FUSE
    ]
    battery = plan.scenario.bank.batteries[0]
    odd = odd_cells(battery.chemistry, len(battery.cells))
    lines += [f"REMARK: {odd}"] if odd else []
    return [Section("Beware", tuple(lines))] if lines else []


def _before(plan: BenchPlan) -> Section:
    battery = plan.scenario.bank.batteries[0]
    rated_Ah, cells = battery.rated_C / 3600.0, len(battery.cells)
    full = CHARGING.get(battery.chemistry or "")
    lines = [
        "[ ] Switch off or take off every charger, solar lead and other load for the whole test."
    ]
    if full is None:
        lines.append("[ ] Charge it full as its maker says; write down voltage and last current.")
    else:
        lines.append(
            f"[ ] Charge to {number(cells * full.hold_V, 3)} V and hold until the current is below "
            f"{number(full.tail * rated_Ah, 2)} A, at least {number(full.hours, 2)} h "
            f"({full.source}). Write the last current down: it decides what full means."
        )
    rest_h = max(least_rest_h(battery.chemistry), plan.rest_s / 3600.0)
    lines.append(
        f"[ ] Let it rest {number(rest_h, 2)} h at least before the start: 5 time constants of its "
        f"slowest drift are {span(plan.rest_s, 2)} in this model; real cells drift for hours."
    )
    if battery.chemistry in NOT_CHARGED_COLD and plan.scenario.bank.temperature_K < ZERO_C_K:
        lines.append("[ ] Charge it in the warm: never charge lithium cells below 0 degC.")
    lines.append(
        f"[ ] Keep the room steady and measure it at the battery: {_colder(plan)}. A cold battery "
        "needs a day to warm through."
    )
    return Section("The day before", tuple(lines))


def _colder(plan: BenchPlan) -> str:
    colder = plan.per_degree_percent
    if colder < HARDLY_PERCENT:
        return "a degree colder hardly changes the Ah here"
    return f"each degree colder costs {number(colder, 2)} % of the Ah here"


def _wire(plan: BenchPlan) -> Section:
    shunt_A = SHUNT_OVER * plan.peak_A
    lines = (
        "[ ] Fuse at the battery's own terminal; cables for the whole current for hours: feel them "
        "after 10 min, warm is a loose lug or too thin a cable.",
        "[ ] Voltage leads straight to the battery's terminals, not to the ends of the cables.",
        f"[ ] Shunt for at least {number(shunt_A, 2)} A; with no current its reading "
        f"must be within {number(ALLOWED_PERCENT / 100.0 * plan.mean_A * 1000.0, 2)} mA of zero, "
        f"which would be {ALLOWED_PERCENT} % of the Ah; read Ah to "
        f"{number(ALLOWED_PERCENT / 1000.0 * plan.middle_Ah, 1)} Ah or finer.",
        f"[ ] Check the voltmeter against a second one: the {_event(plan)} is to be known to "
        "10 mV.",
    )
    return Section("Wiring and meters", lines)


def _event(plan: BenchPlan) -> str:
    return end_of(plan.scenario.bank.batteries[0]).event


def _logging(plan: BenchPlan) -> Section:
    knee = plan.knee
    cells = f", cells every {span(_round_down(knee.cell_s), 2)}" if _has_cells(plan) else ""
    lines = [
        f"[ ] Near the {_event(plan)} the battery falls by {number(knee.slope_mV_per_min, 2)} mV a "
        f"minute at its terminals: log every {span(_round_down(knee.battery_s), 2)} for 10 mV "
        f"there{cells}.",
        _for_charge(plan),
    ]
    rows = tuple(
        (span(one.interval_s, 2), f"{number(one.worst_percent, 2)}") for one in plan.sampling
    )
    grid = (
        Grid(("a sample every", "worst Ah error %"), rows)
        if plan.shortest_on_s is not None and rows
        else None
    )
    return Section("Logging", tuple(lines), grid)


def _for_charge(plan: BenchPlan) -> str:
    start = f"[ ] For {ALLOWED_PERCENT} % of the Ah "
    if plan.interval_s is None:
        return (
            f"{start}not even a sample a second is enough, or the test is too short to tell: let a "
            "meter count the Ah itself."
        )
    every = span(plan.interval_s, 2)
    if plan.shortest_on_s is not None:
        return (
            f"{start}log every {every} at most: the load switches, and samples in between miss or "
            "double its on-times (worst of all phases below, intervals 2 % off allowed). Safe "
            f"whatever the rhythm: {span(plan.safe_interval_s or 0.0, 2)}, that part of its "
            f"shortest on-time of {span(plan.shortest_on_s, 2)}. A meter that counts Ah itself "
            "is better than any samples."
        )
    load = "is steady" if plan.peak_A <= STEADY * plan.mean_A else "is never off"
    return (
        f"{start}a sample every {every} would do, as the load {load}; the {_event(plan)} asks for "
        "more."
    )


def _round_down(seconds: float) -> float:
    """Return a usual interval that is not longer."""
    usual = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 15.0, 20.0, 30.0, 60.0)
    fitting = [one for one in usual if one <= seconds]
    return fitting[-1] if fitting else usual[0]


def _presence(plan: BenchPlan) -> Section:
    rows = tuple(
        (
            f"{chance} of 100",
            number(plan.at(low)),
            number(plan.at(high)),
            clock(plan, plan.at(low), early=True),
            clock(plan, plan.at(high)),
        )
        for chance, low, high in ((90, 5.0, 95.0), (95, 2.5, 97.5), (99, 0.5, 99.5))
    )
    grid = Grid((f"{_event(plan)} in", "from h", "to h", "be there from", "until"), rows)
    lines = [watch_words(plan.scenario.bank.batteries[0])]
    begun_h = plan.starts_at_s / 3600.0
    if any_at_night(begun_h + plan.at(2.5), begun_h + plan.at(97.5)):
        lines.append("That is at night: start earlier or later, or take another load.")
    return Section("When to be there", tuple(lines), grid)


def _at_the_end(plan: BenchPlan) -> Section:
    battery = plan.scenario.bank.batteries[0]
    end = end_of(battery)
    once, again = "every cell voltage, battery voltage", "the cell voltages"
    if not _has_cells(plan):
        once, again = "battery voltage", "the battery voltage"
    lines = (
        end_words(battery),
        *([end.to_do] if end.to_do else []),
        f"[ ] Expect about {number(plan.knee.voltage_V, 4)} V at the terminals, "
        f"{number(plan.end_A)} A, {number(plan.given_Ah[3])} Ah in all ({number(plan.given_Ah[2])} "
        f"to {number(plan.given_Ah[4])} in 90 of 100 cases).",
        f"[ ] Write down at the {end.event}: {once}, current, Ah, Wh, "
        f"time, battery and room temperature; and {again} again after 1, 10 and 60 min.",
        "[ ] Take the load off, charge again the same day."
        if not end.to_do
        else "[ ] Charge again the same day.",
    )
    return Section(f"At the {end.event}", lines)


def _has_cells(plan: BenchPlan) -> bool:
    """Tell whether a tester reaches the single cells: inside a lead-acid block nobody does."""
    return not is_lead(plan.scenario.bank.batteries[0].chemistry)


def _again(plan: BenchPlan, wanted_percent: float) -> Section:
    count = repeats(plan.repeat_sd_percent, wanted_percent)
    tests = "1 test" if count == 1 else f"{count} tests"
    lines = [
        f"Two tests of one battery differ by some {number(plan.repeat_sd_percent, 2)} % (standard "
        f"deviation: what counts as full, and a room {number(ROOM_K, 1)} degrees off; choice): for "
        f"a mean within {number(wanted_percent, 2)} % in 95 of 100 cases {tests} will do.",
        "What the shunt reads wrong stays in every test: no repeating mends it.",
    ]
    if count == 1:
        lines.append("Do two all the same: only the second one shows that the first was no slip.")
    return Section("How often", tuple(lines))


def _unsure(plan: BenchPlan, briefly: bool) -> Section:
    sources = [f"{label}: {source}." for label, source in plan.unknowns]
    assumed = [
        f"{one.key} = {one.value if isinstance(one.value, str) else number(one.value)} "
        f"{one.unit}".rstrip()
        + f": {one.source}."
        for one in plan.assumed
    ]
    start = f"The range comes from {plan.draws} random cases (seed {plan.seed}) of "
    if briefly:
        text = (
            f"{start}{len(plan.unknowns)} numbers that are not known, most of all the true "
            "capacity, what counts as full and the temperature; the knee is that of the case with "
            f"all of them in the middle. They and {len(plan.assumed)} assumed values stand with "
            "their sources in story.txt and in the JSON (--out, --json)."
        )
        return Section("What the times rest on", (text,))
    start = f"{start}what is not known:"
    return Section("What the times rest on", (start, *sources, "Taken for granted:", *assumed))
