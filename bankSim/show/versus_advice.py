"""Which of two scenarios to choose for what, where the draws tell."""

from dataclasses import dataclass

from bankSim.show.fed_words import MOST
from bankSim.show.paper import in_truth, on_paper
from bankSim.show.study_words import MIDDLE
from bankSim.show.versus_cautions import Topic, higher, topics_of
from bankSim.show.versus_gain import gives_in_vain
from bankSim.show.versus_names import Side
from bankSim.show.versus_numbers import is_slight, more_on_average
from bankSim.show.versus_words import words_of
from bankSim.sim.cautions.cells import BELOW_EMPTY
from bankSim.sim.cautions.fuses import WOULD_BLOW
from bankSim.sim.cautions.unguarded import UNGUARDED
from bankSim.sim.numbers import listing
from bankSim.study.answers import BANK, RUNTIME
from bankSim.study.statistics import Estimate, chance
from bankSim.study.traced import CautionChance
from bankSim.study.versus import CHARGING, UNTIL_OFF, Difference, VersusResult

TO_THE_END = 0.95  # of the cases of both: then hours tell nothing
GENTLE = 0.03  # of the larger of two currents: closer ones are as hard
NEARLY_ALWAYS = 0.9


@dataclass(frozen=True, slots=True)
class Choice:
    """Which side is better in one respect.

    Parameters
    ----------
    what : str
        As in "for hours".
    side : int or None
        None where the draws do not tell.
    rather : bool
        It is not so in nearly all cases.
    open : bool
        No side is better because the draws do not tell, not because there is no difference.
    """

    what: str
    side: int | None
    rather: bool = False
    open: bool = False


def told_differences(result: VersusResult) -> list[Difference]:
    """Return the answers worth telling: no hours that the end of the run decides.

    Hours fed count loads that have cut themselves off as fed, so those until one
    stays off are told.
    """
    charging = max(one.value for one in still_charging(result)) >= MOST
    fed = _both_fed(result) or stays_off(result)
    idle = [*([RUNTIME] if fed else []), *([CHARGING] if charging else [])]
    return [one for one in result.differences if one.answer not in idle]


def _both_fed(result: VersusResult) -> bool:
    return min(one.value for one in result.fed) >= TO_THE_END


def stays_off(result: VersusResult) -> bool:
    """Tell whether loads mostly cut themselves off and stay off: their hours are compared then."""
    return any(one.answer == UNTIL_OFF for one in result.differences)


def still_charging(result: VersusResult) -> tuple[Estimate, Estimate]:
    """Return the chances that charge still flows into either at the end of the run."""
    one, other = (told.happenings.still_charging for told in result.traced)
    return one, other


def advice(result: VersusResult, sides: tuple[Side, Side]) -> list[str]:
    """Say which to choose for what; that the draws do not tell, where none parts them.

    Nothing where no difference matters: that has been said. What is on paper only is not chosen.
    """
    # where both feed their loads to the end, Ah tell what the loads ask for, not which is better;
    # nor do Ah that bring the loads no more energy
    full = _both_fed(result) and not stays_off(result)
    idle = BANK if full or gives_in_vain(result) is not None else None
    more = [_more(one) for one in told_differences(result) if one.answer != idle]
    found = [*more, *_gentler(result)]
    honest = [one for one in found if not _is_in_doubt(one, result)]
    doubts = _no_choice([one for one in found if _is_in_doubt(one, result)], result, sides)
    return [*_choices([*honest, *_safer(result)], result, sides), *doubts]


def _choices(found: list[Choice], result: VersusResult, sides: tuple[Side, Side]) -> list[str]:
    if all(one.side is None for one in found):
        if not found or all(is_slight(one) for one in told_differences(result)):
            return []
        what = " or ".join(one.what for one in found)
        return [f"The draws do not tell them apart in {what}."]
    verdicts: dict[str, list[str]] = {}
    for one in found:
        verdicts.setdefault(_verdict(one, sides), []).append(f"for {one.what}")
    told = "; ".join(f"{listing(what)} {verdict}" for verdict, what in verdicts.items())
    dangers = any(one.worst == "danger" for one in topics_of(result))
    return [f"Which to choose: {told}.{' See to the dangers first.' if dangers else ''}"]


def is_on_paper(result: VersusResult) -> bool:
    """Tell whether Ah and hours of either side are on paper only."""
    return any(_papers(result))


def _papers(result: VersusResult) -> list[list[CautionChance]]:
    """Return of both sides the dangers that let its Ah and hours exist on paper only."""
    return [on_paper(traced.cautions) for traced in result.traced]


def _is_in_doubt(one: Choice, result: VersusResult) -> bool:
    """Tell whether no side is better by numbers that are not on paper only."""
    papers = _papers(result)
    return any(papers) if one.side is None else bool(papers[one.side])


def _no_choice(doubts: list[Choice], result: VersusResult, sides: tuple[Side, Side]) -> list[str]:
    """Say in what nobody is chosen, whose numbers are on paper only, and what ends them."""
    if not doubts:
        return []
    what = listing([f"for {one.what}" for one in doubts])
    told: dict[str, list[str]] = {}
    for side, found in zip(sides, _papers(result), strict=True):
        if found:
            told.setdefault(in_truth(found), []).append(f"with {side.said}")
    parts = [f"on paper only {listing(who)}, {truth}" for truth, who in told.items()]
    return [f"No choice {what}: {'; '.join(parts)}."]


def _verdict(one: Choice, sides: tuple[Side, Side]) -> str:
    if one.side is None:
        return "the draws do not tell" if one.open else "no difference"
    return f"{'rather ' if one.rather else ''}{sides[one.side].said}"


def _more(one: Difference) -> Choice:
    """Choose what gives more (is done sooner), where that matters and mean and chance say so.

    Draws in which both give the same speak for neither.
    """
    place, words = more_on_average(one), words_of(one.answer)
    sure, against = (one.smaller, one.larger) if place == 0 else (one.larger, one.smaller)
    if place is None or is_slight(one) or sure.low <= against.high:
        return Choice(words.noun, None, open=not is_slight(one))
    better = 1 - place if words.less_is_better else place
    return Choice(words.noun, better, sure.value < NEARLY_ALWAYS)


def harder(result: VersusResult) -> int | None:
    """Return the side that works a battery clearly harder while all its batteries are in.

    None, too, where a side has a single battery: that carries everything, as all know.
    """
    counts = [len(draws.plan.scenario.bank.batteries) for draws in (result.one, result.other)]
    bands = (result.hardest.one, result.hardest.other)
    one, other = (band.percentiles[MIDDLE].value for band in bands)
    if min(counts) < 2 or abs(other - one) <= GENTLE * max(one, other):
        return None
    place = 1 if other > one else 0
    return place if more_on_average(result.hardest) == place else None


def _gentler(result: VersusResult) -> list[Choice]:
    place = harder(result)
    return [] if place is None else [Choice("less current from the most loaded battery", 1 - place)]


def _safer(result: VersusResult) -> list[Choice]:
    """Choose what raises dangers less often, where they do not speak for both."""
    found = [one for one in topics_of(result) if one.worst == "danger"]
    worse = {place for one in found if (place := higher(*_as_danger(one, result))) is not None}
    if len(worse) != 1:
        return []
    safer = 1 - worse.pop()
    unsafe = _is_blown(safer, result) or _is_ruined_alone(safer, result)
    return [] if unsafe else [Choice("fewer dangers", safer)]


def _is_blown(place: int, result: VersusResult) -> bool:
    """Tell whether a fuse of this side would blow, so that its other dangers are on paper, too."""
    return any(one.topic == WOULD_BLOW for one in _papers(result)[place])


def _is_ruined_alone(place: int, result: VersusResult) -> bool:
    """Tell whether cells of this side are driven below empty unguarded; the other is guarded.

    The other one then has dangers that come of cutting out in time.
    """
    ruined = any(one.topic == BELOW_EMPTY for one in _papers(result)[place])
    bare = [any(one.topic == UNGUARDED for one in side.cautions) for side in result.traced]
    return ruined and bare[place] and not bare[1 - place]


def _as_danger(one: Topic, result: VersusResult) -> tuple[Estimate, Estimate]:
    """Return both chances; that of a side where it is less than a danger is none."""
    first, second = (
        part if severity == "danger" else chance(0, traced.fan.draws)
        for severity, part, traced in zip(one.severities, one.chances, result.traced, strict=True)
    )
    return first, second
