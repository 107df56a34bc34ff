"""All that can be moved of a bank: batteries, loads, chargers, wiring, temperature."""

from collections.abc import Iterator

from bankSim.model.bank import Layout
from bankSim.model.rule import Watch
from bankSim.scenario.keys import ChargerKeys, LoadKeys, ScenarioKeys, SwingKeys
from bankSim.scenario.keys_battery import CableKeys
from bankSim.scenario.lines import Path
from bankSim.scenario.record import Scenario
from bankSim.screens.what_if.battery_knobs import battery_knobs
from bankSim.screens.what_if.knob import DIVIDE, SCALE, Knob, Move, copper_knob, knob
from bankSim.screens.what_if.rule_knobs import rule_knobs

MOST_LOADS = 8  # with a slider of their own
UNITS = {"power_W": "W", "current_A": "A", "resistance_ohm": "Ω"}
CHARGER_UNITS = {"limit_A": "A", "limit_W": "W", "peak_W": "W"}
MOST = 10_000_000.0


def knobs_of(scenario: Scenario) -> dict[str, Knob]:
    """Return every slider that makes sense for a scenario, by its word.

    Parameters
    ----------
    scenario : Scenario
        Its keys tell what is written, its bank what the solver uses.
    """
    bank, keys = scenario.bank, written(scenario)
    alone = len(bank.batteries) == 1
    found: list[Knob] = []
    for place, battery in enumerate(bank.batteries):
        found += battery_knobs(keys.battery[place], battery, place, alone)
        found += rule_knobs(keys.battery[place], battery, place)
    found += _loads(scenario)
    found += _chargers(scenario)
    found += _temperature(scenario)
    found += _wiring(scenario)
    return {one.key: one for one in found}


def written(scenario: Scenario) -> ScenarioKeys:
    """Return the keys of a scenario that was read from a text."""
    assert scenario.keys is not None
    return scenario.keys


def _loads(scenario: Scenario) -> Iterator[Knob]:
    """Yield one for each load, and one for all where there are several."""
    sized = [(n, one) for n, one in enumerate(written(scenario).load) if _amount(one) is not None]
    names = [load.name for load in scenario.bank.loads]
    for number, load in sized[:MOST_LOADS]:
        key = _amount(load)
        assert key is not None
        yield _sized(
            f"load/{number}",
            "Load size, {}",
            UNITS[key],
            float(getattr(load, key)),
            ("load", number, key),
            main=len(sized) == 1,
            name=names[number],
        )
    if len(sized) > 1:
        rest = " Loads that follow a table stay." if len(sized) < len(names) else ""
        yield knob(
            "loads",
            "All loads",
            "% of now",
            100.0,
            (20.0, 300.0, 5.0),
            help=f"Every load larger or smaller in the same proportion.{rest}",
            moves=[_scaled(number, load) for number, load in sized],
            main=True,
            rank=1,
        )


def _amount(load: LoadKeys) -> str | None:
    """Return the key that says how large a load is; None where a table does."""
    return next((key for key in UNITS if getattr(load, key) is not None), None)


def _scaled(number: int, load: LoadKeys) -> Move:
    key = _amount(load)
    assert key is not None
    form = DIVIDE if key == "resistance_ohm" else SCALE
    return Move(("load", number, key), float(getattr(load, key)), form, 1.0, 0.0, MOST)


def _chargers(scenario: Scenario) -> Iterator[Knob]:
    main = not written(scenario).load
    for number, charger in enumerate(written(scenario).charger[:MOST_LOADS]):
        path, key = _limit(charger, number)
        value = float(charger.sun.peak_W if charger.sun else getattr(charger, key))
        label = "Peak of {} at the height of the day" if charger.sun else "Limit of {}"
        yield _sized(
            f"charger/{number}",
            label,
            CHARGER_UNITS[key],
            value,
            path,
            main=main,
            name=scenario.bank.chargers[number].name,
        )


def _limit(charger: ChargerKeys, number: int) -> tuple[Path, str]:
    if charger.sun is not None:
        return ("charger", number, "sun", "peak_W"), "peak_W"
    key = "limit_A" if charger.limit_A is not None else "limit_W"
    return ("charger", number, key), key


def _sized(
    key: str, label: str, unit: str, value: float, path: Path, *, main: bool, name: str
) -> Knob:
    """Return the slider of a load or charger, from little to three times as much."""
    step = nice_step(value)
    return knob(
        key,
        label,
        unit,
        value,
        (step, max(3.0 * value, 10.0 * step), step),
        help="As the scenario states it; schedules stay as they are.",
        moves=(Move(path, value, lowest=step * 1e-3, highest=MOST),),
        main=main,
        subject=name,
    )


def nice_step(value: float) -> float:
    """Return a round step of about a fortieth of a value: 1, 2 or 5 times a power of ten.

    In any unit. [any unit]
    """
    aim = max(abs(value), 1e-3) / 40.0
    power = 1e-6
    while 10.0 * power <= aim * 1.0000001:
        power *= 10.0
    best = max(part for part in (1.0, 2.0, 5.0) if part * power <= aim * 1.0000001)
    return float(f"{best * power:.6g}")


def _temperature(scenario: Scenario) -> Iterator[Knob]:
    """Yield the temperature, where any battery minds it."""
    bank = scenario.bank
    minds = any(
        battery.thermal is not None
        or any(cell.activation_J_mol or cell.usable_part is not None for cell in battery.cells)
        or any(rule.watches is Watch.TEMPERATURE for rule in battery.rules)
        for battery in bank.batteries
    )
    if not minds:
        return
    given = written(scenario).surroundings.temperature_C
    path: Path = ("surroundings", "temperature_C")
    swings = isinstance(given, SwingKeys)
    value = float(given.mean_C if isinstance(given, SwingKeys) else given)
    path = (*path, "mean_C") if swings else path
    yield knob(
        "temperature",
        "Temperature around the bank" + (", mean of the day" if swings else ""),
        "°C",
        value,
        (-20.0, 50.0, 1.0),
        help="Resistances rise in the cold, and less of the charge can be had.",
        moves=(Move(path, value, lowest=-40.0, highest=80.0),),
        main=True,
    )


def _wiring(scenario: Scenario) -> Iterator[Knob]:
    wiring, bank = written(scenario).wiring, scenario.bank
    row = bank.wiring.layout is not Layout.EQUAL_LEADS and len(bank.batteries) > 1
    if row:
        told = "One rail between neighbours; in a row it decides who works hardest."
        yield from _cable("link", "Links of the row", wiring.link, bank.wiring.link_ohm, told)
    told = "From the take-off to the loads, both conductors together."
    yield from _cable("main", "Main conductors", wiring.main, bank.wiring.main_ohm, told)


def _cable(
    name: str, label: str, written: CableKeys | None, ohm: float, told: str
) -> Iterator[Knob]:
    """Yield the sliders of a cable's length and copper, or that of its resistance."""
    if written is not None:
        metres, path = float(written.length_m), ("wiring", name, "length_m")
        yield knob(
            name,
            f"{label}: length",
            "m",
            metres,
            (0.0, max(5.0, 3.0 * metres), 0.1),
            help=f"{told} One way.",
            moves=(Move(path, metres, lowest=0.0, highest=100.0),),
        )
        area_mm2 = float(written.area_mm2)
        yield copper_knob(f"{name} copper", f"{label}: copper", area_mm2, ("wiring", name))
        return
    mohm = round(1e3 * ohm, 9)
    yield knob(
        name,
        f"{label}: resistance",
        "mΩ",
        mohm,
        (0.0, max(5.0, 4.0 * mohm), 0.1),
        help=told,
        moves=(Move(("wiring", f"{name}_mohm"), mohm, lowest=0.0, highest=100_000.0),),
    )
