"""The picture and the words beside it, drawn with as few elements as can be."""

import html
from dataclasses import replace

import streamlit as st

from bankSim.errors import ScenarioError, SimulationError
from bankSim.screens.charts.frame import figure_of
from bankSim.screens.charts.what_if_chart import drawn_mean_h, what_if_chart
from bankSim.screens.drawing import look
from bankSim.screens.happens.warned import cautions_html, split
from bankSim.screens.jobs import tell_trouble
from bankSim.screens.plain import plain
from bankSim.screens.what_if.bars import bars_html
from bankSim.screens.what_if.differences import differences
from bankSim.screens.what_if.outcome import Bench, Outcome, outcome
from bankSim.screens.what_if.play import Play
from bankSim.sim.numbers import span
from bankSim.sim.result import Result

ALT = (
    "Bus voltage and battery currents over time: now as lines with the band of 9 in 10 cases, "
    "before as grey dashes. What differs stands in words beside it."
)
CONFIG = {"displayModeBar": False, "responsive": False, "showTips": False}


def show_picture(bench: Bench, play: Play, chosen: int) -> tuple[Outcome, Outcome] | None:
    """Draw what comes out now over what came out before; None where none can be."""
    try:
        now, before = outcome(bench, play.settings), outcome(bench, play.ghost)
    except ScenarioError as error:
        st.error("These sliders do not go together.")
        for line in error.faults:
            st.markdown(plain(line))
        return None
    except SimulationError as trouble:
        tell_trouble(trouble)
        return None
    same = bench.moved(play.settings) == bench.moved(play.ghost)
    ghost = None if same else before.result
    spec = what_if_chart(now.result, now.fan, ghost, chosen=chosen, look=look())
    st.plotly_chart(
        figure_of(spec), width="stretch", theme=None, key="what if picture", alt=ALT, config=CONFIG
    )
    return now, before


def mean_words(now: Outcome) -> str:
    """Say that the lines are means, where something switches often."""
    width_h = drawn_mean_h(now.result)
    if width_h is None:
        return ""
    return (
        f"Much switches on and off, so the lines are means over {span(3600.0 * width_h, 2)}; the "
        "page What happens also shows the peaks."
    )


def show_differences(bench: Bench, play: Play, now: Outcome, before: Outcome) -> None:
    """Say what differs, and show it as small bars."""
    same = bench.moved(play.settings) == bench.moved(play.ghost)
    lines = differences(before.result, now.result)
    if same:
        lines = ["Move a slider: what changes is told here.", *present(now)]
    told = "".join(_line(line) for line in lines) + dangers_html(now.result)
    st.html(f'<div aria-live="polite">{told}</div>{bars_html(before.result, now.result)}')


def dangers_html(result: Result) -> str:
    """Return every danger with its battery and value; what to do stands on What happens."""
    pressing, _, _ = split(result)
    dangers = [replace(one, advice="") for one in pressing if one.severity == "danger"]
    if not dangers:
        return ""
    more = sum(one.severity == "danger" for one in result.cautions) - len(dangers)
    others = f"And {more:,} more of the same kinds. " if more else ""
    to_do = "With these values in your bank, the page What happens says what to do."
    return cautions_html(dangers) + _line(f"{others}{to_do}")


def present(now: Outcome) -> list[str]:
    """Say how it is, without a comparison."""
    from bankSim.show.beware import ON_PAPER, beware, danger
    from bankSim.show.headline import headline

    below = {*beware(now.result), *danger(now.result)} - {ON_PAPER}  # they are listed there
    return [line for line in headline(now.result) if line not in below][:4]


def _line(line: str) -> str:
    weight = "700" if "DANGER" in line else "400"
    return f'<p style="margin:0 0 0.35em 0;font-weight:{weight}">{html.escape(line)}</p>'
