"""Sentences about what a snapshot tells: cells, gain of balance, what stopped it, repeats."""

from bankSim.measured.snapshot import Range, Snapshot
from bankSim.measured.snapshot_answer import Answered
from bankSim.measured.snapshot_hints import Kind, Stopped, behind_others_V
from bankSim.model.chemistry import is_lead
from bankSim.sim.cautions.cells import DRIVEN_EMPTY, harmed_below_V
from bankSim.sim.numbers import MOST_NAMES, listing, number

NOTHING_PERCENT, LITTLE_PERCENT, MUCH_PERCENT = 1.0, 3.0, 10.0
FAR_APART_V = 0.1
LEAST_CELL_V, MOST_CELL_V = 1.5, 3.7
LOAD_DROP_V = 0.25  # of a cell, from a heavy load: below a limit by less is no danger; own choice
CERTAIN, LIKELY = 0.995, 0.90


def amount(value: float) -> str:
    """Return Ah with two digits, three from 10 on, one below 0.1; a sign where below 0. [Ah]"""
    size = abs(value)
    return number(value, 1 if size < 0.095 else 2 if size < 10.0 else 3)


def between(span: Range, unit: str = "Ah") -> str:
    """Return "0.21 Ah (0.10 to 0.63)"."""
    return f"{amount(span.value)} {unit} ({amount(span.low)} to {amount(span.high)})"


def left_words(left: Range, flat: bool) -> str:
    """Return what is left in a cell with its interval; "at least" above the knee."""
    if flat:
        return f"at least {amount(left.low)}"
    return f"{amount(left.value)} ({amount(left.low)} to {amount(left.high)})"


def how_certain(chance: float) -> str:
    """Return how sure it is that a cell was the lowest."""
    if chance >= CERTAIN:
        return "by more than the meter may be off"
    if chance >= LIKELY:
        return f"very likely ({100 * chance:.0f} %)"
    return f"only {100 * chance:.0f} % sure, given what the meter may be off"


def danger_line(answered: Answered) -> str:
    """Say that cells are so low that they must not simply be charged again; "" where none is."""
    around = answered.around
    safe_V = harmed_below_V(around.chemistry)
    if safe_V is None:
        return ""
    least_V = safe_V - (LOAD_DROP_V if around.rest_s is None else 0.0)
    low: dict[int, float] = {}
    for cell in (cell for shot in answered.shots for cell in shot.cells):
        if cell.voltage_V < least_V:
            low[cell.cell] = min(cell.voltage_V, low.get(cell.cell, cell.voltage_V))
    if not low:
        return ""
    cells = listing([str(one) for one in sorted(low)], MOST_NAMES)
    who = f"cell {cells} reads" if len(low) == 1 else f"cells {cells} read down to"
    lead = is_lead(around.chemistry)
    cure = (
        "Charge it soon and gently, then measure what it still holds"
        if lead
        else f"Do not charge {'that cell' if len(low) == 1 else 'those cells'}, nor the battery "
        "around, without the maker's word"
    )
    return (
        f"DANGER: {who} {min(low.values()):.2f} V, below the {safe_V:.1f} V that harm begins "
        f"at: {DRIVEN_EMPTY[lead][0]}. {cure}; check the reading first."
    )


def decider_line(shot: Snapshot) -> str:
    """Say which cell decided."""
    chance = shot.cells[shot.decider - 1].chance_lowest
    volts = f"{shot.lowest_V:.3f}".removesuffix("0")
    if len(shot.cells) == 1:
        return f"One cell, at {volts} V: nothing to compare it with."
    same = [str(cell.cell) for cell in shot.cells if cell.voltage_V <= shot.lowest_V]
    if len(same) > 1:
        return (f"Cells {listing(same)} show the same lowest reading ({volts} V): which of them "
                "decided cannot be told.")  # fmt: skip
    return f"Cell {shot.decider} was the lowest ({volts} V), {how_certain(chance)}."


def unit_of(answered: Answered) -> str:
    """Return what Ah are called: "% of capacity" where none is known."""
    return "% of capacity" if answered.percent_only else "Ah"


def cell_decided(answered: Answered, place: int) -> bool:
    """Tell whether a cell, not the whole battery or the load, may have stopped it."""
    return answered.stopped[place] in (Stopped.CELL_RULE, Stopped.EITHER, Stopped.TOO_LOW)


def base_of(answered: Answered, place: int) -> tuple[float, str]:
    """Return the Ah that a gain is a part of, and what they are called. [Ah]"""
    given = answered.delivered_Ah
    if given:
        return given[place if len(given) > 1 else 0], "of what it delivered"
    return answered.around.rated_Ah, "of its capacity"


def won_line(answered: Answered, place: int = 0) -> str:
    """Say what a perfect balance would win."""
    shot = answered.shots[place]
    if len(shot.cells) == 1:
        return "Balance means nothing for a single cell."
    early = shot.cells[shot.decider - 1].flat
    base, words = base_of(answered, place)
    percent = shot.won_Ah.times(100.0 / base)
    if answered.percent_only:
        return (f"A perfect balance would have won {between(percent, '%')} {words}: "
                f"{_worth(percent, early=early)}.")  # fmt: skip
    least = "at least " if shot.flat and percent.low > NOTHING_PERCENT else ""
    told = f"{amount(shot.won_Ah.low)} Ah" if least else between(shot.won_Ah)
    part = amount(percent.low) if least else amount(percent.value)
    return (f"A perfect balance would have won {least}{told}, {part} % {words}: "
            f"{_worth(percent, early=early)}.")  # fmt: skip


def catch_lines(answered: Answered) -> list[str]:
    """Say that only less charge is won back, where there is much to win."""
    shot, hint = answered.shots[0], answered.full
    much = shot.won_Ah.low > NOTHING_PERCENT / 100.0 * base_of(answered, 0)[0]
    if len(shot.cells) == 1 or shot.gap_Ah is None or not much:
        return []
    if hint is None:
        return [
            f"That holds if cell {shot.decider} has less charge, not if it is smaller: see below."
        ]
    if hint.kind is Kind.SMALLER:
        return [
            f"But cell {shot.decider} looks smaller or older: balancing at the top would win "
            "nothing of it."
        ]
    return []


def _worth(percent: Range, *, early: bool = False) -> str:
    if early:
        return (
            "but the lowest cell stood above the knee, where a meter's error and resistance look "
            "like charge; take it nearer to cut-out"
        )
    if percent.high < NOTHING_PERCENT:
        return "nothing worth having"
    if percent.high < LITTLE_PERCENT:
        return "little"
    if percent.low > MUCH_PERCENT:
        return "a lot; one cell is far behind the others"
    if percent.low > NOTHING_PERCENT:
        return "worth looking into"
    return "little or some, this snapshot cannot tell better"


def stopped_line(answered: Answered, place: int) -> str:
    """Say what probably stopped the discharge."""
    shot, facts = answered.shots[place], answered.around.facts
    stopped = answered.stopped[place]
    count = len(shot.cells)
    low, high = facts.limits_V
    if answered.around.limit_V is not None:
        usual = f"the limit given, {number(answered.around.limit_V)} V"
    else:
        usual = f"the usual {low:.1f} to {high:.1f} V"
    pack = _pack_words(answered, place)
    lowest, total = f"{shot.lowest_V:.2f} V", f"{shot.sum_V:.2f} V"
    together = "" if count == 1 else (
        f", and all cells together, {total}, are not where whole-battery limits and the cut-offs "
        f"of loads usually are ({pack} V)")  # fmt: skip
    return {
        Stopped.CELL_RULE: f"Probably the limit of one cell: the lowest, {lowest}, is near "
        f"{usual}{together}.",
        Stopped.EITHER: f"Either the limit of one cell (lowest {lowest}, near {usual}) or one of "
        f"the whole battery or the load (all cells together {total}; usual {pack} V).",
        Stopped.BATTERY_RULE: f"Probably a limit of the whole battery or the load's own cut-off: "
        f"all cells together stand at {total}, usual for those is {pack} V"
        + ("; the lowest cell is no reason yet." if facts.has_cell_rule else
           ". Lead-acid batteries seldom have electronics that watch cells."),
        Stopped.TOO_LOW: f"The lowest cell, {lowest}, is below {usual}: a limit that acted late, "
        "or none at all, or a reading that is off. Cells taken below their maker's limit are "
        "harmed.",
        Stopped.OTHER: "Probably not the voltage of a cell: "
        + ("electronics that watch them are rare on lead-acid" if not facts.has_cell_rule and
           answered.around.limit_V is None else f"the lowest, {lowest}, is above {usual}")
        + f", and all cells together, {total}, are not at a usual battery limit ({pack} V). "
        "Look at current and temperature limits, at the load's own cut-off (it sees less than the "
        "battery, by what its cable drops), or the snapshot was taken too early or after the load "
        "had gone.",
        Stopped.RESTED: "Cells that rested have come back up: what stopped the discharge cannot be "
        "read from them. Charge left is counted as if the same current went on.",
    }[stopped]  # fmt: skip


def failing_line(answered: Answered, place: int) -> str:
    """Say that one lead-acid cell is at its end beside others that are not; "" where none is."""
    shot = answered.shots[place]
    behind_V = behind_others_V(shot, answered.around)
    if behind_V is None:
        return ""
    return (
        f"Cell {shot.decider}, {shot.lowest_V:.2f} V, lies {behind_V:.2f} V below the mean of the "
        "others: it is at its end while they are not, so it is weak or failing. Hold what the "
        "battery delivered against its label: if that is much less, this cell fails and the "
        "battery wants replacing; if it is close, the cell is only the weakest. Charge the battery "
        "full (a flooded one may be equalised as its maker says) and test it again; lead-acid "
        "cells cannot be balanced one by one." + _then_stopped(answered, place)
    )


def _then_stopped(answered: Answered, place: int) -> str:
    """Say what a failing cell has to do with the end, where the whole battery stood too high."""
    if answered.stopped[place] is not Stopped.OTHER:
        return ""
    total = f"{answered.shots[place].sum_V:.2f} V"
    pack = _pack_words(answered, place)
    return (
        f" All cells together, {total}, are not at a usual battery limit ({pack} V): it ended by a "
        "load that sees less than the battery, by another limit, or by hand."
    )


def _pack_words(answered: Answered, place: int) -> str:
    """Return the usual limits of the whole battery: "9.9 to 11.1". [V]"""
    count = len(answered.shots[place].cells)
    return " to ".join(f"{count * volts:.1f}" for volts in answered.around.facts.battery_V)


def size_lines(answered: Answered) -> list[str]:
    """Say what can be told of charge against size."""
    shot, hint = answered.shots[0], answered.full
    if len(shot.cells) == 1 or shot.gap_Ah is None:
        return []
    gap = between(shot.gap_Ah, unit_of(answered))
    name = f"cell {shot.decider}"
    if hint is None:
        helps = "balancing helps) or is smaller or older (balancing at the top wins nothing)"
        if is_lead(answered.around.chemistry):
            helps = "a long full charge may help) or is smaller or older (it does not)"
        return [
            f"One snapshot at empty cannot tell whether {name} holds less charge ({helps}: either "
            f"way it lacks {gap} against the mean of the others.",
            "Cell voltages at the end of a full charge, while the charger still pushes, would "
            f"tell: give them as --full. {name.capitalize()} behind there: less charge. Ahead "
            "there: smaller.",
        ]
    apart = f"{abs(hint.above_others_mV):.0f} mV"
    return {
        Kind.LESS_CHARGE: [
            f"At the end of the charge {name} is {apart} below the others, and it is first at "
            f"empty: it holds less charge. A hint at imbalance, of about {gap}; a long, slow "
            "charge with balancing should win it back.",
        ],
        Kind.SMALLER: [
            f"At the end of the charge {name} is {apart} above the others, and it is first at "
            f"empty too: a hint that it is smaller or older, by about {gap}. Balancing at the top "
            "then wins nothing; only charge moved between cells during discharge would, or a "
            "better cell.",
        ],
        Kind.UNCLEAR: [
            f"At the end of the charge {name} is within {apart} of the others: too little to tell "
            f"less charge from smaller size. Either way it lacks {gap} against their mean.",
        ],
    }[hint.kind]


def sum_line(answered: Answered, place: int) -> str:
    """Say whether the cells add up to the battery's voltage."""
    check = answered.sums[place]
    drop = f" and about {1000 * check.expected_drop_V:.0f} mV are lost inside"
    both = f"The cells add up to {check.sum_V:.2f} V"
    if check.fits:
        return f"{both}; the battery showed {check.battery_V:.2f} V: they go together."
    missing = (
        f" As if a cell of about {-check.off_V:.2f} V had not been typed."
        if LEAST_CELL_V < -check.off_V < MOST_CELL_V
        else ""
    )
    beyond = f"beyond the {check.allowed_V:.2f} V that meters allow"
    lost = drop if check.expected_drop_V > 0.004 else ""
    if check.off_V > 0.0:
        way, why = "less", "or a drop in leads and switches"
    else:  # under load nothing between cells and terminals adds to their voltage
        way, why = "more", "or a voltmeter that is off"
    return (
        f"{both}{lost}; the battery showed {check.battery_V:.2f} V, {abs(check.off_V):.2f} V {way} "
        f"than that, {beyond}. A typing slip, readings of different moments, {why}: mend "
        f"this first.{missing}"
    )


def repeat_lines(answered: Answered) -> list[str]:
    """Say how repeatable the cut-out is."""
    same = answered.repeats
    if same is None:
        return []
    every = "both snapshots" if len(answered.shots) == 2 else f"all {len(answered.shots)} snapshots"
    if same.same_cell:
        first = f"The same cell, number {same.deciders[0]}, was the lowest in {every}."
    else:
        names = listing([str(one) for one in same.deciders])
        first = (
            f"Different cells were the lowest (cells {names}, in order): they are close to each "
            "other, or readings were not taken at the same moment."
        )
    lines = [
        first,
        f"The lowest cell stood between {same.lowest_V[0]:.3f} and {same.lowest_V[1]:.3f} V, all "
        f"together between {same.sum_V[0]:.2f} and {same.sum_V[1]:.2f} V. {_explained(answered)}",
        f"What balance would win: {amount(same.won_Ah[0])} to {amount(same.won_Ah[1])} "
        f"{unit_of(answered)} between snapshots (central values).",
        *_others(answered),
    ]
    return lines + _delivered_lines(answered)


def _others(answered: Answered) -> list[str]:
    """Say how little charge a battery voltage that comes out differently stands for."""
    same = answered.repeats
    if same is None or same.sum_V[1] - same.sum_V[0] < FAR_APART_V:
        return []
    left = [shot.mean_left_Ah for shot in answered.shots]
    apart = max(one.value for one in left) - min(one.value for one in left)
    volts = same.sum_V[1] - same.sum_V[0]
    first = (
        f"The battery's voltage differs by {volts:.2f} V between them, what the mean cell had left "
        f"by {amount(apart)} {unit_of(answered)}"
    )
    if any(shot.flat for shot in answered.shots):
        return [f"{first}; some stand above the knee, so this is rough."]
    percent = amount(100.0 * apart / answered.around.rated_Ah)
    return [
        f"{first} ({percent} % of capacity): cells that did not decide stand higher or lower on "
        "the knee, and the Ah delivered hardly notice."
    ]


def _explained(answered: Answered) -> str:
    """Say what different ends of the discharge are worth."""
    same = answered.repeats
    if same is None or same.explained_Ah.value <= 0.0:
        return "It stopped at the same voltage each time."
    return (
        "From the higher of these lowest readings to the lower one the cell gives only "
        f"{between(same.explained_Ah, unit_of(answered))}: on the knee volts differ much, Ah "
        "little."
    )


def _delivered_lines(answered: Answered) -> list[str]:
    same = answered.repeats
    if same is None or same.delivered_percent is None:
        return []
    given = answered.delivered_Ah
    base = sum(given) / len(given)
    expected = 100.0 * same.explained_Ah.high / base
    line = f"Delivered Ah differ by {number(same.delivered_percent, 2)} %."
    if same.delivered_percent <= max(2.0, expected):
        return [f"{line} That is as repeatable as tests of one battery usually are (within 2 %)."]
    return [
        f"{line} The different ends of the discharge explain {amount(expected)} % at most: look at "
        "how full it was at the start, temperature, current and the counter."
    ]
