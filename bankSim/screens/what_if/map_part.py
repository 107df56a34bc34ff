"""A map over two sliders: picked, worked out with progress, shown."""

import streamlit as st

from bankSim.screens.charts import map_chart, map_words
from bankSim.screens.drawing import draw, look
from bankSim.screens.jobs import start
from bankSim.screens.plain import plain
from bankSim.screens.what_if.asked import answer_to, say_when_moved
from bankSim.screens.what_if.knob import Knob
from bankSim.screens.what_if.map_study import (
    DRAWS,
    STEPS,
    MapAsked,
    first_out,
    go_together,
    key_of,
    make_map,
    map_lines,
    middles,
    paper_fields,
    steps_between,
)
from bankSim.screens.what_if.outcome import Bench
from bankSim.screens.what_if.play import Play
from bankSim.screens.what_if.sliders import chosen_knobs
from bankSim.sim.numbers import clean
from bankSim.study.sweep import SweepResult

JOB, ASKED = "what if map", "what if map asked"
LONGEST = 60


@st.fragment
def show_map(bench: Bench, mine: Play) -> None:
    """Show what is to be picked for a map, and the map once it is there."""
    in_view, rest = chosen_knobs(bench, mine.battery, mine.cell)
    single = {one.key: one for one in (*in_view, *rest) if key_of(one) is not None}
    if len(single) < 2:
        st.caption("There is too little to move here.")
        return
    st.caption(
        "How much the bank gives, and who cuts out first, over two things at once; all else as the "
        "sliders stand. Battery and cell are those picked above."
    )
    left, right = st.columns(2)
    with left:
        across = _axis(single, "Across", 0, mine)
    with right:
        upwards = _axis(single, "Upwards", 1, mine)
    knobs = (across[0], upwards[0])
    values = (steps_between(*across), steps_between(*upwards))
    digest = f"{bench.digest(mine.settings)} {[one.key for one in knobs]} {values}"
    asked = MapAsked(digest, dict(mine.settings), knobs, values)
    sound = knobs[0].key != knobs[1].key and min(map(len, values)) > 1 and go_together(bench, asked)
    if not sound:
        st.info("Pick two different things, each with a range; these two act on the same number.")
    if st.button("Draw the map", key="what if map go", disabled=not sound):
        st.session_state[ASKED] = asked
        start(JOB, digest, lambda progress: make_map(bench, asked, progress))
    _answer(bench, mine)


def _axis(single: dict[str, Knob], word: str, place: int, mine: Play) -> tuple[Knob, float, float]:
    """Let the visitor pick one slider and the range it takes."""
    keys = list(single)
    key = st.selectbox(
        word,
        keys,
        index=min(place, len(keys) - 1),
        format_func=lambda one: clean(single[one].words, LONGEST),
        key=f"what if map {place} {mine.round} {mine.battery} {mine.cell}",
    )
    knob = single[key]
    low, high = st.slider(
        f"{word}: from and to",
        min_value=knob.low,
        max_value=knob.high,
        value=(knob.low, knob.high),
        step=knob.step,
        format=f"%.{knob.decimals}f {knob.unit.replace('%', '%%')}",
        key=f"what if range {place} {mine.round} {knob.key}",
    )
    return knob, low, high


def _answer(bench: Bench, mine: Play) -> None:
    found = answer_to(bench, ASKED, JOB, "Map")
    if found is None:
        return
    asked: MapAsked = found[0]
    result: SweepResult = found[1]
    x, y = asked.knobs
    does = "takes in" if not result.scenario.bank.loads else "delivers"
    labels = (f"{x.words} [{x.unit}]", f"{y.words} [{y.unit}]", f"the bank {does} [Ah]")
    told = (asked.values[0], asked.values[1], middles(result), labels)
    first, paper = first_out(result), paper_fields(result)
    here = (_here(asked, 0), _here(asked, 1))
    say_when_moved(
        bench, mine, asked, "This map is of the sliders as they stood when it was drawn."
    )
    draw(
        map_chart(*told, first=first, paper=paper, here=here, look=look()),
        map_words(*told, first=first, paper=paper),
        "map",
    )
    for line in map_lines(asked, result):
        st.markdown(plain(line))
    st.caption(f"{STEPS} by {STEPS} fields at most, the middle of {DRAWS} draws each.")


def _here(asked: MapAsked, place: int) -> float:
    knob = asked.knobs[place]
    return asked.settings.get(knob.key, knob.start)
