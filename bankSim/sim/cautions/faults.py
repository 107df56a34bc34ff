"""Short circuits: what the batteries feed into a fault, and what stops it."""

from collections.abc import Iterator, Sequence

from bankSim.model.bank import Bank
from bankSim.model.battery import Battery
from bankSim.model.cables import BREAKING_A, fuse_ohm
from bankSim.model.cell import REFERENCE_K
from bankSim.sim.at_rest import FULL, instant_ohm, rest_voltage
from bankSim.sim.numbers import named, rough
from bankSim.sim.result import Caution, Result

# Below this a fault is hot but breaks with any fuse and does not vaporise copper; own choice.
SMALL_FAULT_A = 200.0
MORE = 1.02  # of another fault, before both are told; own choice
VEHICLE_FUSE_V = 32.0  # that blade and strip fuses are often rated for (common practice, no source)
LEAST_OHM = 1e-5  # of a branch, so that a bank without resistances gives a number


def of_faults(result: Result) -> Iterator[Caution]:
    """Warn of batteries without a fuse, and of faults beyond what usual fuses break."""
    bank = result.scenario.bank
    hidden = [one.name for one in bank.batteries if _inside_ohm(one) < LEAST_OHM]
    if hidden:
        yield from _untold(bank, hidden)
        return
    faults = [fault_A(bank, number_of) for number_of in range(len(bank.batteries))]
    yield from _missing(bank, faults)
    yield from _beyond_breaking(bank, faults)


def _inside_ohm(battery: Battery) -> float:
    """Resistance up to its terminal, full and at 25 degC. [ohm]"""
    return instant_ohm(battery, REFERENCE_K, FULL) - battery.lead_ohm


def _untold(bank: Bank, hidden: list[str]) -> Iterator[Caution]:
    """Warn of shorts without a number, where a battery is given without any resistance inside."""
    why = (
        f"cannot be told: no resistance inside {named(hidden)} is given. Take it for thousands of "
        "amperes."
    )
    bare = [battery.name for battery in bank.batteries if battery.fuse_A is None]
    if bare and not (len(bank.batteries) == 1 and bank.wiring.main_fuse_A is not None):
        yield Caution(
            "no fuse at a battery",
            "warning",
            None,
            None,
            "A",
            f"No fuse is given for {named(bare)}. What a short at a terminal can draw {why}",
            "Put a fuse at every battery's own terminal, rated for its cable and able to break "
            "that current, and write it into the file: lead = { ..., fuse_A = ... }.",
        )
    else:
        yield Caution(
            "short circuit beyond a fuse",
            "note",
            None,
            None,
            "A",
            f"What the fuses may have to break at a short {why}",
            "Choose the kind of fuse by the breaking capacity that its maker states for direct "
            "current at the bank's voltage.",
        )


def fault_A(bank: Bank, number_of: int) -> float:  # noqa: N802 - the unit as printed
    """Return the most current that the fuse of a battery may have to break. [A]

    The fuse sits at the battery's own terminal, so the larger of what the battery feeds through it
    into a fault just behind it, no lead in between, and what all others feed through every lead
    into a fault at that terminal: full, at 25 degC, before any electronics act, links left out.

    Parameters
    ----------
    bank : Bank
    number_of : int
        Place of the battery, from 0.

    Source
    ------
    docs/theory.md, eq. 17.6.
    """
    own = bank.batteries[number_of]
    others = [one for place, one in enumerate(bank.batteries) if place != number_of]
    return max(_into(others, own.lead_ohm), _through_its_own(own))


def short_at_terminal_A(bank: Bank, number_of: int) -> float:  # noqa: N802 - the unit as printed
    """Return what a short at the bare terminals of a battery draws, from both sides. [A]

    Its own and that of all others through every lead add up (superposition: the fault holds the
    terminals at 0 V); what a fuse there sees is one side only, see `fault_A`. As there: full, at
    25 degC, before any electronics act, links left out.

    Parameters
    ----------
    bank : Bank
    number_of : int
        Place of the battery, from 0.

    Source
    ------
    docs/theory.md, eq. 17.8.
    """
    own = bank.batteries[number_of]
    others = [one for place, one in enumerate(bank.batteries) if place != number_of]
    own_A = rest_voltage(own, FULL) / max(_inside_ohm(own), LEAST_OHM)
    return own_A + _into(others, own.lead_ohm)


def _through_its_own(battery: Battery) -> float:
    """Current of a battery into a fault just behind the fuse at its terminal. [A]"""
    in_fuse_ohm = 0.0
    if battery.fuse_A is not None:  # a lead may be given as less than its fuse usually has
        in_fuse_ohm = min(fuse_ohm(battery.fuse_A), battery.lead_ohm)
    return rest_voltage(battery, FULL) / max(_inside_ohm(battery) + in_fuse_ohm, LEAST_OHM)


def _into(feeding: Sequence[Battery], fault_ohm: float) -> float:
    """Current of batteries in parallel, each with its lead, into a fault behind a resistance. [A]

    Source: docs/theory.md, eq. 17.7.
    """
    if not feeding:
        return 0.0
    ohms = [max(instant_ohm(one, REFERENCE_K, FULL), LEAST_OHM) for one in feeding]
    volts = [rest_voltage(one, FULL) for one in feeding]
    siemens = sum(1.0 / ohm for ohm in ohms)
    emf = sum(volt / ohm for volt, ohm in zip(volts, ohms, strict=True)) / siemens
    return emf / (1.0 / siemens + fault_ohm)


def _missing(bank: Bank, faults: list[float]) -> Iterator[Caution]:
    bare = [k for k, battery in enumerate(bank.batteries) if battery.fuse_A is None]
    if not bare or (len(bank.batteries) == 1 and bank.wiring.main_fuse_A is not None):
        return
    most_A = max(short_at_terminal_A(bank, k) for k in bare)
    on_bars_A = _into(bank.batteries, 0.0)
    worst_A = max(most_A, on_bars_A)
    lone = len(bank.batteries) == 1
    text = f"No fuse is given for {named([bank.batteries[k].name for k in bare])}. A short at "
    text += f"a terminal can draw about {rough(most_A, 'A')}"
    text += "" if lone else ", from the battery itself and from the others through their leads"
    if on_bars_A > MORE * most_A:
        text += f"; one where their leads meet, about {rough(on_bars_A, 'A')}"
    breaks_A = max(faults[k] for k in bare)
    yield Caution(
        "no fuse at a battery",
        "warning" if worst_A > SMALL_FAULT_A else "note",
        worst_A,
        None,
        "A",
        f"{text}.",
        "Put a fuse at every battery's own terminal, rated for its cable and able to break about "
        f"{rough(breaks_A, 'A')}{'' if lone else ' (it sees one side of a fault at most)'}, and "
        "write it into the file: lead = { ..., fuse_A = ... }.",
    )


def _beyond_breaking(bank: Bank, faults: list[float]) -> Iterator[Caution]:
    """Tell of the fault currents behind the batteries' fuses, and behind the main fuse."""
    behind = [
        (faults[k], battery.name)
        for k, battery in enumerate(bank.batteries)
        if battery.fuse_A is not None
    ]
    if behind:
        most_A = max(amps for amps, _ in behind)
        names = [name for amps, name in behind if _too_weak(amps)]
        yield from _beyond(
            bank,
            f"The fuse{'' if len(names) == 1 else 's'} of {named(names)}",
            f"at a short right beside {'it' if len(names) == 1 else 'them'}",
            most_A,
        )
    if bank.wiring.main_fuse_A is not None:
        most_A = _into(bank.batteries, 0.0)
        yield from _beyond(bank, "The main fuse", "when the main lead is shorted", most_A)


def _too_weak(most_A: float) -> list[tuple[str, float]]:
    """Kinds of fuses that usually do not break a current, the strongest last."""
    return [(kind, amps) for kind, amps in BREAKING_A.items() if amps < most_A]


def _beyond(bank: Bank, who: str, where: str, most_A: float) -> Iterator[Caution]:
    weak = _too_weak(most_A)
    if not weak:
        return
    able = [f"{kind} ({rough(amps, 'A')})" for kind, amps in BREAKING_A.items() if amps >= most_A]
    strip_A = BREAKING_A["bolt-down strip fuses (ISO 8820-5)"]
    severity = "danger" if not able else "warning" if most_A > strip_A else "note"
    kind, limit_A = weak[-1]
    enough = f"{able[0]} more" if able else "industrial fuses are called for"
    yield Caution(
        "short circuit beyond a fuse",
        severity,
        most_A,
        limit_A,
        "A",
        f"{who} may have to break up to about {rough(most_A, 'A')} {where}; {kind} "
        f"usually break {rough(limit_A, 'A')} at most, {enough} (typical figures, from memory).",
        "Choose the kind of fuse by the breaking capacity that its maker states for direct "
        f"current at the bank's voltage{_rated(bank)}.",
    )


def _rated(bank: Bank) -> str:
    """Add that a usual fuse for vehicles may not even be rated for so high a voltage."""
    if max(rest_voltage(one, FULL) for one in bank.batteries) <= VEHICLE_FUSE_V:
        return ""
    return f": many fuses for vehicles are rated for {VEHICLE_FUSE_V:.0f} V only"
