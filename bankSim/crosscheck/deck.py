"""The bank as a self-contained SPICE netlist."""

import math

from bankSim.crosscheck.deck_battery import battery_lines, timers
from bankSim.crosscheck.deck_charger import charger_lines
from bankSim.crosscheck.deck_dark import dark_lines
from bankSim.crosscheck.deck_latch import common_lines
from bankSim.crosscheck.deck_limits import left_out
from bankSim.crosscheck.deck_load import load_lines
from bankSim.crosscheck.deck_rules import blocked_nodes
from bankSim.crosscheck.deck_words import comment, folded, number
from bankSim.errors import ParameterError
from bankSim.model.bank import Bank, Layout

MAX_STEP_S = 2.0
BUS = "bus"
BUS_FARAD = 1e-5
CHARGE_TOLERANCE_C = 1e-4
DAMPING = 0.49  # 0.5: the plain trapezoidal rule
USUAL_TRTOL = 7.0
LEAST_PIVOT = 1e-9  # of the largest number in its column
LONGEST_REMARK = 200


def build_deck(
    bank: Bank,
    *,
    title: str = "",
    end_s: float | None = None,
    max_step_s: float = MAX_STEP_S,
    measures: bool = True,
) -> str:
    """Return a bank as an ngspice netlist that runs by itself with ``ngspice -b``.

    Discharge current positive, minus take-off at node 0, plus take-off at node ``bus``.
    Names and title appear in comment lines only, stripped to [A-Za-z0-9 _-].

    Parameters
    ----------
    bank : Bank
    title : str
        Scenario title.
    end_s : float or None
        End of the transient; None is the bank's own duration. [s]
    max_step_s : float
        Longest time step, which sets the accuracy. [s]
    measures : bool
        Add lines that print the Ah of every battery at the end.

    Returns
    -------
    deck : str
        Ends with a line ".end".

    Raises
    ------
    ParameterError
        For a time that is not positive.
    """
    end_s = bank.duration_s if end_s is None else end_s
    for field, value in (("end_s", end_s), ("max_step_s", max_step_s)):
        if not 0.0 < value < math.inf:
            raise ParameterError(field, value, "more than 0")
    lines = ["* bank of batteries in parallel", comment(f"scenario {title}")]
    lines += ["* volts, amperes (discharge positive), seconds; charge counters d and e in Ah"]
    lines += [comment(f"left out: {words}", LONGEST_REMARK) for words in left_out(bank)]
    lines += _wiring_lines(bank)
    for index in range(1, len(bank.batteries) + 1):
        lines += battery_lines(bank, index, _rail_nodes(bank, index), max_step_s)
    lines += [*common_lines(), *_bus_capacitor_lines(bank)]
    node = "load" if bank.wiring.main_ohm > 0.0 else BUS
    lines += [*load_lines(bank, node, max_step_s), *charger_lines(bank, node, max_step_s)]
    lines += dark_lines(bank, node, max_step_s)
    lines += _analysis_lines(bank, end_s, max_step_s, measures)
    return "\n".join(folded(line) for line in lines) + "\n"


def saved_vectors(bank: Bank) -> list[str]:
    """Return the vectors that a run of the netlist keeps, beside the time."""
    vectors = [f"v({BUS})"]
    for index, battery in enumerate(bank.batteries, start=1):
        vectors += [f"i(vb{index})", f"v(d{index})", f"v(e{index})"]
        vectors += [f"v({node})" for node in timers(battery, index)]
        vectors += [f"v({node})" for node in blocked_nodes(battery, index).values()]
    return vectors


def _rail_nodes(bank: Bank, index: int) -> tuple[str, str]:
    """Return the plus and minus rail nodes of battery `index`, counted from 1."""
    if bank.wiring.layout is Layout.EQUAL_LEADS or bank.wiring.link_ohm == 0.0:
        return BUS, "0"
    take_off = 1 if bank.wiring.layout is Layout.SAME_END else len(bank.batteries)
    plus = BUS if index == 1 else f"p{index}"
    minus = "0" if index == take_off else f"m{index}"
    return plus, minus


def _wiring_lines(bank: Bank) -> list[str]:
    """Return the links of both rails and the main conductors."""
    lines = []
    count, link_ohm = len(bank.batteries), bank.wiring.link_ohm
    linked = bank.wiring.layout is not Layout.EQUAL_LEADS and link_ohm > 0.0
    for index in range(1, count if linked else 1):
        here, there = _rail_nodes(bank, index), _rail_nodes(bank, index + 1)
        lines.append(f"Rp{index} {here[0]} {there[0]} {number(link_ohm)}")
        lines.append(f"Rm{index} {here[1]} {there[1]} {number(link_ohm)}")
    if bank.wiring.main_ohm > 0.0:
        lines.append(f"Rmain {BUS} load {number(bank.wiring.main_ohm)}")
    return lines


def _bus_capacitor_lines(bank: Bank) -> list[str]:
    """Return a small capacitor that keeps the bus from floating when all switches open at once.

    It holds some 0.1 mC, next to nothing, and follows within microseconds.
    """
    cells = bank.batteries[0].cells
    start_V = sum(float(cell.ocv_V(cell.state_of_charge)) for cell in cells)
    return [f"Cbus {BUS} 0 {number(BUS_FARAD)} ic={number(start_V)}"]


def _analysis_lines(bank: Bank, end_s: float, max_step_s: float, measures: bool) -> list[str]:
    """Return the transient run, its tolerances, what is kept and what is printed."""
    # the tiny counters would hold every step below the root of trtol, whatever the longest step
    trtol = max(USUAL_TRTOL, max_step_s**2)
    # a capacitor's tolerance is a part of its charge and would vanish where that goes through 0
    # and without damping the current of the bus's small capacitor would swing on for ever
    finer = f"chgtol={number(CHARGE_TOLERANCE_C)} xmu={number(DAMPING)} trtol={number(trtol)}"
    # any pivot: with the usual bound the matrix fills up to seven times its size and more
    finer += f" pivrel={number(LEAST_PIVOT)}"
    lines = [
        f".options method=trap reltol=1e-6 abstol=1e-9 vntol=1e-9 itl4=50 {finer}",
        f".tran {number(max_step_s)} {number(end_s)} 0 {number(max_step_s)} uic",
        ".save " + " ".join(saved_vectors(bank)),
    ]
    for index in range(1, len(bank.batteries) + 1 if measures else 1):
        lines.append(f".meas tran b{index}_delivered_ah MAX v(d{index})")
        lines.append(f".meas tran b{index}_charged_ah MAX v(e{index})")
    return [*lines, ".end"]
