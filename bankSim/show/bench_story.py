"""Tells what capacity tests found: the verdict first, then each test, the budget, small print."""

import math
from collections.abc import Collection, Iterator

from bankSim.measured.capacity_test import CapacityAnswer
from bankSim.measured.claims import Evaluation, Product
from bankSim.measured.discharge import Ending
from bankSim.measured.trial import Trial
from bankSim.measured.uncertainty import Budget, Contribution
from bankSim.measured.verdict import Word
from bankSim.show.bench_conditions import called, conditions
from bankSim.show.bench_rate import (
    alike,
    apart,
    apart_still,
    each_alone,
    no_repeats,
    rate_lines,
    rates_differ,
)
from bankSim.show.bench_small_print import safety_section, small_print
from bankSim.show.bench_words import (
    amount,
    degrees_text,
    once_off,
    rounded,
    sure,
    verdict_text,
    why_it_ended,
    with_reach,
)
from bankSim.show.blocks import Grid, Section, Story
from bankSim.show.words import counted, shortened, volts, whole_or
from bankSim.sim.numbers import MOST_NAMES, clean, listing, number, sentence, span

MOST_OTHERS = 5
UNLIKE, UNLIKE_K = 1.1, 5.0  # ratio of currents, difference of temperatures
EACH = " (--each takes as tests all large ones that were charged before)"
SOURCE = "uncertainties by JCGM 100:2008, Welch-Satterthwaite, Student's t"


def tell_tests(answer: CapacityAnswer, *, briefly: bool = False) -> Story:
    """Return the story of capacity tests.

    Parameters
    ----------
    answer : CapacityAnswer
    briefly : bool
        Without the energy of each test and the budget of the corrected Ah.
    """
    sections = tuple(_sections(answer, briefly=briefly))
    return Story(_title(answer), tuple(_headline(answer)), sections)


def _title(answer: CapacityAnswer) -> str:
    trials, units = counted(len(answer.trials), "test"), len(answer.measured.units)
    return f"Capacity: {trials} of {counted(units, 'unit')}"


def _headline(answer: CapacityAnswer) -> Iterator[str]:
    question, one = answer.question, answer.measured.together
    for trial in answer.trials:
        for doubt in trial.doubts:
            yield f"Check this first: in {clean(trial.name)} {doubt}"
        yield from (f"Beware, {called(trial)}: {clean(text)}" for text in trial.spoilt)
    if apart(answer):
        yield each_alone(answer)
    else:
        at_least = "at least " if one.at_least else ""
        gave = f"{at_least}{with_reach(answer.measured.budget, question.confidence)}"
        yield f"{sentence(one.about)} gave {gave} ({sure(question.confidence)}, two-sided)."
    yield from (line for trial in answer.trials for line in conditions(trial))
    if question.rated_Ah is None:
        held = "was given" if apart(answer) else "to hold it against was given"
        yield f"No label {held} (--rated-Ah)."
        return
    if not apart(answer):
        yield f"As measured, {verdict_text(one, question.rated_Ah, question.confidence)}"
    if answer.corrected is not None and not apart_still(answer):
        fixed = verdict_text(answer.corrected.together, question.rated_Ah, question.confidence)
        yield f"With the corrections asked for, {fixed}"
    yield from _provided(answer)
    product = answer.measured.product
    if product is not None and not apart(answer):
        told = verdict_text(product.mean, question.rated_Ah, question.confidence)
        yield f"For {product.mean.about}: {told}"


def _provided(answer: CapacityAnswer) -> Iterator[str]:
    """On what a claim that is not met depends."""
    shown = (
        None if apart(answer) else answer.measured,
        None if apart_still(answer) else answer.corrected,
    )
    told = [one.together.word for one in shown if one is not None]
    if Word.NOT_MET not in told:
        return
    doubts = []
    whole = [one for one in answer.trials if one.whole]
    if not all(one.before.full(one.counted.Ah.value) for one in whole):
        doubts.append("if the battery was full at the start (which the logs do not show)")
    if any(one.ending is Ending.EMPTY for one in whole):
        doubts.append("if it was the battery that stopped, not the load by a limit of its own")
    if doubts:
        yield f"That holds {listing(doubts)}."


def _sections(answer: CapacityAnswer, *, briefly: bool) -> Iterator[Section]:
    question = answer.question
    yield _trials_section(answer)
    yield Section("Start and end", tuple(_start_and_end(answer)))
    yield Section("How the logs were read", tuple(_reading(answer)))
    yield _evaluation(answer.measured, answer, "As measured")
    if answer.corrected is not None:
        yield _corrections(answer)
        yield _evaluation(answer.corrected, answer, "Corrected")
    if not briefly:
        yield _energy(answer)
    if not apart(answer):
        yield _budget_section(
            answer.measured.budget, "What makes the Ah uncertain", question.confidence
        )
    if answer.corrected is not None and not briefly and not apart_still(answer):
        title = "What makes the corrected Ah uncertain"
        yield _budget_section(answer.corrected.budget, title, question.confidence)
    yield _assumed(answer)
    yield small_print(answer)
    yield safety_section()


def _trials_section(answer: CapacityAnswer) -> Section:
    confidence = answer.question.confidence
    columns = (
        "Test", "Unit", "Ah", "+-", "Wh", "Hours on", "Mean A", "Mean V", "End V", "Rests",
        "Mean degC",
    )  # fmt: skip
    rows = tuple(_row(one, confidence) for one in answer.trials)
    lines = (
        f"+- is {sure(confidence)} of meter and log alone; Ah are net of charge taken in between.",
        *_others(answer),
        *_unlike(answer),
    )
    return Section("Each test", lines, Grid(columns, rows, words=2))


def _row(one: Trial, confidence: float) -> tuple[str, ...]:
    did, reach = one.counted, one.counted.Ah.expanded(confidence)
    warm = "-" if one.temperature_C is None else f"{one.temperature_C[0]:.1f}"
    mark = "" if one.whole else ">= "
    return (
        shortened(one.name, 24), shortened(one.unit or "-", 12),
        f"{mark}{rounded(did.Ah.value, reach)}", number(reach, 2), f"{did.Wh.value:.0f}",
        f"{did.hours_on:.2f}", number(did.mean_A), f"{did.mean_V:.2f}", f"{did.end_V:.2f}",
        str(len(one.discharge.pauses)), warm,
    )  # fmt: skip


def _others(answer: CapacityAnswer) -> Iterator[str]:
    for one in answer.trials:
        if one.others_Ah:
            charges = listing([f"{number(charge)} Ah" for charge in one.others_Ah], MOST_OTHERS)
            each = "" if answer.question.each else EACH
            yield (
                f"{called(one)} holds {counted(len(one.others_Ah), 'more discharge')} that "
                f"{'is' if len(one.others_Ah) == 1 else 'are'} not counted: {charges}{each}."
            )


def _unlike(answer: CapacityAnswer) -> Iterator[str]:
    """Tests that are no repeats of each other, since rate or temperature differ."""
    if rates_differ(answer.trials, UNLIKE):
        currents = [one.counted.mean_A for one in answer.trials if one.whole]
        yield (
            f"Beware: mean currents from {number(min(currents))} to {number(max(currents))} A; "
            "such tests are no repeats of each other, and their mean says little."
        )
    yield from rate_lines(answer)
    warm = [one.temperature_C[0] for one in answer.trials if one.temperature_C is not None]
    if warm and max(warm) - min(warm) > UNLIKE_K:
        yield (
            f"Beware: mean temperatures from {min(warm):.1f} to {max(warm):.1f} degC; part of the "
            "spread is theirs (--correct temperature)."
        )


def _reading(answer: CapacityAnswer) -> Iterator[str]:
    for sign in dict.fromkeys(one.sign for one in answer.trials):
        names = [called(one) for one in answer.trials if one.sign == sign]
        yield f"{sentence(listing(names, MOST_NAMES))}: read as {clean(sign)}."
    if len({one.sign.split(" (")[0] for one in answer.trials}) > 1:
        yield (
            "Beware: the logs were read with different directions of current. If one meter made "
            "them all, one is read the wrong way round: --sign discharge or charge settles it."
        )
    for one in answer.trials:
        yield from (f"Beware, {called(one)}: {clean(text)}" for text in one.warnings)


def _start_and_end(answer: CapacityAnswer) -> Iterator[str]:
    end_V = answer.question.end_V
    criterion = "the battery's own cut-out" if end_V is None else f"{volts(end_V)} under load"
    threshold = listing(sorted({number(one.discharge.on_A, 2) for one in answer.trials}))
    yield (
        f"A test starts when the current first rises above {threshold} A; it is to end at "
        f"{criterion}."
    )
    for one in answer.trials:
        yield f"{sentence(called(one))}: {_start(one)}; {_interrupted(one)}{_end(one)}"


def _start(one: Trial) -> str:
    seen = one.before
    rest = f"at rest for {span(seen.rest_s, 2)} before" if seen.rest_s > 0.0 else "no rest seen"
    if seen.rest_V is not None and seen.rest_s > 0.0:
        rest += f" ({volts(seen.rest_V)})"
    full = seen.full(one.counted.Ah.value)
    if full is None or seen.tail_A is None:
        return f"{rest}, no charge seen before; {volts(one.counted.start_V)} as the load came on"
    words = "full by its tail" if full else "perhaps not full"
    return (
        f"{rest}, {words}: the charge before ended with {number(seen.tail_A, 2)} A at "
        f"{volts(seen.tail_V)}"
    )


def _interrupted(one: Trial) -> str:
    pauses = one.discharge.pauses
    if not pauses:
        return ""
    whole = span(sum(pause.length_s for pause in pauses), 2)
    taken = one.counted.returned_Ah
    back = f", {number(taken, 2)} Ah charged meanwhile" if taken >= 0.0005 else ""
    return f"interrupted {counted(len(pauses), 'time')}, {whole} in all{back}; "


def _end(one: Trial) -> str:
    told = f"{why_it_ended(one)}, at {volts(one.counted.end_V)}"
    if one.weakest is not None:
        cell, voltage, below = one.weakest
        told += (
            f"; cell {cell} was lowest with {volts(voltage, 3)}, {volts(below, 3)} below the mean"
        )
    seen = one.after
    if seen.rebound_V is not None:
        told += f"; {once_off(seen.rebound_V)} within {span(seen.within_s, 2)}"
    if seen.more_Ah > 0.01 * one.counted.Ah.value:
        told += f"; {number(seen.more_Ah, 2)} Ah drawn later are not counted"
    if one.counted.bridged_Ah > 0.0:
        told += f"; {number(one.counted.bridged_Ah, 2)} Ah of it lie in gaps of the log"
    if one.temperature_C is not None and one.temperature_C[1] < one.temperature_C[2]:
        told += f"; {one.temperature_C[1]:.1f} to {one.temperature_C[2]:.1f} degC"
    return f"{told}."


def _evaluation(one: Evaluation, answer: CapacityAnswer, name: str) -> Section:
    claim, confidence = answer.question.rated_Ah, answer.question.confidence
    alone = apart(answer) if one is answer.measured else apart_still(answer)
    mixed = no_repeats(answer) if alone else ()
    lines = list(_unit_lines(one, claim, confidence, mixed))
    if len(one.units) > 1 and not alone:
        low, high = one.interval
        upper = amount(high, one.budget.combined) if math.isfinite(high) else "more"
        lines.append(
            f"Mean of these {len(one.units)} units: {with_reach(one.budget, confidence)}, from "
            f"{amount(low, one.budget.combined)} to {upper}."
        )
    if one.product is not None and not alone:
        lines += _product_lines(one.product, claim, confidence)
    judged = answer.corrected is not None or len(mixed) < len(one.units)
    if claim is not None and one is answer.measured and judged:
        lines.append(
            "The guard is Student's t (one-sided) times the standard uncertainty: a claim counts "
            "as met only when the result lies above it by the guard, as not met only when it lies "
            "below by the guard. In between these tests cannot tell."
        )
    title = "is the claim met?" if claim is not None else "together"
    return Section(f"{name}: {title}", tuple(lines))


def _unit_lines(
    one: Evaluation, claim: float | None, confidence: float, mixed: Collection[str]
) -> Iterator[str]:
    for unit in one.units:
        about = sentence(unit.verdict.about)
        if unit.name in mixed:
            yield f"{about}: no mean of tests at such different currents, and nothing to judge."
            continue
        told = with_reach(unit.budget, confidence)
        at_least = "at least " if unit.verdict.at_least else ""
        spread = ""
        if unit.deviation_Ah is not None:
            spread = f", standard deviation {number(unit.deviation_Ah, 2)} Ah"
        out = ""
        if unit.left_out:
            out = (
                f"; {counted(unit.left_out, 'test')} that did not run from full to the end left out"
            )
        tests = counted(len(unit.values_Ah), "test")
        yield f"{about}: {at_least}{told} from {tests}{spread}{out}."
        if claim is not None:
            yield f"{about}: {verdict_text(unit.verdict, claim, confidence)}"


def _product_lines(one: Product, claim: float | None, confidence: float) -> Iterator[str]:
    within = ""
    if one.within_Ah is not None:
        within = f"; from test to test of one unit {number(one.within_Ah, 2)} Ah"
    yield f"Standard deviation from unit to unit {number(one.deviation_Ah, 2)} Ah{within}."
    if claim is not None:
        for verdict in (one.mean, one.next_unit):
            yield f"{sentence(verdict.about)}: {verdict_text(verdict, claim, confidence)}"
    else:
        low = amount(one.next_unit.low, one.next_unit.guard)
        yield f"The next unit like these gives more than {low} ({sure(confidence)})."
    least = one.most_units_Ah
    bound = f"more than {amount(least, one.deviation_Ah)}" if least > 0.0 else "unknown Ah"
    yield (
        f"Nine of ten such units give {bound} ({sure(confidence)}; tolerance limit). Statements "
        "about other units hold only if these were picked at random and Ah spread normally."
    )


def _corrections(answer: CapacityAnswer) -> Section:
    rows = tuple(
        (
            shortened(trial.name, 24),
            one.name,
            f"{one.factor:.4f}",
            f"{one.change_Ah:+.2f}",
            one.text,
        )
        for trial in answer.trials
        for one in trial.corrections
    )
    sources = dict.fromkeys(
        f"{sentence(one.name)}: {one.source}."
        for trial in answer.trials
        for one in trial.corrections
    )
    lines = ("Not part of what was measured; asked for with --correct.", *sources, *alike(answer))
    grid = Grid(("Test", "Correction", "Factor", "Ah", "What"), rows, words=2)
    return Section("Corrections", lines, grid)


def _energy(answer: CapacityAnswer) -> Section:
    confidence = answer.question.confidence
    lines = tuple(
        f"{sentence(called(one))}: {with_reach(one.counted.Wh, confidence)} at a mean of "
        f"{volts(one.counted.mean_V)} ({sure(confidence)}, meter and log alone)."
        for one in answer.trials
    )
    return Section("Energy", lines)


def _budget_section(budget: Budget, title: str, confidence: float) -> Section:
    lines = [one for one in budget.contributions if one.share > 0.0]
    lines.sort(key=lambda one: -one.share)
    rows = [_budget_row(one) for one in lines]
    factor = budget.factor(confidence)
    sums = (
        f"{budget.value:.2f} Ah: combined standard uncertainty {number(budget.combined)} Ah, "
        f"{degrees_text(budget.degrees)} effective degrees of freedom, factor {number(factor)} at "
        f"{sure(confidence)} two-sided, so +- {number(budget.expanded(confidence), 2)} Ah "
        f"({SOURCE})."
    )
    columns = (
        "Contribution", "Type", "Spread", "Where from", "Width", "Standard Ah", "Degrees",
    )  # fmt: skip
    return Section(title, (sums,), Grid(columns, tuple(rows), words=4))


def _budget_row(one: Contribution) -> tuple[str, ...]:
    mark = " (assumed)" if one.assumed and "own choice" not in one.source else ""
    return (
        one.name, one.kind.value, one.shape.value, f"{one.source}{mark}",
        _width(one), number(one.share), degrees_text(one.degrees),
    )  # fmt: skip


def _width(one: Contribution) -> str:
    return f"{whole_or(one.width)} {one.unit}".strip()


def _assumed(answer: CapacityAnswer) -> Section:
    budgets = [answer.measured.budget, *(one.counted.Wh for one in answer.trials)]
    if answer.corrected is not None:
        budgets.append(answer.corrected.budget)
    lines = dict.fromkeys(
        f"{sentence(one.name)}: {_width(one)}, {one.shape.value} ({one.source})."
        for budget in budgets
        for one in budget.contributions
        if one.assumed
    )
    told = tuple(lines) or ("Nothing: every accuracy was given.",)
    return Section("Assumed, because it was not given", told)
