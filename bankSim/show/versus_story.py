"""Two scenarios side by side, told for somebody who has to choose."""

from collections.abc import Sequence

from bankSim.show.blocks import Section, Story
from bankSim.show.fed_words import off_for_good
from bankSim.show.paper import marked
from bankSim.show.study_words import HIGH, LOW, MIDDLE, SAFETY_OF_CHANCES, of_100
from bankSim.show.unknowns_table import drawn_section
from bankSim.show.versus_advice import (
    advice,
    harder,
    is_on_paper,
    stays_off,
    still_charging,
    told_differences,
)
from bankSim.show.versus_cautions import cautions_section, dangers, warnings
from bankSim.show.versus_gain import in_vain
from bankSim.show.versus_names import Side, sides_of
from bankSim.show.versus_numbers import (
    below,
    decimals_of,
    is_nothing,
    is_slight,
    middle_of_both,
    more_on_average,
    plain,
    reach_of,
    signed,
)
from bankSim.show.versus_sure import how_sure
from bankSim.show.versus_tables import batteries_section, numbers_section
from bankSim.show.versus_unlike import unlike
from bankSim.show.versus_words import words_of
from bankSim.sim.numbers import clean, listing, number, sentence
from bankSim.sim.summary import SAFETY_TEXT
from bankSim.study.answers import CHARGED
from bankSim.study.unknown import Unknown
from bankSim.study.versus import Difference, VersusResult

FED_ON = (
    "Both feed their loads to the end of the run",
    "The loads are fed to the end of the run",
)
CHARGING_ON = (
    "Both still take in charge at the end of the run",
    "Charge still flows in at the end of the run",
)
CAPPED = 0.05  # of the cases: from here on the end of the run hides something


def tell_versus(result: VersusResult, *, briefly: bool = False) -> Story:
    """Turn the result of `study versus` into a headline and sections; briefly for a terminal."""
    sides = sides_of(result)
    sections = [
        _scenarios(result, sides),
        numbers_section(result, sides),
        batteries_section(result, sides),
        cautions_section(result, sides),
        how_sure(result, sides),
        drawn_section(unknowns_of_both(result), briefly=briefly),
        Section("Safety", (SAFETY_OF_CHANCES, SAFETY_TEXT)),
    ]
    told = tuple(section for section in sections if section is not None)
    return Story(f"{sides[0].name} against {sides[1].name}", tuple(versus_headline(result)), told)


def unknowns_of_both(result: VersusResult) -> list[Unknown]:
    """Return what was drawn in either, what is in both once."""
    every = (one for draws in (result.one, result.other) for one in draws.plan.unknowns)
    return list({one.label: one for one in every}.values())


def versus_headline(result: VersusResult) -> list[str]:
    """Say which gives more, by how much, how surely; what to beware of; which to choose."""
    sides = sides_of(result)
    return [
        *_differences(told_differences(result), sides, paper=is_on_paper(result)),
        *in_vain(result, sides),
        *unlike(result),
        *_fed(result, sides),
        *_harder(result, sides),
        *dangers(result, sides),
        *warnings(result, sides),
        *advice(result, sides),
    ]


def _differences(
    answers: Sequence[Difference], sides: tuple[Side, Side], *, paper: bool
) -> list[str]:
    if all(is_slight(one) and not is_nothing(one) for one in answers):
        return [marked(_slight(answers), paper=paper)]
    return [difference_sentence(one, sides, paper=paper) for one in answers]


def _slight(answers: Sequence[Difference]) -> str:
    """Say in one sentence that it makes no difference in some answers."""
    nouns = listing([words_of(one.answer).noun for one in answers])
    bounds = listing(
        [
            f"less than {below(reach_of(one), one)} of about {number(middle_of_both(one))} "
            f"{one.answer.unit}"
            for one in answers
        ]
    )
    return f"For {nouns} it makes no practical difference: in 9 of 10 cases {bounds}."


def difference_sentence(one: Difference, sides: tuple[Side, Side], *, paper: bool) -> str:
    """Say by how much the second side beats the first in one answer, and in how many cases.

    Parameters
    ----------
    one : Difference
    sides : (Side, Side)
    paper : bool
        Ah or hours of a side are on paper only.
    """
    return marked(_difference(one, sides), paper=paper)


def _difference(one: Difference, sides: tuple[Side, Side]) -> str:
    words = words_of(one.answer)
    if is_nothing(one):
        return f"Neither {words.nothing}."
    if is_slight(one):
        return _slight([one])
    gap, (here, there) = one.mean, (side.said for side in sides)
    way, sure = (words.more, one.larger) if gap.value > 0.0 else (words.less, one.smaller)
    if more_on_average(one) is None:
        return (
            f"In {words.noun} the two cannot be told apart on average: in 9 of 10 cases "
            f"{there} differs by {_range(one)}; it {words.does} {way} in {of_100(sure)}."
        )
    mean = plain(abs(gap.value), decimals_of(one))
    until = f"{words.until} " if words.until else ""
    told = sentence(f"{until}{there} {words.does} {mean} {one.answer.unit} {way} than {here}")
    if " to " not in _range(one) and sure.value == 1.0:
        return f"{told} in every draw."
    return f"{told} on average, in 9 of 10 cases {_range(one)}; it is {way} in {of_100(sure)}."


def _range(one: Difference) -> str:
    points = (one.difference.percentiles[place].value for place in (LOW, HIGH))
    low, high = (signed(point, decimals_of(one)) for point in points)
    return f"{low if low == high else f'{low} to {high}'} {one.answer.unit}"


def _fed(result: VersusResult, sides: tuple[Side, Side]) -> list[str]:
    """Say that the run ends before the bank is empty (full), which hides the rest of it.

    Where loads cut themselves off and stay off, say when: a longer run shows no more then.
    """
    charging = result.differences[0].answer.word == CHARGED.word
    if stays_off(result):
        return _off(result, sides)
    ends = still_charging(result) if charging else result.fed
    parts = [one.value for one in ends]
    if max(parts) < CAPPED:
        return []
    end = "with a longer duration_h the difference may be another"
    both, each = CHARGING_ON if charging else FED_ON
    if min(parts) == 1.0:
        return [f"{both} in all cases; {end}."]
    one, other = (
        f"with {side.said} in {of_100(part)}" for side, part in zip(sides, ends, strict=True)
    )
    return [f"{each} {one}, {other}; {end}."]


def _off(result: VersusResult, sides: tuple[Side, Side]) -> list[str]:
    """Say of each side which loads are off for good from when on."""
    told = []
    for side, traced in zip(sides, result.traced, strict=True):
        loads = off_for_good(traced.happenings) or ["no load mostly cuts itself off and stays off"]
        told.append(f"With {side.said} {listing(loads)}.")
    return told


def _harder(result: VersusResult, sides: tuple[Side, Side]) -> list[str]:
    """Say which works a battery harder while all are in, when it is worth a sentence."""
    place = harder(result)
    if place is None:
        return []
    bands = (result.hardest.one, result.hardest.other)
    most, least = (number(bands[side].percentiles[MIDDLE].value) for side in (place, 1 - place))
    return [
        sentence(
            f"{sides[place].said} works its most loaded battery harder: {most} A at most against "
            f"{least} A before the first cut-out (medians of {bands[0].count} draws)."
        )
    ]


def _scenarios(result: VersusResult, sides: tuple[Side, Side]) -> Section:
    scenarios = (draws.plan.scenario for draws in (result.one, result.other))
    lines = [
        f"{side.name}: {clean(scenario.title)} ({clean(scenario.file)})"
        for side, scenario in zip(sides, scenarios, strict=True)
    ]
    return Section("Which is which", tuple(lines))
