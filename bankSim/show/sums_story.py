"""Where the Ah on the labels go, told step by step: the bank and its batteries alone."""

from bankSim.show.beware import are_more, dangers_of
from bankSim.show.blocks import Grid, Section, Story
from bankSim.show.left_words import has_two_wells
from bankSim.show.study_words import HIGH, LOW, MIDDLE, error_of
from bankSim.show.sums_words import GAINED, WHERE, change_of, is_single, middle
from bankSim.show.unknowns_table import drawn_section
from bankSim.show.words import beside
from bankSim.sim.numbers import clean, listing
from bankSim.sim.summary import SAFETY_TEXT
from bankSim.study.spread import Band
from bankSim.study.sums import Part, SumsResult

TRACE = 0.002  # of the labels
ENOUGH = 59  # draws of which one lies beyond the 5 % point, 19 times of 20: 0.95^59 < 0.05


def tell_sums(result: SumsResult, *, briefly: bool = False) -> Story:
    """Turn the result of `study sums` into a headline and sections; briefly for a terminal."""
    sections = (
        _steps(result),
        _batteries(result),
        _meaning(result),
        drawn_section(result.plan.unknowns, briefly=briefly),
        Section("Safety", (SAFETY_TEXT,)),
    )
    what = "where its Ah go" if is_single(result) else "the bank and the sum of its batteries"
    title = f"{clean(result.plan.scenario.title)}: {what}"
    return Story(title, tuple(sums_headline(result)), sections)


def sums_headline(result: SumsResult) -> list[str]:
    """Say what the bank delivers of the labels, where the rest goes, and what alone would be."""
    labels, bank = result.parts[0].Ah, result.parts[-1].Ah
    says, who = ("label says", "battery") if is_single(result) else ("labels say", "bank")
    first = f"The {says} {_Ah(result, middle(labels))}, the {who} delivers {_told(result, bank)}."
    alone = [] if is_single(result) else [_alone(result)]
    return [first, *_dangers(result), *_where(result), *alone]


def _dangers(result: SumsResult) -> list[str]:
    """Name what is dangerous in the run of the bank as it is wired; all else is about Ah."""
    lines, more = dangers_of(result.dangers)
    also = [f"There {are_more(more)}."] if more else []
    return [*lines, *also]


def _alone(result: SumsResult) -> str:
    """Compare the bank with its batteries alone."""
    parts = {part.word: part.Ah for part in result.parts}
    lost = middle(parts["alone"]) - middle(parts["bank"])
    start = f"Each alone, the batteries deliver {_told(result, parts['alone'])} together"
    if abs(lost) <= TRACE * _scale(result):
        return f"{start}, as a bank nearly the same: parallel capacities add."
    return f"{start}; as a bank {_Ah(result, abs(lost))} {'less' if lost > 0.0 else 'more'}."


def _where(result: SumsResult) -> list[str]:
    """Name what takes Ah on the way from the labels, the largest first; then what gives some."""
    steps = sorted(
        ((part.word, change_of(part)) for part in result.parts if part.change is not None),
        key=lambda step: step[1],
    )
    trace = TRACE * _scale(result)
    taken = [f"{_Ah(result, -by)} {WHERE[word]}" for word, by in steps if by < -trace]
    little = [WHERE[word] for word, by in steps if abs(by) <= trace]
    gained = [f"{_Ah(result, by)} {GAINED[word]}" for word, by in steps if by > trace]
    missing = middle(result.parts[0].Ah) - middle(result.parts[-1].Ah)
    start = f"Where the other {_Ah(result, missing)} go" if missing > trace else "Lost on the way"
    told = [f"{start}: {'; '.join(taken)}."] if taken else ["Next to nothing is lost on the way."]
    if taken and little:
        told.append(f"Next to nothing goes {listing(little)}.")
    return [*told, f"Gained: {'; '.join(gained)}."] if gained else told


def _scale(result: SumsResult) -> float:
    return max(middle(part.Ah) for part in result.parts)


def _bare(result: SumsResult, value: float) -> str:
    """Round like everything in this story, so that sums can be followed."""
    return beside(value, _scale(result))


def _Ah(result: SumsResult, value: float) -> str:  # noqa: N802
    return f"{_bare(result, value)} Ah"


def _told(result: SumsResult, band: Band) -> str:
    """Say the middle and where 9 of 10 draws lie."""
    if result.draws == 1:
        return f"{_Ah(result, middle(band))} (one draw: no range)"
    low, high = (_bare(result, band.percentiles[place].value) for place in (LOW, HIGH))
    return f"{_Ah(result, middle(band))} (9 of 10 cases: {low} to {high} Ah)"


def _steps(result: SumsResult) -> Section:
    places = (MIDDLE,) if result.draws == 1 else (LOW, MIDDLE, HIGH)
    heads = ("Ah",) if result.draws == 1 else ("5 % Ah", "middle Ah", "95 % Ah")
    rows = tuple(
        (
            part.text,
            *(_bare(result, part.Ah.percentiles[place].value) for place in places),
            _change(result, part),
        )
        for part in result.parts
    )
    line = (
        "Change: the median of the differences of all draws, which need not be the difference of "
        "two medians."
    )
    end = "bank" if not is_single(result) else "battery"
    return Section(
        f"From the label{'' if is_single(result) else 's'} to the {end}",
        () if result.draws == 1 else (line,),
        Grid(("Step", *heads, "change Ah"), rows, words=1),
    )


def _change(result: SumsResult, part: Part) -> str:
    if part.change is None:
        return "-"
    text = _bare(result, change_of(part))
    if float(text) == 0.0:
        return text.lstrip("-")
    return text if text.startswith("-") else f"+{text}"


def _batteries(result: SumsResult) -> Section:
    single = is_single(result)
    batteries = result.plan.scenario.bank.batteries
    rated_C = {battery.name: battery.rated_C for battery in batteries}
    bound = " (of lead-acid cells not all of it can be drawn)"
    rows = []
    for one in result.batteries:
        bands = (one.alone, *(() if single else (one.in_bank,)), one.left, one.locked)
        numbers = (rated_C[one.name] / 3600.0, *(middle(band) for band in bands))
        rows.append((clean(one.name), *(_bare(result, value) for value in numbers)))
    given = ("delivers Ah",) if single else ("alone Ah", "in the bank Ah")
    columns = ("Battery", "label Ah", *given, "left Ah", "locked in Ah")
    lines = (
        f"{'Medians. ' if result.draws > 1 else ''}Left: what its weakest cell still holds "
        f"{'at its cut-out' if single else 'when the bank is empty'}"
        f"{bound if any(map(has_two_wells, batteries)) else ''}. Locked in: what its other cells "
        "hold above that, on average.",
    )
    return Section("Battery by battery", lines, Grid(columns, tuple(rows), words=1))


def _meaning(result: SumsResult) -> Section:
    if is_single(result):
        alone = "Alone: without leads and main cable, until it cuts out (chargers left out)."
        bank = ""
    else:
        alone = (
            "Alone: each battery by itself, without leads, feeding its part of every load by its "
            f"label until it cuts out ({len(result.batteries)} batteries; chargers left out)."
        )
        bank = "all in one bank with 1 % of the wiring's resistance; "
    steps = (
        "The steps change one thing each: the label; what the cells hold; alone with cells that "
        f"all have the mean capacity, charge and resistance; alone as it is; {bank}as wired."
    )
    seed = getattr(result.plan.design, "seed", "-")
    return Section("What is compared", (alone, steps, f"Seed {seed}, {_how_many(result)}."))


def _how_many(result: SumsResult) -> str:
    bank = result.parts[-1].Ah
    if result.draws == 1:
        return "one draw: the numbers of one random case, which say nothing of a range"
    told = f"{result.draws:,} draws"
    if result.draws < ENOUGH:
        return f"{told} (few: the ends of ranges are rough; --draws 100 makes more)"
    return f"{told} (ends of the last range in the table: known to {error_of(bank)})"
