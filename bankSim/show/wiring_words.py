"""A wiring drawing in sentences, for those who do not see it."""

from bankSim.model.bank import Bank, Layout
from bankSim.scenario.keys import ScenarioKeys
from bankSim.show.wiring_facts import Cable, Facts, Source, User, wiring_facts
from bankSim.show.words import counted
from bankSim.sim.numbers import listing, quoted, sentence

ROWS = {
    Layout.SAME_END: "plus and minus are both taken off at the first",
    Layout.OPPOSITE_ENDS: "plus is taken off at the first, minus at the last",
}


def wiring_words(bank: Bank, *, keys: ScenarioKeys | None = None) -> list[str]:
    """Tell batteries, leads, layout, main conductors, loads and chargers.

    Parameters
    ----------
    bank : Bank
    keys : ScenarioKeys, optional
        What the file says; lengths of cables are nowhere else.
    """
    return words_of(wiring_facts(bank, keys))


def words_of(facts: Facts) -> list[str]:
    """Tell everything that is drawn, a sentence each."""
    return [
        _layout(facts),
        *(_source(source) for source in facts.sources),
        f"The main conductors have {_cable(facts.main)}, plus and minus together.",
        _users(facts.loads, "load"),
        _users(facts.chargers, "charger"),
    ]


def _layout(facts: Facts) -> str:
    count = len(facts.sources)
    if count == 1:
        return "One battery."
    batteries = f"{counted(count, 'battery', 'batteries')} in parallel"
    if facts.link is None:
        return f"{batteries} on common bars ({facts.arrangement})."
    taken = ROWS[facts.layout]
    links = f"each link on each rail has {_cable(facts.link)}"
    return f"{batteries} in a row ({facts.arrangement}): {taken}; {links}."


def _source(source: Source) -> str:
    what = [source.chemistry, source.series, source.label, source.holds]
    told = ", ".join(part for part in what if part)
    return f"{quoted(source.name)}: {told}; its lead has {_cable(source.lead)}."


def _cable(cable: Cable) -> str:
    beside = ", ".join(cable.parts[1:])
    return f"{cable.resistance} ({beside})" if beside else cable.resistance


def _users(users: tuple[User, ...], word: str) -> str:
    if not users:
        return f"There is no {word}."
    told = listing([f"{quoted(user.name)} ({user.size})" for user in users])
    return sentence(f"{word if len(users) == 1 else word + 's'}: {told}.")
