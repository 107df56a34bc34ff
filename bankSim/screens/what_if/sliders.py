"""The sliders: a handful in view, the rest on demand; whose they are is picked above them."""

from collections.abc import Sequence

import streamlit as st

from bankSim.model.cell import Cell
from bankSim.screens.plain import plain
from bankSim.screens.what_if.knob import Knob
from bankSim.screens.what_if.outcome import Bench
from bankSim.screens.what_if.play import Play
from bankSim.sim.numbers import clean

LONGEST = 40
FIRST = ("below", "health", "charge", "resistance", "lead", "load", "loads", "charger")


def pick_battery(bench: Bench) -> int:
    """Let the visitor pick a battery; return its place from 0."""
    names = [clean(battery.name, LONGEST) for battery in bench.scenario.bank.batteries]
    if len(names) == 1:
        return 0
    return st.selectbox(
        "Battery",
        range(len(names)),
        format_func=lambda place: plain_option(names[place]),
        key=f"what if battery {bench.draft.digest}",
        persist_state="session",
        help="The sliders about a battery move this one; what you moved on others stays moved.",
    )


def pick_cell(bench: Bench, battery: int) -> int:
    """Let the visitor pick a cell of a battery; return its place from 0."""
    cells = bench.scenario.bank.batteries[battery].cells
    if len(cells) == 1:
        return 0
    return st.selectbox(
        "Cell",
        range(len(cells)),
        index=weakest(cells),
        format_func=lambda place: f"cell {place + 1}",
        key=f"what if cell {bench.draft.digest} {battery}",
        persist_state="session",
        help="Counted from the minus pole.",
    )


def weakest(cells: Sequence[Cell]) -> int:
    """Return the place of the (first) cell that holds least charge at the start."""
    held = [round(one.charge_C * one.state_of_charge, 3) for one in cells]
    return held.index(min(held))


def plain_option(name: str) -> str:
    """Return a name as an option: options are shown letter for letter."""
    return name


def chosen_knobs(bench: Bench, battery: int, cell: int) -> tuple[list[Knob], list[Knob]]:
    """Return the sliders in view, and the rest, of one battery and cell and of the bank."""
    own = [
        one
        for one in bench.knobs.values()
        if one.battery in (None, battery) and one.cell in (None, cell)
    ]
    in_view = [one for one in own if one.main and one.key.partition("/")[0] in FIRST]
    in_view.sort(key=lambda one: FIRST.index(one.key.partition("/")[0]))
    rest = [one for one in own if one not in in_view]
    rest.sort(key=lambda one: not one.main)
    return in_view, rest


def show_sliders(knobs: Sequence[Knob], play: Play) -> None:
    """Show sliders and note where they stand; they never change their place or label."""
    for one in knobs:
        key = play.widget(one)
        st.session_state.setdefault(key, play.value(one))
        value = st.slider(
            one.label.replace("{}", plain(clean(one.subject, LONGEST))),
            min_value=one.low,
            max_value=one.high,
            step=one.step,
            format=f"%.{one.decimals}f {one.unit.replace('%', '%%')}",
            key=key,
            help=f"{plain(one.help)} In your bank: {plain(one.text(one.start))}.",
        )
        play.take(one, float(value))


def show_moved(bench: Bench, play: Play) -> None:
    """List what is moved, on any battery; a press takes one of them back."""
    moved = [bench.knobs[key] for key in bench.moved(play.settings)]
    for one in moved:
        told = f"{one.words}: {one.text(one.start)} → {one.text(play.value(one))}"
        st.button(
            f":material/undo: {plain(told)}",
            key=f"{play.widget(one)} back",
            on_click=play.reset,
            args=([one],),
            help=f"Back to {plain(one.text(one.start))}, as in your bank.",
            type="tertiary",
        )
