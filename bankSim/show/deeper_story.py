"""Tells whether a battery has larger cells or the same cells taken deeper."""

from typing import Any

from bankSim.measured.deeper import COUNT_SD, Comparison, Side, Verdict
from bankSim.measured.energy_per_mass import PerMass, Place, per_mass
from bankSim.measured.knee_facts import SOURCES
from bankSim.show.answer import Answer
from bankSim.show.blocks import Grid, Section, Story
from bankSim.show.snapshot_words import amount
from bankSim.show.study_files import study_summary
from bankSim.sim.numbers import number, quoted
from bankSim.sim.summary import SAFETY_TEXT

CAUTION = (
    "Do not take a battery deeper because the sums allow it: deeper discharge costs life, cells "
    "below their maker's limit can be harmed for good, and the maker's limits decide."
)
MASS_DOUBT = 0.04  # of the mass: cases and straps differ


def deeper_answer(found: Comparison) -> Answer:
    """Return story and JSON of a comparison."""
    return Answer(
        story=tell_deeper(found),
        full_story=tell_deeper(found, with_safety=True),
        summary=_summary(found),
    )


def figures_of(side: Side) -> PerMass | None:
    """Return charge and energy per mass of a side, where its mass is known."""
    if side.mass_kg is None:
        return None
    return per_mass(side.around.chemistry, side.given_Ah, side.energy_Wh, side.mass_kg)


def _summary(found: Comparison) -> dict[str, Any]:
    from dataclasses import asdict

    summary = study_summary("deeper", found)
    for place, side in enumerate(found.sides):
        told = figures_of(side)
        summary["sides"][place]["energy_Wh"] = side.energy_Wh
        summary["sides"][place]["per_mass"] = (
            None if told is None else {**asdict(told), "place": told.place.value}
        )
    summary["interval"] = "low and high are the 5 and 95 % ends"
    summary["caution"] = CAUTION
    return summary


def tell_deeper(found: Comparison, *, with_safety: bool = False) -> Story:
    """Return the story of a comparison."""
    one, two = found.sides
    sections = [_table(found)]
    if found.parts is not None:
        sections.append(_parts(found))
    sections.append(Section("Weight", tuple(_weight_lines(found))))
    sections.append(Section("What would settle it", tuple(_settle_lines(found))))
    sections.append(Section("Assumed", tuple(_assumed(found))))
    sections.append(Section("Beware", (CAUTION, *((SAFETY_TEXT,) if with_safety else ()))))
    title = f"Larger cells, or taken deeper? {one.name} against {two.name}"
    return Story(title, tuple(_headline(found)), tuple(sections))


def _headline(found: Comparison) -> list[str]:
    """Give the verdict in words."""
    one, two = found.sides
    more, less = (two, one) if two.given_Ah >= one.given_Ah else (one, two)
    gap = abs(two.given_Ah - one.given_Ah)
    percent = 100.0 * gap / less.given_Ah
    first = "Both gave the same Ah." if gap <= 0.0 else (
             f"{quoted(more.name)} gave {amount(gap)} Ah ({number(percent, 2)} %) more than "
             f"{quoted(less.name)}.")  # fmt: skip
    if found.parts is None:
        return [first, _without_parts(found)]
    depth, cells = abs(found.parts.depth.value), abs(found.parts.cells.value)
    share = 0.0 if found.sure is None else 100.0 * found.sure
    sure = f" (in {share:.0f} of 100 draws the cells are the largest part)"
    verdict = {
        Verdict.SAME: "That is within what repeats of one battery differ by (2 %): no sign of "
        "larger cells or of deeper discharge.",
        Verdict.LARGER: f"Ending deeper explains only {amount(depth)} Ah of it: consistent with "
        f"more charge in the cells{sure}, not with the same cells driven harder at the empty end. "
        "Whether one was charged fuller or has aged, cells at empty cannot show.",
        Verdict.DEEPER: f"It was taken deeper, and that explains {amount(depth)} Ah of it: "
        "consistent with the same cells driven harder.",
        Verdict.BALANCE: "Better balanced cells explain most of it: at the common end voltage the "
        "mean cell of both is about equally large.",
        Verdict.MIXED: f"Partly depth ({amount(depth)} Ah), partly the cells themselves "
        f"({amount(cells)} Ah){sure}.",
    }.get(
        found.verdict,
        "Depth does not explain it, and what is left for the cells is within what two tests of one "
        "battery may differ by: this cannot tell.",
    )
    return [first, verdict]


def _without_parts(found: Comparison) -> str:
    if found.verdict is Verdict.KIND:
        kinds = " and ".join(side.around.chemistry for side in found.sides)
        return (f"They are of different chemistries ({kinds}): depth cannot be compared cell by "
                "cell, charge and energy per kg can.")  # fmt: skip
    return ("Without the cell voltages of both at cut-out nobody can say how deep each was taken: "
            "larger cells and deeper discharge are both possible.")  # fmt: skip


def _table(found: Comparison) -> Section:
    """Return both batteries side by side."""
    rows = []
    for place, side in enumerate(found.sides):
        told = figures_of(side)
        volts = side.voltages_V
        end = found.at_common_Ah[place] if found.at_common_Ah else None
        rows.append((
            side.name,
            side.around.chemistry,
            amount(side.given_Ah),
            f"{min(volts):.2f} to {max(volts):.2f}" if volts else "-",
            amount(end.value) if end else "-",
            number(side.mass_kg) if side.mass_kg else "-",
            number(told.Ah_per_kg) if told else "-",
            f"{told.Wh_per_kg:.0f}" if told else "-",
        ))  # fmt: skip
    columns = ("Battery", "Kind", "Ah given", "Cells V", "Ah to common end", "kg", "Ah/kg", "Wh/kg")
    lines = []
    if found.common_V is not None:
        lines.append(
            f"Common end: the lowest cell at {found.common_V:.3f} V, where the one that stopped "
            "earlier stopped; the other is counted back to there."
        )
    return Section("Side by side", (*lines, *found.told), Grid(columns, tuple(rows), words=2))


def _parts(found: Comparison) -> Section:
    parts = found.parts
    assert parts is not None
    one, two = found.sides
    rows = tuple(
        (name, amount(span.value), f"{amount(span.low)} to {amount(span.high)}")
        for name, span in (
            ("taken deeper", parts.depth),
            ("better balanced cells", parts.balance),
            ("the cells themselves (all else)", parts.cells),
            ("together", parts.total),
        )
    )
    line = (
        f"{two.name} less {one.name}, in Ah; below 0 where it works the other way. The cells "
        "themselves: also how full they were at the start, temperature, current, the counters."
    )
    near = ("On the knee a cell has little left: from 2.5 to 2.2 V under load well under 1 % of "
            "its capacity. A difference of several percent does not come from there.")  # fmt: skip
    lithium = one.around.chemistry == "LFP"
    return Section("Where the difference comes from", (line, *((near,) if lithium else ())),
                   Grid(("Part", "Ah", "90 % interval"), rows))  # fmt: skip


def _weight_lines(found: Comparison) -> list[str]:
    lines = []
    for side in found.sides:
        told = figures_of(side)
        if told is None:
            continue
        span = told.plausible
        words = {
            Place.INSIDE: "plausible",
            Place.ABOVE: "more than plausible: check the count of Ah, the weight and the chemistry",
            Place.BELOW: "less than plausible for new cells: an aged battery, a heavy case, or "
            "not all of its charge was taken",
        }[told.place]
        basis = "measured" if side.given_Wh is not None else "Ah times nominal voltage"
        lines.append(f"{side.name}: {told.Wh_per_kg:.0f} Wh/kg ({basis}); {words} for "
                     f"{side.around.chemistry} ({span.low:.0f} to {span.high:.0f}).")  # fmt: skip
    lines += _mass_evidence(found)
    return lines or ["No weights were given (--kg): Ah and Wh per kg cannot be judged."]


def _mass_evidence(found: Comparison) -> list[str]:
    """Hold the difference in weight against that of more of the same cells."""
    if found.mass_gap_kg is None or found.mass_expected_kg is None:
        return []
    if found.verdict in (Verdict.KIND, Verdict.SAME):
        return []
    one, two = found.sides
    doubt = MASS_DOUBT * (one.mass_kg or 0.0)
    heavier = "heavier" if found.mass_expected_kg > 0 else "lighter"
    is_heavier = "heavier" if found.mass_gap_kg >= 0 else "lighter"
    told = (
        f"More of the same cells would make {two.name} {abs(found.mass_expected_kg):.1f} kg "
        f"{heavier} (cells are about 80 % of the weight); it is {abs(found.mass_gap_kg):.1f} kg "
        f"{is_heavier}"
    )
    off = found.mass_gap_kg - found.mass_expected_kg
    if abs(found.mass_expected_kg) < doubt:
        return [f"{told}: cases differ by as much, so weight decides nothing."]
    if abs(off) <= doubt:
        return [f"{told}: that fits larger cells of the same kind."]
    return [f"{told}: that does not fit more of the same cells; cells of another generation, "
            "another state of health, or another end of charge or discharge would."]  # fmt: skip


def _settle_lines(found: Comparison) -> list[str]:
    lines = []
    if found.parts is None and found.verdict is Verdict.UNKNOWN:
        lines.append("Cell voltages of both just before cut-out, under load, with the current.")
    return [
        *lines,
        "The same test on both: full by the same charge, the same current, the same temperature, "
        "stopped by hand when the first cell of each is at the same voltage (2.5 V or what the "
        "maker allows, whichever is higher).",
        "The other end too: cell voltages at the end of charge and how the current tailed off. "
        "Charging higher also gives a little more.",
        "A second meter for the Ah, or the same one on both; repeats of one battery agree within "
        "2 %.",
        "Print on the cells, if it can be read: rated Ah and weight of one cell.",
    ]


def _assumed(found: Comparison) -> list[str]:
    one, two = found.sides
    lines = [f"Ah of one test: within {100 * COUNT_SD:.0f} % (one standard deviation): repeats "
             "agree within 2 %, common practice, no source"]  # fmt: skip
    for side in (one, two):
        if side.around.current_A is None:
            low, high = (number(side.given_Ah / hours) for hours in (20.0, 5.0))
            lines.append(f"{side.name}: current at cut-out not given, {low} to {high} A, choice")
    kinds = dict.fromkeys(side.around.chemistry for side in (one, two))
    known = {side.around.chemistry: side for side in (one, two)}
    for kind in kinds:
        side = known[kind]
        if found.parts is not None:
            lines.append(side.around.facts.stretch_source)
        told = figures_of(side)
        if told is not None:
            lines.append(told.plausible.source)
    return [*lines, *(SOURCES if found.parts is not None else ())]
