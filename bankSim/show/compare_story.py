"""A prediction against the measured bank test, told."""

import itertools
from collections.abc import Sequence

from bankSim.measured.compare_drive import GOES_ON
from bankSim.measured.compare_found import MEASURED, SCENARIO, Compared, Comparison, Stop
from bankSim.measured.compare_frame import MODEL_PART, MODEL_V_A_CELL, SHARE_ERROR
from bankSim.show.basis import assumed
from bankSim.show.blocks import Grid, Section, Story
from bankSim.show.compare_why import best_words, explanations, telling_apart
from bankSim.show.unknowns_table import drawn_section
from bankSim.sim.numbers import clean, listing, number, quoted, sentence, span
from bankSim.sim.summary import SAFETY_TEXT

MOST_TOLD = 6
OTHER_LOAD = 2.0  # times the mean current: beyond it another test was made than predicted
OUTLASTS = (
    f"The predicted bank was not empty even then: it was followed for {GOES_ON} times the test, so "
    "its Ah and hours are the least that was predicted."
)
CAUTION = (
    "A prediction that fits one test is no permission for another load: alarms, fuses and limits "
    "stay as the battery maker and local codes ask for. Do not repeat a test to complete cut-out "
    "only to refine numbers: deep discharges age batteries."
)


def tell_compare(found: Comparison, *, briefly: bool = False) -> Story:
    """Turn a comparison into a headline and sections; briefly for a terminal."""
    sections = [
        _numbers(found),
        _stops(found),
        _voltage(found),
        explanations(found),
        telling_apart(found),
        _reading(found),
        _accuracy(found),
        drawn_section(found.unknowns, briefly=briefly, in_words=True),
        None if briefly else assumed(found.result, in_words=True),
        Section("Safety", (CAUTION, SAFETY_TEXT)),
    ]
    title = f"Predicted against measured: {clean(found.scenario.title)}"
    return Story(title, tuple(headline(found)), tuple(one for one in sections if one is not None))


def headline(found: Comparison) -> list[str]:
    """Say how far off the bank is, whether that was to be expected, and what would explain it."""
    return [
        *_other_load(found),
        _bank(found),
        _consistent(found),
        *_warnings(found),
        *best_words(found),
    ]


def _bank(found: Comparison) -> str:
    Ah, hours = found.numbers[0], found.numbers[1]
    way = "more" if Ah.difference > 0.0 else "less"
    late = "later" if hours.difference > 0.0 else "earlier"
    least = "at least " if found.outlasts else ""
    gave = (
        f"as predicted ({number(Ah.predicted, 4)} Ah) within the accuracy of the meter"
        if abs(Ah.difference) <= Ah.error
        else f"{least}{_gap(Ah)} {way} than the {number(Ah.predicted, 4)} Ah predicted"
    )
    clock = "after its first current" if found.load == MEASURED else "after the scenario's start"
    return (
        f"The bank gave {number(Ah.measured, 4)} Ah, {gave}; its current stopped "
        f"{number(hours.measured)} h {clock}, {least}{span(3600.0 * abs(hours.difference), 2)} "
        f"{late} than predicted.{' ' + OUTLASTS if found.outlasts else ''}"
    )


def _other_load(found: Comparison) -> list[str]:
    """Say first when the test was made with quite another load."""
    means = found.mean_currents_A()
    if found.load != SCENARIO or means is None:
        return []
    predicted_A, measured_A = means
    times = measured_A / predicted_A
    if 1.0 / OTHER_LOAD < times < OTHER_LOAD:
        return []
    how = (
        f"{number(times, 2)} times the scenario's"
        if times > 1.0
        else f"only 1/{number(1.0 / times, 2)} of the scenario's"
    )
    return [
        f"Beware: the test load is {how} (on average {number(measured_A)} A against "
        f"{number(predicted_A)} A while both run): these are two different tests. Put the load of "
        "the test into the scenario, or compare with --load measured."
    ]


def _gap(one: Compared) -> str:
    part = "" if one.part is None else f" ({number(100.0 * abs(one.part), 2)} %)"
    return f"{number(abs(one.difference), 2)} {one.unit}{part}"


def _consistent(found: Comparison) -> str:
    """Say whether the measurement could be one of the draws, and which numbers stick out."""
    outside = [one for one in found.numbers if not one.inside]
    names = listing([_named(one) for one in outside], MOST_TOLD)
    sticks = f"; outside the 5 to 95 % range: {names}" if outside else ""
    band = f"the voltage is in its predicted band for {100.0 * found.inside_band:.0f} % of the time"
    word = "consistent" if found.consistent else "not consistent"
    cases = round(100.0 * found.farther)
    farther = "no draw is" if found.farther == 0.0 else f"{max(cases, 1)} of 100 draws are"
    return (
        f"The test is {word} with the prediction: {farther} as far off in the worst number"
        f"{sticks}; {band}."
    )


def _named(one: Compared) -> str:
    owner = "the bank" if one.battery is None else quoted(one.battery)
    return f"{one.text} of {owner}" if "after" not in one.text else f"when {owner} stops"


def _warnings(found: Comparison) -> list[str]:
    return [
        f"Beware: {sentence(text)}{'' if text.endswith('?') else '.'}" for text in found.warnings
    ]


def _numbers(found: Comparison) -> Section:
    rows = tuple(
        (
            clean(one.battery) if one.battery is not None else "bank",
            f"{one.text} [{one.unit or '%'}]",
            _value(one, one.predicted),
            _value(one, one.measured),
            _signed(one),
            f"{_value(one, one.low)} to {_value(one, one.high)}",
            "inside" if one.inside else "OUTSIDE",
        )
        for one in found.numbers
    )
    columns = ("Of", "What", "Predicted", "Measured", "Difference", "Range", "")
    line = "The range holds 5 to 95 % of the draws, and the prediction itself."
    return Section("Numbers", (line,), Grid(columns, rows, words=2))


def _value(one: Compared, value: float) -> str:
    return f"{100.0 * value:.1f}" if one.unit == "" else number(value, 4)


def _signed(one: Compared) -> str:
    sign = "+" if one.difference > 0.0 else "-"
    if one.unit == "":
        return f"{sign}{100.0 * abs(one.difference):.1f}"
    part = "" if one.part is None else f" ({sign}{number(100.0 * abs(one.part), 2)} %)"
    return f"{sign}{number(abs(one.difference), 2)}{part}"


def _stops(found: Comparison) -> Section | None:
    """Tell in which order currents stop, predicted and seen."""
    if not found.stops:
        return None
    rows = tuple(
        (
            clean(one.battery),
            _when(one.predicted_h, one.predicted_V),
            _when(one.measured_h, one.measured_V),
            _later(one),
        )
        for one in found.stops
    )
    lines = [
        f"Predicted: {_order(found.order_predicted)}. Measured: {_order(found.order_measured)}. "
        + _agreement(found.order_predicted, found.order_measured),
        "A battery counts as out when its current falls to about 0 and stays there while the bank "
        "goes on; the voltage is that of the bus just then.",
    ]
    columns = ("Battery", "Predicted", "Measured", "Difference")
    return Section("When each battery's current stops", tuple(lines), Grid(columns, rows))


def _agreement(predicted: Sequence[Sequence[str]], measured: Sequence[Sequence[str]]) -> str:
    """Say whether two orders are one, go together, or contradict each other."""
    if [set(group) for group in predicted] == [set(group) for group in measured]:
        return "The same order."
    place, other = (
        {name: rank for rank, group in enumerate(order) for name in group}
        for order in (predicted, measured)
    )
    turned = any(
        (place[one] - place[two]) * (other[one] - other[two]) < 0
        for one, two in itertools.combinations(place, 2)
    )
    if turned:
        return "Another order than predicted."
    return "No contradiction, but what stops together in one does not in the other."


def _when(hours: float | None, volts: float | None) -> str:
    if hours is None or volts is None:
        return "with the bank"
    return f"{number(hours)} h at {volts:.2f} V"


def _later(one: Stop) -> str:
    if one.predicted_h is None or one.measured_h is None:
        return "-"
    gap = one.measured_h - one.predicted_h
    return f"{span(3600.0 * abs(gap), 2)} {'later' if gap > 0.0 else 'earlier'}"


def _order(order: Sequence[Sequence[str]]) -> str:
    return ", then ".join(listing([quoted(name) for name in group]) for group in order)


def _voltage(found: Comparison) -> Section:
    one = found.residual
    thirds = ", ".join(f"{1000.0 * value:+.0f} mV" for value in one.thirds_V)
    means = f"; means of the first, second and last third: {thirds}" if thirds else ""
    currents = [f"{quoted(name)} {100.0 * part:.0f} %" for name, part in found.inside_currents]
    lines = [
        f"Measured less predicted while both run: {number(1000.0 * one.rms_V, 2)} mV rms, at most "
        f"{1000.0 * one.largest_V:+.0f} mV after {number(one.largest_at_h)} h{means}.",
        f"The measured voltage lies inside the band of 5 to 95 % of {found.draws} draws for "
        f"{100.0 * found.inside_band:.0f} % of the time.",
    ]
    if currents:
        lines.append(f"Each current lies inside its own band: {listing(currents)} of the time.")
    return Section("Voltage and currents over time", tuple(lines))


def _reading(found: Comparison) -> Section:
    loads = {
        SCENARIO: "The prediction has the scenario's own loads; --load measured drives the bank by "
        "the measured current instead and so keeps errors of the load apart from those of "
        "batteries (recommended where the load is not known exactly).",
        MEASURED: "The bank was driven by the measured current, not by the scenario's loads: what "
        "is left are batteries, wiring and meters. After the end of the log the mean of its last "
        "tenth goes on.",
    }
    told = [f"{sentence(text)}." for text in found.told]
    return Section(f"How {clean(found.log_file)} was read", (loads[found.load], *told))


def _accuracy(found: Comparison) -> Section:
    meter = found.meter
    lines = (
        f"Meters: current {number(meter.current_percent, 2)} %, voltage "
        f"{number(meter.voltage_percent, 2)} % of the reading (standard deviation; "
        "--current-error, --voltage-error; our own choice where not given). A number counts as "
        "inside when it is in the range of the draws, give or take two of these.",
        f"In the ranking a difference counts in units of {100.0 * MODEL_PART:.1f} % of Ah and "
        f"time, {100.0 * SHARE_ERROR:.0f} % of share and {1000.0 * MODEL_V_A_CELL:.0f} mV a cell "
        "of 3.2 V: so well no model is known to do; our own choice.",
    )
    return Section("Accuracy", lines)
