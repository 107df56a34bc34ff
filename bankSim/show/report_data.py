"""The data beside a report: one zip with the scenario, its tables and all results."""

import io
import re
import zipfile
from collections.abc import Mapping
from pathlib import Path, PurePosixPath
from typing import Any

from bankSim.scenario.record import Scenario
from bankSim.show.files import SUMMARY, json_text
from bankSim.show.printing import story_text
from bankSim.show.report_parts import file_name
from bankSim.show.report_pictures import Picture
from bankSim.show.sheets import events_csv, timeline_csv
from bankSim.show.spread_story import tell_spread
from bankSim.show.story import tell
from bankSim.show.study_files import study_summary, summary_text
from bankSim.sim.numbers import clean
from bankSim.sim.result import Result
from bankSim.study.spread import SpreadResult

SAME_DATE = (1980, 1, 1, 0, 0, 0)  # of every file inside: same inputs, same bytes
REPORT, CONTENTS, SCENARIO = "report.html", "contents.txt", "scenario.toml"
TABLES = "tables"
LONGEST_STEM = 60
RESERVED = {
    "con",
    "prn",
    "aux",
    "nul",
    *(f"{port}{n}" for port in ("com", "lpt") for n in range(10)),
}
PLAIN_MODE = 0o100644 << 16


def report_data_zip(
    result: Result,
    html: str | None = None,
    *,
    spread: SpreadResult | None = None,
    pictures: Mapping[str, Picture] | None = None,
    tables: Mapping[str, bytes] | None = None,
) -> bytes:
    """Return a zip with everything that a report was made of.

    Parameters
    ----------
    result : Result
    html : str, optional
        The report itself goes in, too.
    spread : SpreadResult, optional
        Its story and its numbers, without the table of all draws.
    pictures : mapping, optional
        Figures, by name, from `bankSim.show.report.report_pictures`.
    tables : mapping, optional
        Contents of the scenario's tables by their name in the file; read from the scenario's
        folder when not given.

    Returns
    -------
    content : bytes
        The same inputs give the same bytes. Names inside are of plain letters, never absolute,
        never leading out of the folder; contents.txt says what a table was called.
    """
    scenario = result.scenario
    read = read_tables(scenario) if tables is None else tables
    places = table_places(read)
    files: dict[str, bytes] = {SCENARIO: scenario.text.encode()} if scenario.text else {}
    files |= {places[name]: content for name, content in read.items()}
    texts = {
        "story.txt": story_text(tell(result)),
        SUMMARY: json_text(result),
        "timeline.csv": timeline_csv(result),
        "events.csv": events_csv(result),
    }
    if spread is not None:
        texts["draws-story.txt"] = story_text(tell_spread(spread))
        texts["draws-summary.json"] = summary_text(_draws_summary(spread))
    if html is not None:
        texts[REPORT] = html
    files |= {name: text.encode() for name, text in texts.items()}
    files |= {f"figures/{name}.png": one.png for name, one in (pictures or {}).items()}
    files[CONTENTS] = _contents(scenario, places).encode()
    return _zipped(files)


def _draws_summary(spread: SpreadResult) -> dict[str, Any]:
    """Numbers of the draws; of the scenario's file only its name."""
    summary = study_summary("spread", spread)
    summary["draws"]["file"] = file_name(spread.draws.plan.scenario)
    return summary


def read_tables(scenario: Scenario) -> dict[str, bytes]:
    """Return the tables that a scenario names and that can still be read, by that name."""
    found = {}
    for name in scenario.tables:
        try:
            found[name] = (Path(scenario.folder) / name).read_bytes()
        except (OSError, ValueError):
            continue
    return found


def table_places(names: Mapping[str, bytes]) -> dict[str, str]:
    """Return where each table goes in the zip, by its name in the scenario file.

    A plain relative name stays, so that the scenario runs from the unpacked folder; any other
    becomes a plain one in the folder "tables".
    """
    kept: dict[str, str] = {}
    for name in names:
        if _is_plain(name) and name.casefold() not in map(str.casefold, kept):
            kept[name] = name
    others = (name for name in names if name not in kept)
    return kept | {name: f"{TABLES}/{n}-{safe_name(name)}" for n, name in enumerate(others, 1)}


def _is_plain(name: str) -> bool:
    """Tell whether a name may stand in the zip as it is, beside our own files."""
    parts = PurePosixPath(name).parts
    return (
        len(name) <= 2 * LONGEST_STEM
        and "/".join(parts) == name
        and all(part == safe_name(part) for part in parts)
        and name.casefold() not in OURS
        and parts[0].casefold() not in (TABLES, "figures")
    )


def safe_name(name: str) -> str:
    """Return the last part of a path in plain letters that every system takes for a file."""
    last = re.split(r"[/\\]", name)[-1]
    stem, dot, ending = last.rpartition(".")
    stem, ending = (stem, ending) if dot else (last, "")
    plain = re.sub(r"[^A-Za-z0-9_-]+", "-", stem).strip("-")[:LONGEST_STEM] or "table"
    plain = f"{plain}-" if plain.casefold() in RESERVED else plain
    tail = re.sub(r"[^A-Za-z0-9]+", "", ending)[:8]
    return f"{plain}.{tail}" if tail else plain


OURS = {
    REPORT, CONTENTS, SCENARIO, SUMMARY, "story.txt", "timeline.csv", "events.csv",
    "draws-story.txt", "draws-summary.json",
}  # fmt: skip


def _contents(scenario: Scenario, places: Mapping[str, str]) -> str:
    """Say which file is what, where names had to change, and what could not be read."""
    lines = [
        f"{SCENARIO}: {file_name(scenario) or 'made in the program'}",
        *(f"{place}: the table {clean(name)}" for name, place in places.items()),
        *(f"not found any more: {clean(name)}" for name in scenario.tables if name not in places),
        "summary.json: every number; story.txt: the same in sentences",
        "timeline.csv: voltages and currents over time; events.csv: everything that switched",
    ]
    return "\n".join(lines) + "\n"


def _zipped(files: Mapping[str, bytes]) -> bytes:
    page = io.BytesIO()
    with zipfile.ZipFile(page, "w", zipfile.ZIP_DEFLATED) as pack:
        for name, content in files.items():
            entry = zipfile.ZipInfo(name, SAME_DATE)
            entry.compress_type, entry.external_attr = zipfile.ZIP_DEFLATED, PLAIN_MODE
            entry.create_system = 3  # the same on every system
            pack.writestr(entry, content)
    return page.getvalue()
