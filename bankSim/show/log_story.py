"""How a measured log was read, told column by column, with everything odd about it."""

from typing import Any

import numpy as np

from bankSim.measured.log import WARNING, Log
from bankSim.measured.zero import zero_of_log
from bankSim.show.blocks import Grid, Section, Story
from bankSim.show.words import left_over
from bankSim.sim.numbers import clean, number, quoted, sentence, span
from bankSim.sim.summary import SAFETY_TEXT, program_version

MOST_FINDINGS = 40


def tell_log(log: Log) -> Story:
    """Turn a log into a story: what it holds, how each column was understood, what is odd."""
    sections = [_numbers(log), reading_section(log)]
    if log.gaps:
        sections.append(_gaps(log))
    sections.append(Section("Safety", (SAFETY_TEXT,)))
    doubts = [f"Check this first: {one}" for one in (*log.doubts, *zero_of_log(log))]
    spoilt = [f"Beware: {clean(one.text)}" for one in log.findings if one.spoils]
    return Story(f"Log {clean(log.file)}", (*doubts, *spoilt, _headline(log)), tuple(sections))


def reading_section(log: Log, *, named: bool = False) -> Section:
    """Tell how a log was read; other commands put this into their stories, named if several."""
    rows = tuple(
        (str(use.number), clean(use.column, 40), use.meaning, use.unit or "-",
         "asked for" if use.asked else "guessed" if use.meaning != "not used" else "")
        for use in log.uses
    )  # fmt: skip
    grid = Grid(("column", "header", "read as", "unit", "why"), rows, words=5) if rows else None
    lines = [f"Direction of current: {log.sign}; {log.sign_reason}."]
    for finding in log.findings[:MOST_FINDINGS]:
        mark = "WARNING: " if finding.severity == WARNING else ""
        lines.append(mark + sentence(finding.text))
    left = len(log.findings) - MOST_FINDINGS
    if left > 0:
        lines.append(f"{left_over(left, 'finding', 'is', 'are')} in the JSON.")
    title = f"How {clean(log.file)} was read" if named else "How the log was read"
    return Section(title, tuple(lines), grid)


def log_summary(log: Log) -> dict[str, Any]:
    """Return the same for JSON."""
    temperature = log.temperature_C
    return {
        "question": "log",
        "file": log.file,
        **log_numbers(log),
        "starts_at": log.starts_at.isoformat() if log.starts_at else None,
        "cells": int(log.cells_V.shape[1]),
        "temperature": temperature is not None,
        "sign": log.sign,
        "sign_reason": log.sign_reason,
        "columns": [
            {"column": u.column, "number": u.number, "read_as": u.meaning, "unit": u.unit,
             "asked": u.asked}
            for u in log.uses
        ],
        "findings": [
            {"text": f.text, "rows": list(f.rows), "count": f.count, "severity": f.severity,
             "on_top": f.on_top}
            for f in log.findings
        ],
        "gaps": [
            {"after_row": int(log.rows[g.before]), "length_s": g.length_s, "usual_s": g.usual_s}
            for g in log.gaps
        ],
        "version": program_version(),
        "safety": SAFETY_TEXT,
    }  # fmt: skip


def log_numbers(log: Log) -> dict[str, Any]:
    """Return the plain numbers of a log."""
    steps = np.diff(log.time_s)
    rising = steps[steps > 0.0]
    given_Ah, given_Wh = log.counted_Ah()[-1], log.counted_Wh()[-1]
    return {
        "samples": log.count,
        "span_h": float(log.time_s[-1]) / 3600.0,
        "interval_s": float(np.median(rising)) if rising.size else None,
        "given_Ah": float(given_Ah),
        "given_Wh": float(given_Wh),
        "lowest_V": float(log.voltage_V.min()),
        "highest_V": float(log.voltage_V.max()),
        "lowest_A": float(log.current_A.min()),
        "highest_A": float(log.current_A.max()),
    }


def _headline(log: Log) -> str:
    told = log_numbers(log)
    warnings = sum(one.severity == WARNING for one in log.findings)
    given = told["given_Ah"]
    what = f"gave {number(given)} Ah" if given >= 0.0 else f"took in {number(-given)} Ah"
    tail = f" {warnings} {'warning' if warnings == 1 else 'warnings'} below." if warnings else ""
    return (
        f"{log.count:,} samples over {span(float(log.time_s[-1]))}: on balance the battery {what}, "
        f"between {number(told['lowest_V'], 4)} and {number(told['highest_V'], 4)} V.{tail}"
    )


def _numbers(log: Log) -> Section:
    told = log_numbers(log)
    interval = told["interval_s"]
    rows = [
        ("samples", f"{log.count:,}"),
        ("span", span(float(log.time_s[-1]))),
        ("usual interval", "-" if interval is None else span(interval)),
        ("given on balance", f"{number(told['given_Ah'], 4)} Ah, {number(told['given_Wh'], 4)} Wh"),
        ("voltage", f"{number(told['lowest_V'], 4)} to {number(told['highest_V'], 4)} V"),
        ("current, discharge positive",
         f"{number(told['lowest_A'], 4)} to {number(told['highest_A'], 4)} A"),
    ]  # fmt: skip
    if log.starts_at:
        rows.insert(1, ("begins", log.starts_at.isoformat(sep=" ", timespec="seconds")))
    for place in range(log.cells_V.shape[1]):
        values = log.cells_V[:, place]
        good = values[np.isfinite(values)]
        reach = f"{number(good.min(), 4)} to {number(good.max(), 4)} V" if good.size else "-"
        rows.append((f"cell {place + 1}", reach))
    return Section("What it holds", (), Grid(("what", "value"), tuple(rows), words=2))


def _gaps(log: Log) -> Section:
    longest = sorted(log.gaps, key=lambda gap: -gap.length_s)[:12]
    rows = tuple(
        (str(log.rows[gap.before]), span(float(log.time_s[gap.before])), span(gap.length_s),
         span(gap.usual_s))
        for gap in sorted(longest, key=lambda gap: gap.before)
    )  # fmt: skip
    more = len(log.gaps) - len(rows)
    lines = (f"{more} shorter gaps are in the JSON.",) if more else ()
    grid = Grid(("after row", "at", "long", "usual interval"), rows, words=4)
    return Section("Gaps", lines, grid)


def written_line(log: Log, name: str) -> str:
    """Say what was written in the open format, and what not."""
    text = f"Written: {name} (open format, charge positive, {log.count:,} rows"
    left = [quoted(use.column) for use in log.uses if use.meaning.startswith("cell ")]
    return text + ("; it has no columns for cells)" if left else ")")
