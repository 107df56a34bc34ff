"""What every cell read when a battery cut out, and what the others carried around it."""

from bankSim.show.blocks import Section
from bankSim.show.causes import all_alike, cause, deciding_cells, first_trips, trips
from bankSim.show.words import left_over, volts
from bankSim.sim.numbers import after, listing, number, quoted
from bankSim.sim.result import Event, Result

MOST_MOMENTS = 8
MOST_CELLS = 24
OTHERS_TOLD = 5


def moments(result: Result) -> list[Section]:
    """One section for the first switching of each kind, up to `MOST_MOMENTS`; others counted."""
    sections = [moment(result, event) for event in first_trips(result)[:MOST_MOMENTS]]
    hidden = len(trips(result)) - len(sections)
    if sections and hidden:
        each = "cell by cell,"
        others = left_over(hidden, "switching,", f"{each} is", f"{each} are", "switchings,")
        text = f"{others} in events.csv."
        last = sections[-1]
        sections[-1] = Section(last.title, (*last.lines, text))
    return sections


def cut_out_moments(result: Result, most: int) -> list[Section]:
    """One section for each of the first `most` kinds of cut-outs."""
    firsts = [event for event in first_trips(result) if event.cuts_out]
    return [moment(result, event) for event in firsts[:most]]


def moment(result: Result, event: Event) -> Section:
    """One switching: the cells with the deciding one marked, then the currents around it."""
    did = "cut out" if event.cuts_out else "blocks charging"
    title = f"{quoted(event.battery or '')} {did} {after(event.time_s)}: {cause(result, event)}"
    return Section(title, (*_cells(event), _voltages(event), *_currents(result, event)))


def _voltages(event: Event) -> str:
    bus = volts(event.bus_voltage_V)
    return f"Just before: {volts(event.battery_voltage_V)} at the battery, {bus} at the bus."


def _cells(event: Event) -> list[str]:
    """Every cell's reading; a cell that decides alone stands in arrows."""
    readings = event.cell_voltages_V
    if readings is None:
        return []
    texts = []
    for place, reading in enumerate(readings[:MOST_CELLS], start=1):
        text = f"cell {place}: {volts(reading, 3)}"
        marked = place in deciding_cells(event) and not all_alike(event)
        texts.append(f">> {text} <<" if marked else text)
    hidden = len(readings) - len(texts)
    return ["   ".join(texts) + (f"   and {hidden} more" if hidden else "")]


def _currents(result: Result, event: Event) -> list[str]:
    """Currents just before and just after; of many batteries those that changed most."""
    names = [battery.name for battery in result.batteries]
    pairs = list(zip(names, event.currents_A, event.currents_after_A, strict=True))
    own = [_change(before, then) for name, before, then in pairs if name == event.battery]
    lines = [f"Its current, before and after: {text}." for text in own]
    others = [pair for pair in pairs if pair[0] != event.battery]
    others.sort(key=lambda pair: -abs(pair[2] - pair[1]))
    texts = [f"{quoted(name)} {_change(before, then)}" for name, before, then in others]
    if texts:
        lines.append(f"The others, before and after: {listing(texts, OTHERS_TOLD)}.")
    return lines


def _change(before: float, then: float) -> str:
    return f"{number(before)} -> {number(then)} A"
