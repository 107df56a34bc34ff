"""What would explain a difference between prediction and test, and how one would know."""

from collections.abc import Sequence

from bankSim.measured.compare_found import Comparison
from bankSim.measured.compare_moves import ABSURD_SD, Explained, Explanation, Move
from bankSim.show.blocks import Grid, Section
from bankSim.show.compare_words import (
    VERY_FAR_SD,
    amount_words,
    explanation_words,
    far_words,
    move_words,
    plausible_words,
    removed_words,
    to_measure,
    what_words,
)
from bankSim.sim.numbers import listing, sentence
from bankSim.study.unknown import Kind

MOST_TOLD = 6
MOSTLY = 0.9  # of the difference: less leaves several things to differ
FAR_SD = 4.0
AS_WELL = 0.05  # of the difference: what removes so little less does as well
BY_FAR, MOST_OF_IT = 0.1, 0.5  # of the difference: what removes so much is told though unlikely


def best_words(found: Comparison) -> list[str]:
    """Say what would explain it, and what else would as well."""
    explained = found.explained
    if not explained.matters:
        return ["What is left between both is no more than meters and the model leave anyway."]
    believed = [one for one in explained.ranked if not one.absurd]
    pairs = [one for one in explained.pairs if not one.absurd]
    if not explained.ranked or not (believed or pairs):
        none = "No single value within its plausible range removes a tenth of the difference."
        return [none, *_beyond(explained)]
    beyond = _beyond(explained)
    if beyond and believed and believed[0].farthest > VERY_FAR_SD:
        believed = []  # hardly better than what is beyond its spread, and removes far less
    twins = _twins(found, believed[0]) if believed else []
    told = _either(found, believed[0], twins) if twins else []
    if believed and not twins:
        told = _believed(explained, believed)
    if twins:
        pairs = [one for one in pairs if one.removed > believed[0].removed + AS_WELL]
    if pairs:
        pair = pairs[0]
        told.append(f"Two together do better: {explanation_words(pair)}: {plausible_words(pair)}.")
    told += beyond
    best = believed[:1] + pairs
    if not best or max(one.removed for one in best) < MOSTLY or best[0].farthest > FAR_SD:
        told.append(
            "So much rarely has one cause: test each battery alone (capacity, resistance), put "
            "what was measured into the scenario, and compare again."
        )
    return told


def _believed(explained: Explained, believed: Sequence[Explanation]) -> list[str]:
    """Tell the best of the plausible explanations, and those that do as well."""
    first = believed[0]
    told = [f"{sentence(explanation_words(first))}: {plausible_words(first)}."]
    alike = [explained.ranked[place] for place in explained.alike]
    others = [one for one in alike[1:] if not one.absurd]
    if others and alike[0] is first:
        names = listing([what_words(one.moves[0]) for one in others], 3)
        told.append(
            f"The test cannot tell this from {names}: each explains about as much. See below which "
            "measurement would."
        )
    farther = _as_well(explained, first, alike)
    if farther:
        names = listing([what_words(one.moves[0]) for one in farther], 3)
        told.append(f"Moved further, the {names} would do as well.")
    return told


def _twins(found: Comparison, first: Explanation) -> list[Explanation]:
    """Return the same of other batteries that removes as much, and is too far by its sd only.

    Nobody measured that sd where the file gives a value exactly; and where the first is beyond the
    usual itself, a little farther says nothing.
    """
    exact = {one.label for one in found.exact}
    kind, more = first.moves[0].kind, first.moves[0].after > first.moves[0].before
    return [
        one for one in found.explained.ranked
        if one is not first and one.absurd and len(one.moves) == 1
        and one.moves[0].kind is kind and (one.moves[0].after > one.moves[0].before) == more
        and one.removed > first.removed - AS_WELL
        and (one.moves[0].label in exact or first.farthest > VERY_FAR_SD)
    ]  # fmt: skip


def _either(found: Comparison, first: Explanation, twins: Sequence[Explanation]) -> list[str]:
    """Tell of causes that a log cannot part, without a word for one of them."""
    ways = " or ".join(move_words(one.moves[0]) for one in (first, *twins))
    both = "both" if len(twins) == 1 else "all"
    told = [
        f"Either {ways}: each removes about {removed_words(first)} of the difference, and this log "
        f"cannot tell which of them; test {both}."
    ]
    exact = {one.label for one in found.exact}
    given = [what_words(m) for one in (first, *twins) for m in one.moves if m.label in exact]
    if given:
        told.append(f"The file gives the {listing(given)} exactly, so its sd is our own choice.")
    return told


def _first_believed(explained: Explained) -> Explanation | None:
    return next((one for one in explained.ranked if not one.absurd), None)


def _as_well(
    explained: Explained, first: Explanation, alike: Sequence[Explanation]
) -> list[Explanation]:
    """Return the same of other batteries where it removes as much, though moved further."""
    kinds = {move.kind for move in first.moves}
    return [
        one for one in explained.ranked
        if one not in alike and one is not first and not one.absurd
        and {move.kind for move in one.moves} == kinds
        and one.removed > first.removed - AS_WELL
    ]  # fmt: skip


def _beyond(explained: Explained) -> list[str]:
    """Tell of what removes far more than all that is plausible: was it never measured?"""
    unlikely = _unlikely(explained)
    if not unlikely:
        return []
    first, others = unlikely[0], unlikely[1:]
    known = to_measure(first.moves[0])
    told = (
        f"{sentence(explanation_words(first))}: more than the spread of that value allows, but so "
        "it is if the value was only taken from a label or a guess."
    )
    if others:
        names = listing([what_words(one.moves[0]) for one in others], 3)
        told += f" The {names} would do as well: which it is, this test does not show."
        known = "; ".join(to_measure(one.moves[0]) for one in unlikely)
    return [f"{told} To know: {known}."]


def _unlikely(explained: Explained) -> list[Explanation]:
    """Return the first explanation, and its like, where it is beyond its spread and does best.

    Only less capacity and more resistance: of age a label says nothing, so that the typical spread
    may be far too narrow.
    """
    first = explained.ranked[0] if explained.ranked else None
    if first is None or not _is_age(first.moves[0]):
        return []
    best = max((one.removed for one in explained.ranked if not one.absurd), default=0.0)
    if not first.absurd or first.removed <= max(best + BY_FAR, MOST_OF_IT):
        return []
    return [
        one for one in explained.ranked
        if one is first or (_is_age(one.moves[0]) and one.removed > first.removed - AS_WELL)
    ]  # fmt: skip


def _is_age(move: Move) -> bool:
    more = move.after > move.before
    return (move.kind is Kind.CAPACITY and not more) or (move.kind is Kind.RESISTANCE and more)


def explanations(found: Comparison) -> Section | None:
    """Rank what would explain the difference in a table."""
    explained = found.explained
    if not explained.ranked or not explained.matters:
        return None
    pairs = [one for one in explained.pairs if not one.absurd]
    few = [*explained.ranked[:MOST_TOLD], *pairs[:1]]
    first = _first_believed(explained)
    twins = [] if first is None else _twins(found, first)
    rows = tuple(
        (
            str(place) if place <= len(explained.ranked[:MOST_TOLD]) else "pair",
            " + ".join(what_words(move) for move in one.moves),
            " / ".join(amount_words(move) for move in one.moves),
            " / ".join(far_words(move).partition(" sd")[0] for move in one.moves),
            removed_words(one),
            f"as much as {what_words(first.moves[0])}"
            if first and one in twins
            else plausible_words(one),
        )
        for place, one in enumerate(few, 1)
    )
    lines = [
        f"Each of {explained.tried} values was moved alone; the best {len(explained.ranked)} were "
        "run again where they would have to be. First is what removes most with the smallest move "
        "in standard deviations (sd). One cell stands for any of its battery.",
    ]
    if any(one.absurd for one in few):
        lines.append(
            f"What must be moved by {ABSURD_SD:.0f} sd or more explains nothing, unless that value "
            "was never measured and its spread is too narrow."
        )
    exact = {one.label for one in found.exact}
    told = [what_words(m) for one in few for m in one.moves if m.label in exact]
    if told:
        told = list(dict.fromkeys(told))
        lines.append(
            f"The file gives exactly: {listing(told)}. A usual spread was taken to count sd; it "
            "is our own choice and listed in summary.json."
        )
    columns = ("Rank", "What", "Moved by", "sd", "Removes", "Believable?")
    return Section("What would explain the difference", tuple(lines), Grid(columns, rows, words=3))


def telling_apart(found: Comparison) -> Section | None:
    """Say which measurement would tell equal explanations apart."""
    explained = found.explained
    if not explained.matters or not explained.ranked:
        return None
    chosen = [explained.ranked[place] for place in explained.alike[:MOST_TOLD]]
    chosen = [one for one in (*chosen, *explained.pairs[:1]) if not one.absurd]
    first = _first_believed(explained)
    twins = [] if first is None else _twins(found, first)
    chosen += _unlikely(explained) + twins
    if not chosen:
        return None
    lines = dict.fromkeys(
        f"{sentence(what_words(move))}: {to_measure(move)}." for one in chosen for move in one.moves
    )
    several = len(explained.alike) > 1 or bool(twins)
    title = "Which measurement would tell them apart" if several else "What would confirm it"
    return Section(title, tuple(lines))
