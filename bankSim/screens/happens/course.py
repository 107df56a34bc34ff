"""The run over time, with its own time window, which stays when the page is shown again."""

import streamlit as st

from bankSim.screens.charts import mean_words, shares_chart, shares_words, time_chart, time_words
from bankSim.screens.drawing import draw, look
from bankSim.screens.happens.window import (
    LEAST_SHOWN_S,
    MOST_SPOTS,
    Scale,
    Window,
    closer,
    fitted,
    from_scale,
    on_scale,
    scale,
    spots,
    whole,
    window_words,
)
from bankSim.screens.plain import plain
from bankSim.sim.result import Result
from bankSim.study.quick_fan import QuickSpread

_WINDOW, _END = "time window", "end of the run of the time window"
HOW_TO = (
    "Point at the lines to read them; the upright line shows the same instant in all rows. Choose "
    "the time with the slider, or draw a box in the chart to look closer for the moment."
)


@st.fragment
def show_course(result: Result, spread: QuickSpread | None) -> None:
    """Show lanes, voltage, currents and charge over the chosen time."""
    st.header("How it goes", anchor=False)
    if result.end_time_s < LEAST_SHOWN_S:
        st.markdown("The run ends at once: there is no course of time to show.")
        return
    window = _window(result)
    seen = None if window == whole(result) else window.hours
    fan = None if spread is None else spread.fan
    draw(
        time_chart(result, fan=fan, window_h=seen, look=look()),
        time_words(result, fan=fan, window_h=seen),
        "course",
    )
    _choose(result, window)
    st.caption(f"{HOW_TO} {mean_words(result, seen)}")
    with st.expander("How the current splits", on_change="rerun", key="shares open") as part:
        pass
    if part.open:
        with part:
            draw(
                shares_chart(result, window_h=seen, look=look()),
                shares_words(result, window_h=seen),
                "shares",
            )


def _window(result: Result) -> Window:
    """Return the window of this visitor, fitted to the run that is shown now."""
    state = st.session_state
    window = fitted(state.get(_WINDOW), state.get(_END), result)
    state[_WINDOW], state[_END] = window, result.end_time_s
    return window


def _set(window: Window) -> None:
    st.session_state[_WINDOW] = window


def _choose(result: Result, window: Window) -> None:
    """Show the slider and the buttons of the time window."""
    own = scale(result)
    key = f"window slider {own.unit} {own.last}"
    st.session_state[key] = on_scale(window, own)
    st.slider(
        f"Time shown [{own.unit}]",
        0.0,
        own.last,
        step=own.step,
        format="%g",
        key=key,
        on_change=_slid,
        args=(key, own, result),
        help=f"Now {window_words(window)}. Both ends can be moved.",
    )
    with st.container(horizontal=True, gap="small"):
        st.button(
            "Whole run", key="window whole", on_click=_set, args=(whole(result),),
            icon=":material/fit_width:", disabled=window == whole(result),
        )  # fmt: skip
        _spots(result)
    if window != whole(result):
        st.caption(f"Shown: {plain(window_words(window))}.")


def _slid(key: str, own: Scale, result: Result) -> None:
    _set(from_scale(st.session_state[key], own, result))


def _spots(result: Result) -> None:
    """Offer a closer look at each cut-out and return; of many the first ones."""
    found = spots(result)
    for place, spot in enumerate(found[:MOST_SPOTS]):
        st.button(
            plain(spot.words),
            key=f"spot {place}",
            icon=":material/zoom_in:",
            on_click=_set,
            args=(closer(result, spot.time_s),),
            help="Look closer at this moment",
        )
    if len(found) > MOST_SPOTS:
        st.caption(f"and {len(found) - MOST_SPOTS:,} more: use the slider, or choose one below.")
