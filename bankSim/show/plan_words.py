"""What a careful tester does before and after, by kind of battery, with sources."""

from dataclasses import dataclass

from bankSim.model.battery import Battery
from bankSim.model.chemistry import is_lead
from bankSim.model.rule import Blocks, Watch
from bankSim.study.bench_scenario import END_AFTER_S, LEAD_END_V


@dataclass(frozen=True, slots=True)
class Charging:
    """When a battery counts as full.

    Parameters
    ----------
    hold_V : float
        Of a cell. [V]
    tail : float
        Current over rated Ah at which it ends. [1/h]
    hours : float
        Held at least so long. [h]
    source : str
    """

    hold_V: float
    tail: float
    hours: float
    source: str


_RECALLED = "common practice, from memory; what the battery maker writes goes first"
CHARGING = {
    "LFP": Charging(3.55, 0.05, 0.5, _RECALLED),
    "NMC": Charging(4.15, 0.05, 0.5, _RECALLED),
    "AGM": Charging(2.40, 0.005, 4.0, _RECALLED),
    "gel": Charging(2.35, 0.005, 4.0, _RECALLED),
    "flooded": Charging(2.42, 0.01, 4.0, _RECALLED),
}
LEAST_REST_H = {True: 4.0, False: 1.0}  # lead-acid, others; common practice, from memory


def least_rest_h(chemistry: str | None) -> float:
    """Return how long a battery is left alone after its charge at least. [h]"""
    return LEAST_REST_H[is_lead(chemistry)]


def end_words(battery: Battery) -> str:
    """Say which limit ends the test."""
    if is_lead(battery.chemistry):
        usual = (
            f"at {LEAD_END_V} V a cell ({LEAD_END_V * len(battery.cells):.4g} V of this battery)"
        )
        where = (
            f"{usual}, as is usual for lead-acid;"
            if _by_hand(battery)
            else f"where its protection stops it, or {usual} if that comes first;"
        )
        return (
            f"The test ends {where} never go below, and charge the same day: a flat lead-acid "
            "battery sulphates."
        )
    return (
        "The test ends when the battery's own electronics cut out by the lowest cell, or at the "
        "maker's lowest voltage if that comes first. Never bridge the electronics for a lower end, "
        "and do not repeat a cut-out again and again to squeeze out more."
    )


def watch_words(battery: Battery) -> str:
    """Say why somebody must be there."""
    if is_lead(battery.chemistry):
        why = (
            "a lead-acid battery has no electronics that stop the load; somebody must."
            if _by_hand(battery)
            else "where its protection fails, somebody must take the load off."
        )
        return (
            f"Be there at the end: {why} Air the room; the charge before and after gives off gas "
            "that explodes."
        )
    return (
        "Do not leave a lithium test alone near its cut-out: the cells are at their lowest, and "
        "their voltages at that instant are what you came for."
    )


@dataclass(frozen=True, slots=True)
class End:
    """How the end of a test is spoken of: a cut-out, or a voltage at which somebody stops.

    Parameters
    ----------
    comes : str
        What the battery will do, before "after about 20 h".
    stays_out : str
        That it does not, before "within 240 h".
    event : str
        "cut-out" or "end".
    to_do : str
        What the tester does then; "" where the battery stops by itself.
    """

    comes: str
    stays_out: str
    event: str
    to_do: str


def end_of(battery: Battery) -> End:
    """Return the words for the end of a test of this battery."""
    if not is_lead(battery.chemistry):
        return End("will cut out", "it does not cut out", "cut-out", "")
    lowest_V = _lowest_V(battery)
    if lowest_V is None:
        return End("will be stopped by its protection", "it is not stopped", "end", "")
    usual = _by_hand(battery)
    at = f"{lowest_V[0]:.4g} V"
    who = "where you stop it by hand," if usual else "where its protection stops it,"
    to_do = (
        f"[ ] Take the load off by hand at {at}; better, let a low-voltage cut-off do it there: a "
        "test that goes on alone ruins the battery."
        if usual
        else ""
    )
    return End(f"will reach {at}, {who}", f"it does not reach {at}", "end", to_do)


def _by_hand(battery: Battery) -> bool:
    """Tell whether nothing but the tester ends the test: the rule then stands for the tester."""
    return _lowest_V(battery) == (LEAD_END_V * len(battery.cells), END_AFTER_S)


def _lowest_V(battery: Battery) -> tuple[float, float] | None:  # noqa: N802 - the unit
    """Return voltage and delay of the rule that stops a discharge by the battery's voltage."""
    found = [
        (rule.threshold, rule.delay_s)
        for rule in battery.rules
        if rule.watches is Watch.BATTERY_VOLTAGE and rule.below and rule.blocks & Blocks.DISCHARGE
    ]
    return max(found, default=None)
