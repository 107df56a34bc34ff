"""Compiles the solver in the background while the first page is read; pages wait with a note."""

import gc
import threading
from dataclasses import dataclass, field

import streamlit as st

NOTE = (
    "Getting the solver ready. This happens once on a new machine and takes one to two minutes; "
    "you can already set up your bank."
)


@dataclass
class _State:
    done: threading.Event = field(default_factory=threading.Event)
    trouble: BaseException | None = None


@st.cache_resource(show_spinner=False)
def _state() -> _State:
    state = _State()
    threading.Thread(target=_compile, args=(state,), name="warm-up", daemon=True).start()
    return state


def _compile(state: _State) -> None:
    """Run one small scenario and a few draws, which compiles all that pages will call."""
    try:
        from bankSim.scenario.read import parse_scenario
        from bankSim.scenario.starter import starter_text
        from bankSim.screens.room import room
        from bankSim.sim.run import simulate
        from bankSim.study.quick_fan import quick_spread

        scenario = parse_scenario(starter_text(), room(), "starter")
        simulate(scenario)
        quick_spread(scenario, draws=2, table_draws=2)
        # After every run of a page the server goes through all objects in search of garbage:
        # what is loaded by now stays anyway, and made a visitor wait for 0.2 s each time.
        gc.collect()
        gc.freeze()
    except BaseException as trouble:
        state.trouble = trouble
    finally:
        state.done.set()


def begin() -> None:
    """Start compiling, once for all visitors; return at once."""
    _state()


def is_ready() -> bool:
    """Tell whether the solver can answer at once."""
    return _state().done.is_set()


def hold() -> None:
    """Show a note and the foot until the solver is ready; the rest of the page waits for it."""
    if is_ready():
        return
    from bankSim.screens.frame import foot

    _waiting()
    foot()
    st.stop()


@st.fragment(run_every=0.5)
def _waiting() -> None:
    if is_ready():
        st.rerun()
    st.info(NOTE, icon=":material/hourglass_top:")
