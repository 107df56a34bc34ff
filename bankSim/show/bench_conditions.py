"""What makes a capacity test another one than a discharge from full to the end at one go."""

from collections.abc import Iterator

from bankSim.measured.trial import Trial
from bankSim.show.words import shortened
from bankSim.sim.numbers import number, sentence, span

NO_AH = 0.0005  # less reads as nothing
LONG_PAUSE_S = 1200.0  # in all: less gives little back


def called(one: Trial) -> str:
    """The name of a test in sentences; of a long path both ends."""
    return f'"{shortened(one.name, 40)}"'


def conditions(one: Trial) -> Iterator[str]:
    """What makes a test another one than a discharge from full to the end at one go."""
    if one.not_full:
        yield f"{sentence(called(one))} is no full test: {one.not_full}."
    if one.open_end:
        yield (
            f"{sentence(called(one))} gave {number(one.later_Ah)} Ah more later, after a rest and "
            "without a charge; a load that gave up early may have ended it."
        )
    if one.parted_s > 0.0:
        yield (
            f"What came {span(one.parted_s, 2)} after {called(one)} is not added to it: the log "
            "shows no charge in between, but by its voltage or its gaps there may have been one."
        )
    yield from _paused(one)


def _paused(one: Trial) -> Iterator[str]:
    pauses, did = one.discharge.pauses, one.counted
    whole_s = sum(pause.length_s for pause in pauses)
    if whole_s < LONG_PAUSE_S:
        return
    paused = f"for {span(whole_s, 2)}"
    if len(pauses) > 1:
        paused = f"{len(pauses)} times, {paused} in all"
    charged = "the log shows no charge" if did.returned_Ah < NO_AH else "hardly charged"
    yield (
        f"{sentence(called(one))} was paused {paused} ({charged}): "
        f"what it gave before and after is one discharge, {number(did.hours_on)} h under load at a "
        f"mean of {number(did.mean_A)} A. A rest gives some voltage and charge back (more so in "
        "lead-acid), so without it the battery may have given less."
    )
