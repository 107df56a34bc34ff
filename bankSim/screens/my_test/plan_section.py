"""How long a capacity test will take, when to be there, how often to log."""

from dataclasses import replace

import streamlit as st

from bankSim.errors import SimulationError
from bankSim.scenario.record import Scenario
from bankSim.screens import warm_up
from bankSim.screens.answers import checked
from bankSim.screens.desk import desk
from bankSim.screens.jobs import Progress, answer_of, job_of, start
from bankSim.screens.my_test.at_hand import in_words_of_page, show_trouble
from bankSim.screens.my_test.fields import (
    chemistry_field,
    number_field,
    sure_field,
    text_field,
    whole_field,
)
from bankSim.screens.my_test.reading import digest_of
from bankSim.screens.my_test.shown import Shown, shown
from bankSim.screens.my_test.view import show_shown
from bankSim.study.bench_scenario import (
    Wanted,
    check_wanted,
    of_label,
    of_scenario,
)

JOB = "plan"
ALTS = {"plan": "How likely the test is over by each hour."}
DRAWS, SEED = 200, 1


def show_plan() -> None:
    """Ask for battery and load, and answer."""
    warm_up.hold()
    whole = checked(desk().draft).scenario
    wanted = _wanted([] if whole is None else [one.name for one in whole.bank.batteries])
    precision = sure_field(
        "Wanted precision of the mean of repeated tests [%]", "plan precision", 0.01, 50.0, 1.0
    )
    of_desk = whole is not None and wanted.battery is not None
    try:
        check_wanted(wanted)
        scenario = of_scenario(whole, wanted) if whole and of_desk else of_label(wanted)
    except SimulationError as error:
        show_trouble(error)
        return
    digest = digest_of(JOB, wanted, desk().draft.digest if of_desk else "", precision)
    job = job_of(JOB, digest)
    if job is None:
        if not st.button("Plan the test", type="primary"):
            return
        job = start(JOB, digest, lambda progress: _work(scenario, precision, progress))
    found: Shown | None = answer_of(job, "Trying the test out")
    if found is not None:
        show_shown(found, "plan", ALTS)


def _wanted(names: list[str]) -> Wanted:
    """Ask for the test of one of the desk's batteries, or of one known by its label."""
    place = st.selectbox(
        "Battery under test", [*range(len(names)), -1], key=f"plan battery {desk().edition}",
        format_func=lambda n: "another one, by its label" if n < 0 else names[n],
    )  # fmt: skip
    wanted = Wanted(
        load_A=number_field("Test current [A]", "plan A", 0.001, 100_000.0),
        load_W=number_field("or test power [W]", "plan W", 0.01, 1_000_000.0,
                            help="Both empty: the loads of your bank."),
        starts_at=text_field("Starts at [HH:MM]", "plan start", placeholder="e.g. 09:00"),
        temperature_C=number_field("Temperature [degrees C]", "plan temperature", -35.0, 60.0),
    )  # fmt: skip
    if place is not None and place >= 0:
        return replace(wanted, battery=names[place])
    return replace(
        wanted,
        rated_Ah=number_field("Capacity on the label [Ah]", "plan label", 0.01, 10_000.0),
        chemistry=chemistry_field("plan chemistry"),
        cells=whole_field("Cells in series", "plan cells", 1, 100),
    )


def _work(scenario: Scenario, precision_percent: float, progress: Progress) -> Shown:
    """Try the test out, in a thread of its own."""
    from bankSim.show.plan_answer import plan_answer
    from bankSim.study.bench_plan import plan_test
    from bankSim.study.blocks import threads

    try:
        with threads() as workers:
            plan = plan_test(
                scenario, workers, draws=DRAWS, seed=SEED,
                progress=lambda done: progress("tests tried out", done, DRAWS),
            )  # fmt: skip
        return shown(plan_answer(plan, precision_percent))
    except SimulationError as error:
        raise in_words_of_page(error) from error
