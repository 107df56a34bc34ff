"""Tables of what is assumed of each chemistry."""

from functools import partial

from bankSim.model.chemistry import BY_TABLE_ONLY, CHEMISTRIES, Chemistry, Material
from bankSim.model.rule import Rule, Watch
from bankSim.model.typical import Typical
from bankSim.sim.numbers import number
from bankSim.study.priors import battery_priors
from making.blocks import Maker, table

AT = (0.0, 0.02, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 1.0)
LABEL_AH = 100.0  # the example of all tables
ZERO_C_K = 273.15


def makers() -> dict[str, Maker]:
    """Return the makers of the blocks of all chemistries."""
    made: dict[str, Maker] = {}
    for word, one in CHEMISTRIES.items():
        made[f"numbers of {word}"] = partial(numbers, one)
        made[f"curve of {word}"] = partial(curve, one)
        made[f"rules of {word}"] = partial(rules, one)
    for word, bare in BY_TABLE_ONLY.items():
        made[f"numbers of {word}"] = partial(bare_numbers, bare)
    return made


def cells_at_12_V(one: Material) -> int:  # noqa: N802 - the unit as printed
    """Return the usual number of cells of a battery called 12 V."""
    return {"NMC": 3}.get(one.word, 6 if one.nominal_V < 2.5 else 4)


def numbers(one: Chemistry) -> str:
    """Return all typical values with their sources; per cell unless told otherwise."""
    told, per_h, practice = one.sources, LABEL_AH, "common practice, for cautions"
    limits = f"discharge {one.discharge_per_h * per_h:g} A, charge {one.charge_per_h * per_h:g} A"
    pairs = ", ".join(
        f"{_mohm(ohm_Ah)} with {time_s:g} s" for ohm_Ah, time_s in one.relaxation_ohm_Ah
    )
    rows = [
        ("open-circuit curve", "see below", told.curve),
        ("resistance that acts at once, mid-way", _mohm(one.ohmic_ohm_Ah), told.ohmic),
        (told.rise.name, _value(told.rise), told.rise.source),
        ("relaxation", pairs, told.relaxation),
        ("hysteresis, half the gap", f"{1e3 * one.hysteresis_V:g} mV", told.hysteresis),
        (
            "switches, straps, terminals",
            _mohm(one.internal_ohm_Ah),
            f"whole battery: {told.internal}",
        ),
        *_wells(one),
        *((item.name, _value(item), item.source) for item in one.fixed),
        ("label limits", limits, "common practice, where the file gives none"),
        ("harmed outside", f"{one.lowest_safe_V:g} to {one.highest_safe_V:g} V a cell", practice),
        ("a charger may hold", f"{one.highest_charge_V:g} V a cell", practice),
        ("mass", f"{one.Wh_per_kg:g} Wh/kg, {one.specific_heat_J_kg_K:g} J/kg/K", one.mass_source),
        *_differ(one),
    ]
    return table(("quantity", f"at {LABEL_AH:g} Ah, 25 degC", "source, and how sure"), rows)


def _mohm(ohm_Ah: float) -> str:
    return f"{number(ohm_Ah * 1e3 / LABEL_AH)} mohm"


def _differ(one: Chemistry) -> list[tuple[str, str, str]]:
    names = ("batteries differ in capacity by", "batteries differ in resistance by")
    return [
        (name, f"{100 * prior.spread.sd:g} % (standard deviation)", prior.source)
        for name, prior in zip(names, battery_priors(one), strict=True)
    ]


def _value(item: Typical) -> str:
    value = item.value if isinstance(item.value, str) else f"{item.value:.4g}"
    return f"{value} {item.unit}".strip()


def _wells(one: Chemistry) -> list[tuple[str, str, str]]:
    if one.available_fraction == 1.0:
        return []
    told = one.sources.wells
    return [
        ("part of the charge at hand", f"c = {one.available_fraction:g}", told),
        ("rate between the wells", f"k' = {one.well_rate_per_h:g} /h", told),
        ("charge of both wells over the label", f"{one.capacity_per_rated:g}", told),
    ]


def curve(one: Chemistry) -> str:
    """Return rest voltage and resistance over the state of charge."""
    cells = cells_at_12_V(one)
    ocv, shape = one.ocv_V(), one.ohmic_factor()
    rows = [
        (
            f"{100 * z:g}",
            f"{float(ocv(z)):.3f}",
            f"{cells * float(ocv(z)):.2f}",
            number(float(shape(z)) * one.ohmic_ohm_Ah * 1e3 / LABEL_AH),
        )
        for z in AT
    ]
    head = ("state of charge, %", "cell at rest, V", f"{cells} cells, V",
            f"R0 of a cell at {LABEL_AH:g} Ah, mohm")  # fmt: skip
    return table(head, rows)


def rules(one: Chemistry) -> str:
    """Return the usual rules of a battery with that label."""
    found = one.usual_rules(one.discharge_per_h * LABEL_AH)
    if not found:
        return (
            "None: such batteries have no electronics. Give a load its own cut-off (`cut_off_V`)."
        )
    rows = [
        (rule.watches.value, _limit(rule, rule.threshold, below=rule.below), f"{rule.delay_s:g} s",
         rule.blocks.name.lower(), _release(rule))
        for rule in found
    ]  # fmt: skip
    return table(("watches", "trips", "after", "blocks", "lets go"), rows)


def _limit(rule: Rule, threshold: float, *, below: bool) -> str:
    value = threshold - ZERO_C_K if rule.watches is Watch.TEMPERATURE else threshold
    return f"{'below' if below else 'above'} {value:.4g} {rule.watches.unit}"


def _release(rule: Rule) -> str:
    if rule.release is None:
        return "never during a run"
    one = rule.release
    words = {"nothing": "", "charging": ", while charging", "load removed": ", load removed"}
    needs = words.get(one.needs.value, f", {one.needs.value}")
    limit = _limit(rule, one.threshold, below=not rule.below)
    return f"{limit} for {one.delay_s:g} s{needs}"


def bare_numbers(one: Material) -> str:
    """Return what is known of a chemistry without typical cells."""
    rows = [
        ("nominal voltage of a cell", f"{one.nominal_V:g} V", "for the mass only"),
        ("mass", f"{one.Wh_per_kg:g} Wh/kg, {one.specific_heat_J_kg_K:g} J/kg/K", one.mass_source),
    ]
    return table(("quantity", "value", "source, and how sure"), rows)
