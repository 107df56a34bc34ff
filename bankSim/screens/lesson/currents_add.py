"""Step: same voltage, currents add."""

from bankSim.screens.lesson.banks import Unit, bank, solve
from bankSim.screens.lesson.circuit import Branch
from bankSim.screens.lesson.pictures import QUIET, Bars
from bankSim.screens.lesson.reading import amps, current_A
from bankSim.screens.lesson.step import Amount, Answer, Slider, Step
from bankSim.sim.at_rest import rest_voltage
from bankSim.sim.numbers import number
from bankSim.sim.result import Result

LOAD_A = 60.0


def text_of(count: int) -> str:
    """Return the bank of the step: so many equal, full batteries."""
    units = [Unit(f"battery {place}") for place in range(1, count + 1)]
    return bank(units, LOAD_A, 0.02, every_s=10.0)


def answer(count: float) -> Answer:
    """Say what each of so many equal batteries gives in the first instant. A whole number. [1]"""
    result, alone = solve(text_of(round(count))), solve(text_of(1))
    each = [float(current_A(result, place)[0]) for place in range(round(count))]
    bus_V, alone_V, total_A = float(result.trace[0, 2]), float(alone.trace[0, 2]), sum(each)
    return Answer(
        truth=each[0],
        headline=f"{len(each)} equal batteries give {amps(each[0])} each, "
        f"together {amps(total_A)}, at {bus_V:.2f} V.",
        why="All sit on the same two rails, so all see the same voltage. What flows out of them "
        "meets at the rail and adds up to what the load takes.",
        picture=_picture(each, total_A),
        branches=tuple(
            Branch(str(place), "100 Ah", amps(value)) for place, value in enumerate(each, 1)
        ),
        doubt="Do the voltages add up as well?",
        reply=_reply(len(each), bus_V, alone_V, result),
        facts={"bus_V": bus_V, "alone_V": alone_V, "total_A": total_A, "each_A": each[0]},
    )


def _picture(each: list[float], total_A: float) -> Bars:
    names = (*(str(place) for place in range(1, len(each) + 1)), "load")
    return Bars("current", "A", names, (*each, total_A), shades=(*range(len(each)), QUIET))


def _reply(count: int, bus_V: float, alone_V: float, result: Result) -> str:
    rest_V = rest_voltage(result.scenario.bank.batteries[0])
    return (
        f"No. Each rests at {rest_V:.2f} V, and so do all {count} together. Under this load one "
        f"alone would stand at {alone_V:.2f} V, {count} of them at {bus_V:.2f} V: "
        f"{number(1e3 * (bus_V - alone_V), 2)} mV better, because each works less hard."
    )


STEP = Step(
    key="currents-add",
    title="Currents add",
    text="Two equal batteries, both full, are wired plus to plus and minus to minus, with equal "
    f"leads. A load takes {LOAD_A:g} A.",
    question=Amount(
        "How many amperes does each battery give?", "A", 1000.0, (20.0, 40.0, 55.0), 0.5
    ),
    slider=Slider("Equal batteries in parallel", 2.0, 6.0, 1.0, 2.0, "%d"),
    before=(Branch("1", "100 Ah"), Branch("2", "100 Ah")),
    load=f"{LOAD_A:g} A",
    answer=answer,
)
