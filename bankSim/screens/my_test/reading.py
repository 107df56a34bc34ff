"""Reads the logs of a shelf; what was read last is at hand, by the bytes and what was asked."""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, replace

import streamlit as st

from bankSim.errors import SimulationError
from bankSim.kernels.arrays import Floats
from bankSim.measured.log import Asked, Log, LogError
from bankSim.screens.my_test.shelf import Kept
from bankSim.screens.my_test.shown import story_on_page
from bankSim.screens.my_test.words import on_page
from bankSim.show.blocks import Story

MOST_READ = 4  # whole logs in memory, of all visitors together; a large one takes 100 MB
MOST_LOOKS = 64
MOST_POINTS = 400  # times four: of a line in the preview
GONE = "was removed to make room for others; bring it again"


@dataclass(frozen=True, eq=False)
class Look:
    """What is shown of a log.

    Parameters
    ----------
    story : Story
        How it was read.
    warnings : tuple of str
    lines : tuple of (name, unit, array, array)
        Thinned: hours and values, of voltage and current. [h, then V or A]
    summary : str
        JSON.
    columns : mapping
        From "time", "voltage", "cell 1", ... to the number of the column that was taken for it.
    """

    story: Story
    warnings: tuple[str, ...]
    lines: tuple[tuple[str, str, Floats, Floats], ...]
    summary: str
    columns: Mapping[str, int]


def key_of(kept: Kept, asked: Asked) -> str:
    """Return a digest of a log and of what was said about it."""
    return digest_of(kept.digest, kept.name, asked)


def digest_of(*parts: object) -> str:
    """Return a digest of things whose `repr` says all of them."""
    return hashlib.sha256("\0".join(repr(part) for part in parts).encode()).hexdigest()


def read(kept: Kept, asked: Asked) -> Log:
    """Return a log, under the name that the visitor knows.

    Raises
    ------
    LogError
        One line: what is wrong and what helps.
    """
    return _read(key_of(kept, asked), kept, asked)


def look(kept: Kept, asked: Asked) -> Look:
    """Return what is shown of a log; raises as `read`."""
    return _look(key_of(kept, asked), kept, asked)


def headers(kept: Kept) -> tuple[str, ...]:
    """Return the headers of a log, whether or not it can be read; none where there is no table."""
    return _headers(kept.digest, kept) if kept.file.is_file() else ()  # others may still have it


@st.cache_resource(max_entries=MOST_READ, show_spinner="Reading the log ...")
def _read(key: str, _kept: Kept, _asked: Asked) -> Log:
    from bankSim.measured.read import read_log

    if not _kept.file.is_file():
        raise LogError(f"{_kept.name}: {GONE}")
    try:
        log = read_log(_kept.file, _asked)
    except LogError as error:
        raise LogError(_renamed(str(error), _kept)) from error
    return replace(log, file=_kept.name)


def _renamed(text: str, kept: Kept) -> str:
    return on_page(text.replace(str(kept.file), kept.name))


@st.cache_resource(max_entries=MOST_LOOKS, show_spinner=False)
def _look(key: str, _kept: Kept, _asked: Asked) -> Look:
    from bankSim.measured.log import WARNING
    from bankSim.show.log_story import log_summary, tell_log
    from bankSim.show.study_files import summary_text
    from bankSim.show.thin import thin

    log = read(_kept, _asked)
    hours = log.time_s / 3600.0
    lines = [
        (name, unit, *thin(hours, values, MOST_POINTS))
        for name, unit, values in (
            ("Voltage", "V", log.voltage_V),
            ("Current, discharge positive", "A", log.current_A),
        )
    ]
    warnings = tuple(on_page(one.text) for one in log.findings if one.severity == WARNING)
    used = [use for use in log.uses if use.meaning != "not used"]
    columns = {use.meaning.removeprefix("air "): use.number for use in used}
    story, summary = story_on_page(tell_log(log)), summary_text(log_summary(log))
    return Look(story, warnings, tuple(lines), summary, columns)


@st.cache_resource(max_entries=MOST_LOOKS, show_spinner=False)
def _headers(key: str, _kept: Kept) -> tuple[str, ...]:
    from bankSim.measured.read import headers_of

    try:
        return headers_of(_kept.file)
    except (SimulationError, OSError):
        return ()
