"""Figures of the chemistries: at rest, on charge, and resistance, as the program has them."""

import hashlib
from dataclasses import replace
from pathlib import Path

import numpy as np

from bankSim.model.bank import Bank, Wiring
from bankSim.model.battery import Battery
from bankSim.model.cell import ZERO_C_K, arrhenius_factor
from bankSim.model.charger import Charger, Stage
from bankSim.model.chemistry import CHEMISTRIES, Chemistry
from bankSim.model.curve import Floats
from bankSim.scenario.record import Scenario
from bankSim.show.looks import COLOURS, DASHES, dress
from bankSim.sim.run import simulate
from making.chemistry import LABEL_AH, cells_at_12_V

SODIUM = "sodium-ion.svg"
NAMES = (*(f"{word.lower()}.svg" for word in CHEMISTRIES), SODIUM)
COLD_C = (25.0, 0.0, -20.0)
CHARGED_A = (10.0, 30.0)  # of a battery of LABEL_AH
CHARGED_S, EVERY_S = 30 * 3600.0, 60.0
SODIUM_WINDOW_V = (1.5, 4.1)  # of a cell; one public cell specification
LEVEL = np.linspace(0.0, 1.0, 201)


def draw(path: Path) -> None:
    """Write the figure of this name."""
    import matplotlib as mpl
    from matplotlib.figure import Figure

    with mpl.rc_context({"svg.fonttype": "none", "svg.hashsalt": "banksim"}):
        figure = Figure(figsize=(8.0, 3.1), layout="constrained")
        if path.name == SODIUM:
            _windows(figure)
        else:
            _two_panels(figure, _chemistry(path))
        about = {"Date": None, "Description": _mark(path), "Creator": None}
        figure.savefig(path, format="svg", metadata=about, facecolor="white")


def is_fresh(path: Path) -> bool:
    """Tell whether a figure is there and shows the program's present numbers."""
    return path.exists() and _mark(path) in path.read_text(encoding="utf-8")


def _chemistry(path: Path) -> Chemistry:
    return next(one for word, one in CHEMISTRIES.items() if word.lower() == path.stem)


def _mark(path: Path) -> str:
    """Return a digest of what the figure shows, to 4 digits."""
    one = CHEMISTRIES["LFP"] if path.name == SODIUM else _chemistry(path)
    curves = [rest_V(one), *(ohmic_mohm(one, celsius) for celsius in COLD_C)]
    told = ",".join(f"{value:.4g}" for curve in curves for value in curve)
    told += f"{one.charge_lag}{one.relaxation_ohm_Ah}{CHARGED_A}"
    return f"numbers {hashlib.sha256(told.encode()).hexdigest()[:16]}"


def rest_V(one: Chemistry) -> Floats:  # noqa: N802 - the unit as printed
    """Return the rest voltage of a cell over LEVEL. [V]"""
    return one.ocv_V()(LEVEL)


def ohmic_mohm(one: Chemistry, celsius: float) -> Floats:
    """Return R0 of a cell of 100 Ah over LEVEL, docs/theory.md, eq. 6.2, 6.3, 6.4. [mohm]"""
    kelvin = celsius + ZERO_C_K
    part = 1.0 if one.usable_part is None else float(one.usable_part(kelvin))
    factor = arrhenius_factor(one.activation_J_mol, kelvin) * one.ohmic_ohm_Ah * 1e3 / LABEL_AH
    return np.asarray(one.ohmic_factor()(1.0 - (1.0 - LEVEL) / part) * factor)


def charge_V(one: Chemistry, amps: float) -> tuple[Floats, Floats]:  # noqa: N802 - as printed
    """Return state of charge and voltage of a battery charged from empty to full. [1], [V]"""
    cells, charge_C = cells_at_12_V(one), 3600.0 * LABEL_AH * one.capacity_per_rated
    cell = replace(one.typical_cell(LABEL_AH, charge_C), state_of_charge=0.0)
    internal_ohm = one.internal_ohm_Ah / LABEL_AH
    battery = Battery("b", (cell,) * cells, internal_ohm, 0.0, (), 3600.0 * LABEL_AH)
    charger = Charger("c", (Stage(cells * one.highest_charge_V),), limit_A=amps)
    bank = Bank(
        (battery,), Wiring(), (), chargers=(charger,), duration_s=CHARGED_S, output_every_s=EVERY_S,
        stop_when_empty=False,
    )  # fmt: skip
    table = simulate(Scenario("a charge", bank)).timeline()
    held, volts = (table[name].to_numpy() for name in ("b.state_of_charge", "bank.voltage_V"))
    return held[held <= 1.0], volts[held <= 1.0]


def _two_panels(figure: "object", one: Chemistry) -> None:
    left, right = figure.subplots(1, 2)  # type: ignore[attr-defined]
    percent, cells = 100.0 * LEVEL, cells_at_12_V(one)
    left.plot(percent, cells * rest_V(one), color=COLOURS[0], linewidth=1.8, label="at rest")
    for place, amps in enumerate(CHARGED_A, start=1):
        held, volts = charge_V(one, amps)
        left.plot(
            100.0 * held, volts, color=COLOURS[place], linestyle=DASHES[place], linewidth=1.8,
            label=f"charged at {amps:g} A",
        )  # fmt: skip
    left.legend(frameon=False, fontsize=8.5)
    about = f"{one.word}: {cells} cells of {LABEL_AH:g} Ah"
    dress(left, about, "state of charge, %", "voltage, V")
    for place, celsius in enumerate(COLD_C):
        right.plot(
            percent, ohmic_mohm(one, celsius), color=COLOURS[place], linestyle=DASHES[place],
            linewidth=1.8, label=f"{celsius:g} degC",
        )  # fmt: skip
    right.set_yscale("log")
    right.legend(frameon=False, fontsize=8.5)
    dress(right, f"R0 of one cell of {LABEL_AH:g} Ah", "state of charge, %", "resistance, mohm")


def _windows(figure: "object") -> None:
    axes = figure.subplots()  # type: ignore[attr-defined]
    low, high = (4.0 * volts for volts in SODIUM_WINDOW_V)
    axes.axhspan(low, high, color=COLOURS[4], alpha=0.25, label="4 sodium-ion cells: whole window")
    axes.plot(
        100.0 * LEVEL, 4.0 * rest_V(CHEMISTRIES["LFP"]), color=COLOURS[0], linewidth=1.8,
        label="4 LFP cells at rest",
    )  # fmt: skip
    axes.set_ylim(5.0, 17.5)
    axes.legend(frameon=False, fontsize=8.5, loc="lower right")
    dress(axes, "Sodium-ion beside LFP", "state of charge of the LFP battery, %", "voltage, V")
