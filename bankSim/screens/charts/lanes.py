"""The lanes of the batteries: who feeds, is charged, is blocked or out; words at what happens."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from bankSim.kernels.arrays import Floats
from bankSim.model.load import Flags
from bankSim.screens.charts.frame import LETTER_PX, NARROW_PX, note
from bankSim.screens.charts.look import SMALL_PX, Look
from bankSim.screens.charts.text import safe_name, safe_text
from bankSim.screens.charts.thinning import Window
from bankSim.show.bins import mean_in
from bankSim.show.course import BIT, Course, course_of
from bankSim.show.lane_marks import Mark, marks
from bankSim.sim.result import Result

BAR_PX, TEXT_ROW_PX = 13.0, 16.0  # half a bar; a row of words above it
NAME_PX, GAP_PX = 16.0, 9.0
FEW, MANY = 6, 24
BINS = 360
LEAST_PART = 1e-9
WORDS = ("rests", "feeds", "is charged")
SHUT = ("", ", charge blocked", ", discharge blocked", ", blocked both ways")


@dataclass(frozen=True, slots=True)
class Lanes:
    """Traces and texts of the lanes, heights in px downwards from 0.

    Parameters
    ----------
    data, notes, shapes : list of dict
    """

    data: list[dict[str, Any]]
    notes: list[dict[str, Any]]
    shapes: list[dict[str, Any]]


@dataclass(frozen=True, slots=True)
class Plan:
    """Where the lanes are and which words find room.

    Parameters
    ----------
    count : int
        Of lanes.
    placed : list of (Mark, int, bool)
        Mark, row above its lane, whether it reads to the left.
    hidden : int
        Marks without room.
    """

    count: int
    placed: list[tuple[Mark, int, bool]]
    hidden: int

    @property
    def rows(self) -> int:
        """Rows of words above a lane; the lowest one stands beside the name."""
        return max((row + 1 for _, row, _ in self.placed), default=0)

    @property
    def pitch_px(self) -> float:
        """From one lane to the next. [px]"""
        return NAME_PX + self.rows * TEXT_ROW_PX + 2 * BAR_PX + GAP_PX

    @property
    def height_px(self) -> float:
        """Of all lanes. [px]"""
        return self.count * self.pitch_px

    def middle_px(self, place: int) -> float:
        """Return how high the line of a lane is; 0 is the top. [px]"""
        return -(place * self.pitch_px + NAME_PX + self.rows * TEXT_ROW_PX + BAR_PX)


def plan_lanes(result: Result, window: Window) -> Plan:
    """Return where the lanes are, and the words that find room on a narrow screen."""
    count = len(result.batteries)
    rows = 2 if count <= FEW else 1 if count <= MANY else 0
    shown = [one for one in marks(result) if window.low_s <= one.time_s <= window.high_s]
    placed = _placed(shown, window, rows)
    return Plan(count, placed, len(shown) - len(placed))


def lanes(
    result: Result,
    window: Window,
    plan: Plan,
    look: Look,
    refs: dict[str, str],
    width_s: float | None = None,
) -> Lanes:
    """Return all lanes.

    Parameters
    ----------
    result : Result
        Of more than an instant.
    window : Window
    plan : Plan
        Of that window.
    look : Look
    refs : dict
        {"xaxis": "x", "yaxis": "y2"} for traces.
    width_s : float, optional
        Where much switches: the height of a bar is the part of the time in stretches so long. [s]
    """
    course = course_of(result)
    high_s = min(window.high_s, result.end_time_s)
    bins = BINS if width_s is None else max(1, round((high_s - window.low_s) / width_s))
    edges = np.linspace(window.low_s, high_s, min(bins, BINS) + 1)
    areas = _Areas(look, refs)
    data: list[dict[str, Any]] = []
    notes: list[dict[str, Any]] = []
    for place, battery in enumerate(result.batteries):
        base = plan.middle_px(place)
        name = safe_name(battery.name)
        data += areas.of(course, place, edges, base, window.factor)
        told = np.linspace(window.low_s, high_s, BINS + 1)
        data.append(_line(course, place, told, base, window, look, refs, name))
        top = base + BAR_PX + plan.rows * TEXT_ROW_PX
        notes.append(note(look, f"<b>{name}</b>", x=0.0, xref="paper", y=top, yref=refs["yaxis"]))
    written, shapes = _words(plan, window, look, refs)
    return Lanes(data + areas.key(), notes + written, shapes)


def _line(
    course: Course,
    place: int,
    at_s: Floats,
    base: float,
    window: Window,
    look: Look,
    refs: dict[str, str],
    name: str,
) -> dict[str, Any]:
    """Return the middle line of a lane; it tells in words what the battery does."""
    return {
        "type": "scatter",
        "mode": "lines",
        "x": at_s / window.factor,
        "y": np.full(at_s.size, base),
        "line": {"color": look.ink, "width": 1.0},
        "text": _does(course, place, at_s),
        "hovertemplate": f"{name}: %{{text}}<extra></extra>",
        "showlegend": False,
        **refs,
    }


def _does(course: Course, place: int, at_s: Floats) -> list[str]:
    """Return words for what a battery does at some instants."""
    span = np.clip(np.searchsorted(course.end_s, at_s), 0, course.length_s.size - 1)
    does = np.where(course.feeds[place], 1, np.where(course.takes[place], 2, 0))[span]
    shut = course.blocked[place].astype(int)[span] & BIT["both"]
    texts = [[word + end for end in SHUT] for word in WORDS]
    texts[0][BIT["discharge"]] = "out" + SHUT[BIT["discharge"]]
    texts[0][BIT["both"]] = "out" + SHUT[BIT["both"]]
    return [texts[a][b] for a, b in zip(does.tolist(), shut.tolist(), strict=True)]


class _Areas:
    """The bars of a lane, told apart by place, hatch and colour."""

    def __init__(self, look: Look, refs: dict[str, str]) -> None:
        self.look, self.refs = look, refs
        self.used: set[str] = set()
        feeds = {"fillcolor": look.colour(0), "line": {"width": 0}}
        takes = {"fillcolor": look.paper, "fillpattern": self._hatch("|", look.colour(1), 5)}
        shut = {"fillcolor": look.paper, "fillpattern": self._hatch("x", look.ink, 6)}
        self.kinds: dict[str, dict[str, Any]] = {
            "blocked and idle": {"fillcolor": look.faint},
            "feeds": feeds,
            "is charged": takes,
            "blocked: above discharge, below charge": shut,
        }

    def _hatch(self, shape: str, colour: str, size: int) -> dict[str, Any]:
        return {
            "shape": shape,
            "fgcolor": colour,
            "bgcolor": self.look.paper,
            "size": size,
            "solidity": 0.35,
            "fillmode": "overlay",
        }

    def of(
        self, course: Course, place: int, edges: Floats, base: float, factor: float
    ) -> list[dict[str, Any]]:
        """Return the bars of one battery; none where it never does that."""
        blocked = course.blocked[place].astype(int)

        def part(where: Flags) -> Floats:
            return np.clip(mean_in(course, where, edges), 0.0, 1.0)

        idle = part(course.rests[place] & (blocked > 0))
        bars = [
            [((idle > 0.5).astype(float), 1.0), ((idle > 0.5).astype(float), -1.0)],
            [(part(course.feeds[place]), 1.0)],
            [(part(course.takes[place]), -1.0)],
            [
                (part((blocked & BIT["discharge"]) > 0), 1.0),
                (part((blocked & BIT["charge"]) > 0), -1.0),
            ],
        ]
        found = []
        for name, group in zip(self.kinds, bars, strict=True):
            x, y = _outline(group, edges / factor, base)
            if x.size:
                self.used.add(name)
                found.append({**self._trace(self.kinds[name], x, y), "legendgroup": name})
        return found

    def key(self) -> list[dict[str, Any]]:
        """Return what explains the bars in the legend."""
        nothing = np.array([np.nan])
        return [
            {**self._trace(kind, nothing, nothing), "name": name, "showlegend": True}
            for name, kind in self.kinds.items()
            if name in self.used
        ]

    def _trace(self, kind: dict[str, Any], x: Floats, y: Floats) -> dict[str, Any]:
        return {
            "type": "scatter",
            "mode": "lines",
            "x": x,
            "y": y,
            "fill": "toself",
            "line": {"width": 0.8, "color": self.look.quiet},
            "hoverinfo": "skip",
            "showlegend": False,
            **kind,
            **self.refs,
        }


def _outline(
    group: list[tuple[Floats, float]], edges: Floats, base: float
) -> tuple[Floats, Floats]:
    """Return the outlines of bars whose height is a part of the time, gaps between them."""
    xs, ys = [], []
    for raw, sign in group:
        part = np.where(raw > LEAST_PART, raw, 0.0)
        ends = np.flatnonzero(np.diff((part > 0.0).astype(int), prepend=0, append=0))
        for first, end in ends.reshape(-1, 2):
            own = part[first:end]
            turns = np.flatnonzero(np.diff(own)) + 1
            corners = np.concatenate([[0], np.repeat(turns, 2), [own.size]])
            heights = np.repeat(own[np.concatenate([[0], turns])], 2)
            x = edges[first + corners]
            xs.append(np.concatenate([x[:1], x, x[-1:], [np.nan]]))
            ys.append(np.concatenate([[base], base + sign * BAR_PX * heights, [base], [np.nan]]))
    if not xs:
        return np.empty(0), np.empty(0)
    return np.concatenate(xs), np.concatenate(ys)


def _words(
    plan: Plan, window: Window, look: Look, refs: dict[str, str]
) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """Return the words above the lanes, and a line from each to its instant."""
    notes, shapes = [], []
    for mark, row, right in plan.placed:
        base = plan.middle_px(mark.lane)
        low = base + BAR_PX + row * TEXT_ROW_PX
        x = mark.time_s / window.factor
        notes.append(
            note(
                look,
                safe_text(mark.text),
                x=x,
                y=low - 1.0,
                xref="x",
                yref=refs["yaxis"],
                xanchor="right" if right else "left",
                bgcolor=look.paper,
                borderpad=0,
                font={"size": SMALL_PX - 1, "color": look.ink},
            )
        )
        shapes.append(
            {
                "type": "line",
                "xref": "x",
                "yref": refs["yaxis"],
                "x0": x,
                "x1": x,
                "y0": base - BAR_PX,
                "y1": low + 2.0,
                "line": {"color": look.ink, "width": 1.2},
            }
        )
    return notes, shapes


def _placed(shown: list[Mark], window: Window, rows: int) -> list[tuple[Mark, int, bool]]:
    """Choose the marks that fit, the heaviest first: mark, row, whether it reads to the left."""
    taken: list[tuple[int, int, float, float]] = []
    placed = []
    for mark in sorted(shown, key=lambda one: (-one.weight, one.time_s)):
        at_px = NARROW_PX * (mark.time_s - window.low_s) / window.span_s
        width = LETTER_PX * len(mark.text) + 8.0
        right = at_px + width > NARROW_PX and at_px > 0.5 * NARROW_PX
        low, high = (at_px - width, at_px) if right else (at_px, at_px + width)
        for row in range(rows):
            clash = any(
                lane == mark.lane and other == row and low < b and a < high
                for lane, other, a, b in taken
            )
            if not clash:
                taken.append((mark.lane, row, low, high))
                placed.append((mark, row, right))
                break
    return placed
