"""Step: the weakest cell decides what a battery gives."""

from bankSim.screens.lesson.banks import Unit, bank, solve
from bankSim.screens.lesson.circuit import Branch
from bankSim.screens.lesson.pictures import Bars
from bankSim.screens.lesson.step import Amount, Answer, Slider, Step
from bankSim.sim.numbers import number, span
from bankSim.sim.result import Result

LOAD_A, HOLDS_AH = 40.0, 100.0
TOGETHER_S = 60.0
CELLS = ("cell 1", "cell 2", "cell 3", "cell 4")


def text_of(low_percent: float) -> str:
    """Return the bank of the step: a cell of B is lower than the others by this much. [%]"""
    units = [Unit("A", HOLDS_AH), Unit("B", HOLDS_AH, weak=low_percent / 100.0)]
    return bank(units, LOAD_A, 8.0)


def answer(low_percent: float) -> Answer:
    """Say what B gives when one of its cells is lower by this much. [%]"""
    result = solve(text_of(low_percent))
    one, two = result.batteries
    left = tuple(level * HOLDS_AH for level in two.final_state_of_charge)
    lost_Ah = one.delivered_Ah - two.delivered_Ah
    return Answer(
        truth=two.delivered_Ah,
        headline=f"B gives {number(two.delivered_Ah)} Ah, A gives {number(one.delivered_Ah)} Ah. "
        f"{_order(result)}",
        why=_why(result, lost_Ah),
        picture=Bars("left in B", "Ah", CELLS, left, shades=(1, 1, 1, 1)),
        branches=(
            Branch("A", "100 Ah", f"{number(one.delivered_Ah)} Ah"),
            Branch("B", "100 Ah", f"{number(two.delivered_Ah)} Ah", weak=low_percent > 0.0),
        ),
        doubt="The other three cells still hold charge. Can I get at it?",
        reply=_reply(two.stranded_Ah),
        facts={
            "A_Ah": one.delivered_Ah,
            "B_Ah": two.delivered_Ah,
            "stranded_Ah": two.stranded_Ah,
            "gap_s": _gap_s(result),
        },
    )


def _gap_s(result: Result) -> float:
    """Return how much later A cuts out than B. [s]"""
    times = [
        b.first_cut_out.time_s if b.first_cut_out else result.end_time_s for b in result.batteries
    ]
    return times[0] - times[1]


def _order(result: Result) -> str:
    gap_s, cut = _gap_s(result), result.batteries[1].first_cut_out
    if abs(gap_s) <= TOGETHER_S or cut is None:
        return "Both cut out together."
    first = "B" if gap_s > 0 else "A"
    return f"{first} is out first, {span(abs(gap_s))} before the other."


def _why(result: Result, lost_Ah: float) -> str:
    cut = result.batteries[1].first_cut_out
    if lost_Ah < 0.5 or cut is None or cut.cell is None:
        return "All four cells run down together, so nothing is held back."
    return (
        f"The same current runs through all four cells. Cell {cut.cell} is empty first, and the "
        f"electronics cut out the whole battery for it: {number(lost_Ah)} Ah less than A."
    )


def _reply(stranded_Ah: float) -> str:
    if stranded_Ah < 0.05:
        return "Here nothing is stranded: the cells are even. Try a lower cell with the slider."
    return (
        f"Not from outside. On average {number(stranded_Ah)} Ah a cell are stranded. "
        "Balancing gives them back if the cell was only charged less; if it holds less, "
        "they are lost in every cycle."
    )


STEP = Step(
    key="weakest-cell",
    title="The weakest cell",
    text="Two batteries of 100 Ah, four cells in series each. All cells are full, except the "
    f"second cell of B: it stands at 92 %. The load takes {LOAD_A:g} A until the electronics "
    "of both have cut out. Each battery watches its lowest cell.",
    question=Amount(
        "How many Ah does B give before it cuts out?", "Ah", 1000.0, (85.0, 90.0, 95.0, 99.0), 1.0
    ),
    slider=Slider("The low cell is lower by [%]", 0.0, 30.0, 2.0, 8.0, "%d %%"),
    before=(Branch("A", "100 Ah"), Branch("B", "100 Ah", weak=True)),
    load=f"{LOAD_A:g} A",
    answer=answer,
)
