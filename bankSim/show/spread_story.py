"""A study of the spread, told for somebody at the bench."""

from collections.abc import Sequence

from bankSim.show.blocks import Section, Story
from bankSim.show.charge_words import charge_blocks, not_yet_full
from bankSim.show.fed_words import (
    MOST,
    WHAT_FED_COUNTS,
    are_mostly_off,
    counts_as_fed,
    own_cut_offs,
    too_short,
)
from bankSim.show.figure_words import draws_words, seed_of
from bankSim.show.paper import marked, on_paper
from bankSim.show.share_rows import only_takes
from bankSim.show.spread_batteries import batteries_section
from bankSim.show.spread_cautions import cautions_section, danger_lines
from bankSim.show.study_words import (
    HIGH,
    LOW,
    LOWER,
    MIDDLE,
    SAFETY_OF_CHANCES,
    SOLVER,
    UPPER,
    bare_of_100,
    error_of,
    hours_of,
    middle_of,
    of_100,
    range_of,
)
from bankSim.show.unknowns_table import drawn_section
from bankSim.show.words import whole_or
from bankSim.sim.numbers import MOST_NAMES, clean, listing, number, quoted, sentence
from bankSim.sim.summary import SAFETY_TEXT
from bankSim.study.spread import Band, BatteryChances, SpreadResult
from bankSim.study.statistics import Estimate, chance
from bankSim.study.unknown import Kind

RARE = 0.005  # chances below it are not worth a place in the first sentences
ONE_SIDED = {Kind.CELL_CAPACITY, Kind.CELL_CHARGE, Kind.CHARGE}  # the middle is the best there is
IDLE = 1e-6  # of the labels: less than that is nothing
NAMED = 4
ENOUGH = 20  # draws: fewer are examples, and say nothing where all are alike


def tell_spread(result: SpreadResult, *, briefly: bool = False, in_words: bool = False) -> Story:
    """Turn the result of `study spread` into a headline and sections.

    Parameters
    ----------
    result : SpreadResult
    briefly : bool
        For a terminal: without the notes among the cautions and the list of what was drawn.
    in_words : bool
        Say what the keys of the file mean, for readers who have no file before them.
    """
    sections = [
        cautions_section(result, briefly=briefly),
        batteries_section(result),
        _orders(result),
        _cells(result),
        _how_sure(result),
        drawn_section(result.draws.plan.unknowns, briefly=briefly, in_words=in_words),
        Section("Safety", (SAFETY_OF_CHANCES, SAFETY_TEXT)),
    ]
    told = tuple(section for section in sections if section is not None)
    title = clean(result.draws.plan.scenario.title)
    return Story(f"{title}: what may happen", tuple(spread_headline(result)), told)


def spread_headline(result: SpreadResult) -> list[str]:
    """Say what the bank gives, who cuts out first, and what to beware of, with chances."""
    return [
        *_few(result),
        marked(_yield(result), paper=_is_paper(result)),
        *_fed(result),
        *_charge(result),
        *_first(result),
        *_beside_the_single_run(result),
        *_stranded(result),
        *danger_lines(result),
    ]


def _is_paper(result: SpreadResult) -> bool:
    """Tell whether its Ah and hours are on paper only."""
    return bool(on_paper(result.traced.cautions))


def _few(result: SpreadResult) -> list[str]:
    """Say of a handful of draws that they are examples."""
    if result.draws.count >= ENOUGH:
        return []
    told = draws_words(result.draws.count, None)
    return [f"Only {told}: ranges and chances are rough, take them as examples."]


def _labels_Ah(result: SpreadResult) -> float:  # noqa: N802 - the unit as printed
    return sum(one.rated_C for one in result.draws.plan.scenario.bank.batteries) / 3600.0


def _is_some(result: SpreadResult, band: Band) -> bool:
    """Tell whether so many Ah are worth a word."""
    return band.percentiles[HIGH].value > IDLE * _labels_Ah(result)


def _yield(result: SpreadResult) -> str:
    labels = _labels_Ah(result)
    one = len(result.draws.plan.scenario.bank.batteries) == 1
    beside = f"the {whole_or(labels)} Ah on the {'label' if one else 'labels'}"
    gives, takes = (_is_some(result, band) for band in (result.bank, result.charged))
    if not gives:
        into = f"takes in {range_of(result.charged)}, beside {beside}" if takes else "gives nothing"
        return f"In 9 of 10 cases the bank {into}."
    low, high = (result.bank.percentiles[place].value for place in (LOW, HIGH))
    same = high - low <= IDLE * high
    told = f"In {'all' if same else '9 of 10'} cases the bank delivers {range_of(result.bank)}"
    told += f" and takes in {range_of(result.charged)}, beside" if takes else " of"
    if same:
        tells = result.draws.plan.unknowns and result.draws.count >= ENOUGH
        drawn = ": nothing that was drawn changes that" if tells else ""
        return f"{told} {beside}{drawn}."
    return f"{told} {beside}; half of the cases lie above {middle_of(result.bank)}."


def _fed(result: SpreadResult) -> list[str]:
    """Say for how long the loads are fed, and which cut themselves off."""
    if only_takes(result):
        return []
    happenings = result.traced.happenings
    off = own_cut_offs(happenings)
    counts = counts_as_fed(result.draws.plan.scenario.bank) if off else ""
    ran_out = result.fed.value < MOST or are_mostly_off(happenings)
    longer = not ran_out and _is_some(result, result.bank)
    advice = [sentence(f"{too_short()}.")] if longer else []
    fed = f"The loads are fed {_how_long(result)}{counts}."
    return [marked(fed, paper=_is_paper(result)), *off, *advice]


def _how_long(result: SpreadResult) -> str:
    if result.fed.value == 1.0:
        return "to the end of the run in all cases"
    if result.fed.value >= MOST:
        return f"to the end of the run in {of_100(result.fed)}"
    reach = f"for {hours_of(result.runtime)}"
    if result.fed.value > RARE:
        return f"{reach}, to the end of the run in {of_100(result.fed)}"
    return reach


def _charge(result: SpreadResult) -> list[str]:
    """Say of a bank without loads who blocks its charge, and whether the run was too short."""
    if not only_takes(result):
        return []
    return [*charge_blocks(result.traced.happenings), *not_yet_full(result.traced.happenings)]


def _first(result: SpreadResult) -> list[str]:
    """Name who cuts out first, the likeliest first; all that is left is counted."""
    if result.nobody.value == 1.0:
        return [] if only_takes(result) else ["No battery cuts out in any case."]
    ranked = sorted(result.batteries, key=lambda one: -one.first.value)
    likely = [one for one in ranked if one.first.value > RARE]
    rest = _together(result) + _nobody(result)
    if not likely:
        return [sentence(f"{listing(rest)}.")] if rest else []
    best = likely[0]
    if len(result.batteries) == 1:
        return [f"The battery cuts out in {of_100(best.first)}."]
    named = len(likely) if len(likely) == NAMED + 1 else NAMED  # a single other one is named, too
    others = [f"{quoted(one.name)} in {bare_of_100(one.first)}" for one in likely[1:named]]
    if len(likely) > named:
        more = f"{bare_of_100(_any_of(likely[named:], result.draws.count))}"
        others.append(f"one of {len(likely) - named} others in {more}")
    told = listing([f"{quoted(best.name)} cuts out first in {of_100(best.first)}", *others])
    told = "; ".join([told, *rest])
    is_open = len(likely) > 1 and best.first.low <= likely[1].first.high
    return [
        f"{told}: who is first is open." if is_open else f"{told}.{_in_the_middle(result, best)}"
    ]


def _in_the_middle(result: SpreadResult, best: BatteryChances) -> str:
    """Say whom the run in the middle has first, where it is another one."""
    middle = result.traced.middle
    if middle is None or not middle.first_out or best.name in middle.first_out:
        return ""
    who = listing([quoted(name) for name in middle.first_out])
    return f" In a single run with every value in the middle it is {who}."


def _any_of(batteries: Sequence[BatteryChances], draws: int) -> Estimate:
    return chance(round(sum(one.first.value for one in batteries) * draws), draws)


def _together(result: SpreadResult) -> list[str]:
    if result.together.value <= RARE:
        return []
    return [f"several cut out first, all at once, in {of_100(result.together)}"]


def _nobody(result: SpreadResult) -> list[str]:
    if result.nobody.value <= RARE:
        return []
    return [f"nobody cuts out in {of_100(result.nobody)}"]


def _beside_the_single_run(result: SpreadResult) -> list[str]:
    """Say where the run with every value in the middle stands, when it stands at an edge."""
    band = result.main
    central = band.central
    if central is None or not _is_some(result, band):
        return []
    low, high = (band.percentiles[place].value for place in (LOWER, UPPER))
    if low * (1.0 - SOLVER) <= central <= high * (1.0 + SOLVER):
        return []
    side = "more" if central > high else "less"
    kinds = {unknown.kind for unknown in result.draws.plan.unknowns}
    best = central > high and kinds & ONE_SIDED and not only_takes(result)
    why = ": equal cells and quite full batteries are the best case" if best else ""
    return [
        f"A single run with every value in the middle says {number(central)} Ah, {side} than most "
        f"cases{why}."
    ]


def _stranded(result: SpreadResult) -> list[str]:
    """Name the battery that locks most charge in, when it is worth a sentence."""
    most = max(result.batteries, key=lambda one: one.stranded.percentiles[MIDDLE].value)
    if most.stranded.percentiles[MIDDLE].value < 0.01 * _labels_Ah(result):
        return []
    if most.at_all.value < 0.5:
        return []
    return [
        f"{range_of(most.stranded)} stay locked in {quoted(most.name)} behind its weakest cell."
    ]


def _orders(result: SpreadResult) -> Section | None:
    """The orders in which the batteries cut out, the likeliest first."""
    if len(result.batteries) < 2 or result.nobody.value == 1.0:
        return None
    lines = []
    for order in result.orders:
        told = [_at_once(names) for names in order.names]
        if len(told) > MOST_NAMES + 1:
            told = [*told[:MOST_NAMES], f"and {len(told) - MOST_NAMES} more"]
        lines.append(f"{' - '.join(told) or 'nobody'}: {of_100(order.chance)}")
    return Section("In which order they cut out", tuple(lines))


def _at_once(names: Sequence[str]) -> str:
    return " with ".join(quoted(name) for name in names)


def _cells(result: SpreadResult) -> Section | None:
    """Say which cells decide, where one does clearly more often than its share."""
    lines = []
    for battery in result.batteries:
        decided = sum(one.value for one in battery.cells)
        if decided < 0.01 or len(battery.cells) < 2:
            continue
        places = sorted(range(len(battery.cells)), key=lambda n: -battery.cells[n].value)
        if battery.cells[places[0]].low <= battery.cells[places[-1]].high:
            lines.append(f"{quoted(battery.name)}: any of its cells, none more than the others.")
            continue
        told = [
            f"cell {place + 1} in {bare_of_100(battery.cells[place])}"
            for number, place in enumerate(places[:4])
            if battery.cells[place].value > RARE or number == 0
        ]
        lines.append(f"{quoted(battery.name)}: {listing(told)} of 100 cases.")
    return Section("Which cell decides", tuple(lines)) if lines else None


def _how_sure(result: SpreadResult) -> Section:
    draws, design = result.draws, result.draws.plan.design
    seed = seed_of(draws.plan)
    sampling = getattr(design, "sampling", None)
    even = sampling is not None and sampling.value == "even"
    lines = [
        f"{draws_words(draws.count, seed)}{', spread evenly (Sobol points)' if even else ''}. "
        f"The ends of the bank's range are known to within {error_of(result.main)}; numbers in "
        "brackets behind a chance hold the true one in 95 of 100 studies.",
    ]
    if any(one.chance.value > 0.0 for one in result.traced.happenings.own_cut_offs):
        lines.append(WHAT_FED_COUNTS)
    if even:
        lines.append("For evenly spread draws these errors are too large: they are better.")
    if not result.reached:
        lines.append("So many draws did not reach the precision wanted; ask for more with --draws.")
    lines.append(
        "A draw can be run again alone, with its whole story: --draw NUMBER (from 0). What to "
        "measure so that the range gets narrower: the question matters."
    )
    return Section("How sure this is", tuple(lines))
