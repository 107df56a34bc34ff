"""Charge voltages that a battery does not accept, chemistries that do not mix, and the cold."""

from collections.abc import Iterator

from bankSim.model.bank import Bank
from bankSim.model.battery import Battery
from bankSim.model.charger import Charger
from bankSim.model.chemistry import chemistry_of
from bankSim.model.rule import Blocks, Watch
from bankSim.sim.cautions.charged_cold import of_charged_cold
from bankSim.sim.numbers import listing, named, number, quoted
from bankSim.sim.result import Caution, Result

CLOSE_V = 0.005  # of a charger's setting
AT_V = 0.001  # of the voltage at which a rule blocks charge
AT_THE_EDGE = " as soon as the cells differ a little"
# So much above the usual, a cell, lead-acid only ages faster, or is equalised: own choice. [V]
LEAD_MUCH_V = {"AGM": 0.05, "gel": 0.05, "flooded": 0.25}


def of_charging(result: Result) -> Iterator[Caution]:
    """Warn of too high a charge voltage, of mixed chemistries, and of charging in the cold."""
    bank = result.scenario.bank
    if bank.chargers:
        highest = max(bank.chargers, key=lambda one: one.highest_hold_V)
        yield from _of_chemistry(bank, highest)
        yield from _of_own_stops(bank, highest)
    for number_of in range(len(bank.batteries)):
        yield from of_charged_cold(result, number_of)
    yield from _of_mixture(bank)


def _above(bank: Bank, limit_V: float) -> str:
    """Name all chargers that hold more than that."""
    return named([charger.name for charger in bank.chargers if charger.highest_hold_V >= limit_V])


def _of_chemistry(bank: Bank, charger: Charger) -> Iterator[Caution]:
    """Hold the highest voltage of any charger against what the chemistries accept."""
    hold_V, kinds = charger.highest_hold_V, _too_high(bank, charger)
    if not kinds:
        return
    accepted = [
        f"{number(most_V, 4)} V by {named(names)} ({word}, {cells} cells)"
        for (most_V, word, cells), names in kinds.items()
    ]
    limit_V = min(most_V for most_V, _, _ in kinds)
    lead_only = all(word in LEAD_MUCH_V for _, word, _ in kinds)
    mild = lead_only and all(
        hold_V <= most_V + LEAD_MUCH_V[word] * cells for most_V, word, cells in kinds
    )
    advice = f"Set {_above(bank, limit_V + CLOSE_V)} to at most {number(limit_V, 4)} V."
    if any(word == "flooded" for _, word, _ in kinds):
        advice += (
            " Equalise a flooded battery by itself, as its maker says, with the loads off and "
            "fresh air."
        )
    yield Caution(
        "charge voltage too high",
        "warning" if mild else "danger",
        hold_V,
        limit_V,
        "V",
        f"{quoted(charger.name)} holds up to {number(hold_V, 4)} V; usually accepted are "
        f"{listing(accepted)}.",
        advice,
    )


def _too_high(bank: Bank, charger: Charger) -> dict[tuple[float, str, int], list[str]]:
    """Names of the batteries for which a charger holds too much, by limit [V], word and cells."""
    kinds: dict[tuple[float, str, int], list[str]] = {}
    for battery in bank.batteries:
        chemistry, cells = chemistry_of(battery.chemistry), len(battery.cells)
        if chemistry is None:
            continue
        most_V = chemistry.highest_charge_V * cells
        if charger.highest_hold_V > most_V + CLOSE_V:
            kinds.setdefault((most_V, chemistry.word, cells), []).append(battery.name)
    return kinds


def _of_own_stops(bank: Bank, charger: Charger) -> Iterator[Caution]:
    """Hold the highest voltage of any charger against the rules that block charge."""
    hold_V = charger.highest_hold_V
    told = {name for names in _too_high(bank, charger).values() for name in names}
    below: dict[float, list[str]] = {}
    for battery in bank.batteries:
        stop_V = stops_charge_V(battery)
        if stop_V is not None and hold_V >= stop_V - AT_V and battery.name not in told:
            below.setdefault(stop_V, []).append(battery.name)
    if not below:
        return
    lowest_V = min(below)
    blocks = [
        f"{named(names)} {'blocks' if len(names) == 1 else 'block'} charge at "
        f"{number(stop_V, 4)} V" + (AT_THE_EDGE if hold_V < stop_V + AT_V else "")
        for stop_V, names in sorted(below.items())
    ]
    yield Caution(
        "charge voltage above a cut-out",
        "warning",
        hold_V,
        lowest_V,
        "V",
        f"{quoted(charger.name)} holds up to {number(hold_V, 4)} V; {', '.join(blocks)} (sum of "
        "even cells). A battery that blocks its charge sits out and may come back later with a "
        "surge.",
        f"Set {_above(bank, lowest_V - AT_V)} below {number(lowest_V, 4)} V.",
    )


def stops_charge_V(battery: Battery) -> float | None:  # noqa: N802 - the unit as printed
    """Return the lowest battery voltage at which a rule blocks charge, cells even. [V]"""
    cells = {Watch.HIGHEST_CELL: len(battery.cells), Watch.BATTERY_VOLTAGE: 1}
    stops = [
        rule.threshold * cells[rule.watches]
        for rule in battery.rules
        if rule.watches in cells and not rule.below and rule.blocks & Blocks.CHARGE
    ]
    return min(stops, default=None)


def _of_mixture(bank: Bank) -> Iterator[Caution]:
    """Chemistries that should not share a bank, least of all on one charger."""
    words = sorted({battery.chemistry for battery in bank.batteries if battery.chemistry})
    if len(words) < 2:
        return
    kinds = [chemistry_of(word) for word in words]
    lithium = {kind.is_lithium for kind in kinds if kind is not None}
    topic = "lithium beside lead-acid" if len(lithium) > 1 else "different chemistries in parallel"
    text = f"{listing(words)} are wired in parallel"
    if bank.chargers:
        text += f" on {named([charger.name for charger in bank.chargers])}"
    text += (
        ": each wants its own charge voltages and stages, and what suits one wears out or "
        "endangers the other."
    )
    if len(lithium) > 1:
        text += (
            " The lithium does nearly all the work first, keeps the lead-acid at its float voltage "
            "or, once empty, leaves it to carry the load alone."
        )
    yield Caution(
        topic,
        "warning",
        None,
        None,
        "",
        text,
        "Ask both makers; most do not allow it. Couple the two through a converter made for that, "
        "each with its own charge settings.",
    )
