"""Step 5: the bank test against the prediction of the scenario on the desk."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import streamlit as st

from bankSim.errors import SimulationError
from bankSim.measured.compare_found import LOADS, SCENARIO, Settings
from bankSim.measured.compare_frame import Meter
from bankSim.measured.log import AUTO, Log
from bankSim.scenario.record import Scenario
from bankSim.screens import warm_up
from bankSim.screens.answers import checked
from bankSim.screens.desk import desk
from bankSim.screens.jobs import Progress, answer_of, job_of, start
from bankSim.screens.my_test import examples
from bankSim.screens.my_test.at_hand import in_words_of_page, show_trouble
from bankSim.screens.my_test.choosing import choose_log
from bankSim.screens.my_test.fields import number_field, sure_field, whole_field
from bankSim.screens.my_test.reading import digest_of, key_of, read
from bankSim.screens.my_test.shelf import Kept, Shelf
from bankSim.screens.my_test.shown import Shown, shown
from bankSim.screens.my_test.view import show_shown
from bankSim.screens.plain import plain
from bankSim.sim.numbers import clean, quoted

JOB = "compare"
ALTS = {
    "overlay": "Measured and predicted voltage and currents over time, with the band of the draws.",
    "explanations": "What each possible cause would remove of the difference, best first.",
}
DRIVES = {
    LOADS[0]: "its own loads and chargers",
    LOADS[1]: "the measured current",
}


def show_comparison(shelf: Shelf) -> None:
    """Show the fifth step."""
    warm_up.hold()
    st.markdown(
        "The log of the **whole bank** beside what was predicted for the bank on your desk: how "
        "far they are apart, whether that is more than was to be expected, and what would "
        "explain it."
    )
    kept = choose_log(shelf, "Log of the bank", "compare log")
    if kept is None:
        return
    _offer_bench(kept)
    look = checked(desk().draft)
    if look.scenario is None:
        st.error("The bank on your desk is not sound yet; mend it on the page Your bank:")
        for fault in look.faults:
            st.error(plain(fault))
        return
    st.markdown(f"Predicted: **{plain(look.scenario.title)}**")
    _ask(shelf, kept, look.scenario)


def _ask(shelf: Shelf, kept: Kept, scenario: Scenario) -> None:
    """Ask for the conditions, start the work, show what it found."""
    asked = replace(shelf.asked_of(kept), keep_others=True)
    try:
        log = read(kept, asked)
    except SimulationError as error:
        show_trouble(error)
        return
    settings = _settings(is_guessed=asked.sign == AUTO)
    columns, own = _currents(shelf, kept, log, scenario)
    digest = digest_of(
        JOB, key_of(kept, asked), desk().draft.digest, settings, sorted(columns.items()),
        [(name, key_of(one, shelf.asked_of(one))) for name, one in sorted(own.items())],
    )  # fmt: skip
    job = job_of(JOB, digest)
    if job is None:
        if not st.button("Compare", type="primary"):
            return
        try:
            logs = {name: read(one, shelf.asked_of(one)) for name, one in own.items()}
        except SimulationError as error:
            show_trouble(error)
            return
        job = start(JOB, digest, lambda tell: _work(scenario, log, settings, columns, logs, tell))
    found: Shown | None = answer_of(job, "Comparing")
    if found is not None:
        show_shown(found, "comparison", ALTS, open_first=2)


def _settings(*, is_guessed: bool) -> Settings:
    load = st.radio(
        "The bank is driven with", LOADS, format_func=DRIVES.__getitem__, key="compare load",
        persist_state="session", horizontal=True,
        help="The measured current keeps errors of the load apart from those of batteries: "
        "better where the load is not known exactly.",
    )  # fmt: skip
    with st.expander("Timing, meters, random cases"):
        shift_s = number_field(
            "The scenario starts at this second of the log [s]", "compare shift", -1e8, 1e8,
            help="Empty: so that the first lasting currents of both agree.",
        )  # fmt: skip
        stopped_early = st.checkbox(
            "Recording stopped while the bank went on", key="compare early",
            persist_state="session",
        )  # fmt: skip
        amps = sure_field(
            "Error of the ammeter, one standard deviation [%]", "compare amps", 0.01, 20.0, 0.5
        )
        volts = sure_field(
            "Error of the voltmeter, one standard deviation [%]", "compare volts", 0.01, 20.0, 0.1
        )
        draws = whole_field("Random cases for the band", "compare draws", 20, 2000, value=100)
        seed = whole_field("Seed of the random numbers", "compare seed", 0, 2**31 - 1, value=1)
    return Settings(
        load=load or SCENARIO,
        shift_s=shift_s,
        stopped_early=stopped_early,
        sign_is_guessed=is_guessed,
        meter=Meter(amps, volts),
        draws=draws or 100,
        seed=1 if seed is None else seed,
    )


def _currents(
    shelf: Shelf, kept: Kept, log: Log, scenario: Scenario
) -> tuple[dict[str, str], dict[str, Kept]]:
    """Ask where the current of each battery is: a column of this log, or a log of its own."""
    headers = list(log.others)
    others = [one for one in shelf.logs if one.digest != kept.digest]
    options = [
        None,
        *(("column", one) for one in headers),
        *(("log", one.digest) for one in others),
    ]
    columns: dict[str, str] = {}
    own: dict[str, Kept] = {}
    with st.expander("Where the current of each battery is"):
        st.caption(
            "Columns whose header has the battery's name and a word for current are found. The "
            "currents of single batteries say most about what is wrong."
        )
        for name in [one.name for one in scenario.bank.batteries]:
            chosen = st.selectbox(
                f"Current of {plain(quoted(name))}",
                options,
                format_func=lambda one: _told(one, shelf),
                key=f"current of {name} in {kept.digest} {len(options)}",
            )
            if chosen is not None and chosen[0] == "column":
                columns[name] = chosen[1]
            elif chosen is not None and (of_its_own := shelf.named(chosen[1])) is not None:
                own[name] = of_its_own
    return columns, own


def _told(option: tuple[str, str] | None, shelf: Shelf) -> str:
    if option is None:
        return "find by header"
    if option[0] == "column":
        return f"column {clean(option[1], 60)}"
    kept = shelf.named(option[1])
    return f"log {kept.name}" if kept is not None else "log"


def _work(
    scenario: Scenario,
    log: Log,
    settings: Settings,
    columns: Mapping[str, str],
    logs: Mapping[str, Log],
    progress: Progress,
) -> Shown:
    """Compare, in a thread of its own."""
    from bankSim.measured.compare import compare
    from bankSim.show.compare_answer import compare_answer
    from bankSim.study.blocks import threads

    try:
        with threads() as workers:
            found = compare(
                scenario, log, workers, settings, columns=columns, logs=logs, progress=progress
            )
        return shown(compare_answer(found))
    except SimulationError as error:
        raise in_words_of_page(error) from error


def _offer_bench(kept: Kept) -> None:
    """Beside the made-up log of a bank: offer the bank that it belongs to."""
    if kept.name != examples.OF_BANK:
        return
    bench = examples.bench_draft()
    if _names(bench.data) == _names(desk().draft.data):
        return
    st.info("This made-up log belongs to a made-up bank, which is not the one on your desk.")
    st.button("Put the made-up bank on my desk", on_click=desk().change, args=(bench,),
              help="Yours can be had back by undoing, on the page Your bank.")  # fmt: skip


def _names(data: Mapping[str, object]) -> Sequence[object]:
    batteries = data.get("battery")
    return [one.get("name") for one in batteries] if isinstance(batteries, list) else []
