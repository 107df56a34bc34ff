"""Paper that a wiring drawing is drawn on: an SVG tree, so that every text is escaped.

Presentation attributes only, no style sheet and no script: the drawing may stand inside a page with
a strict content policy, or in a file of its own. It has a white sheet of its own, so it reads the
same in light and dark surroundings.
"""

from collections.abc import Sequence
from hashlib import sha256
from xml.etree import ElementTree

from bankSim.show.looks import COLOURS, FAINT, INK
from bankSim.show.wiring_text import fitting, fitting_size
from bankSim.sim.numbers import clean

SHEET = "#ffffff"
SOFT = "#595959"  # 7.0:1 on white
PLUS, MINUS = COLOURS[1], COLOURS[0]
MINUS_SIGN = "\N{MINUS SIGN}"
FONT = "Arial, Helvetica, 'Liberation Sans', 'DejaVu Sans', sans-serif"
FACT_PX, NAME_PX = 11.0, 12.5
SMALLER = 0.85  # of a name's size, before letters are left out
MOST_MARKS = 24  # cells drawn one by one
CELL_PX = 8.0
Point = tuple[float, float]


class Paper:
    """Collects lines, marks and texts; (0, 0) is the upper left corner, all lengths in px."""

    def __init__(self, width_px: float) -> None:
        self.width_px = width_px
        self.root = ElementTree.Element("g", {"font-family": FONT, "fill": INK})

    def line(self, points: Sequence[Point], colour: str = INK, width: float = 2.0) -> None:
        """Draw straight pieces from point to point. Places and width [px]."""
        path = " ".join(f"{'ML'[place > 0]}{x:.1f} {y:.1f}" for place, (x, y) in enumerate(points))
        self._add(
            "path",
            d=path,
            fill="none",
            stroke=colour,
            stroke_width=f"{width:g}",
            stroke_linejoin="round",
            stroke_linecap="round",
        )

    def box(
        self,
        x: float,
        y: float,
        width: float,
        height: float,
        *,
        line: float = 1.5,
        fill: str = SHEET,
        colour: str = INK,
        round_px: float = 5.0,
    ) -> None:
        """Draw a box with rounded corners. [px]"""
        self._add(
            "rect",
            x=f"{x:.1f}",
            y=f"{y:.1f}",
            width=f"{width:.1f}",
            rx=f"{round_px:g}",
            height=f"{height:.1f}",
            fill=fill,
            stroke=colour,
            stroke_width=f"{line:g}",
        )

    def dot(self, at: Point, colour: str, radius: float = 3.5) -> None:
        """Draw where conductors meet. [px]"""
        self._add("circle", cx=f"{at[0]:.1f}", cy=f"{at[1]:.1f}", r=f"{radius:g}", fill=colour)

    def resistor(self, at: Point, *, upright: bool = False, colour: str = INK) -> None:
        """Draw a resistance, centred: a white bar on its conductor."""
        wide, high = (8.0, 20.0) if upright else (20.0, 8.0)
        self.box(at[0] - wide / 2, at[1] - high / 2, wide, high, colour=colour, round_px=0.0)

    def fuse(self, at: Point, *, upright: bool = False, colour: str = INK) -> None:
        """Draw a fuse, centred: a white bar with its conductor going on inside."""
        self.resistor(at, upright=upright, colour=colour)
        half = 10.0
        ends = [(0.0, -half), (0.0, half)] if upright else [(-half, 0.0), (half, 0.0)]
        self.line([(at[0] + x, at[1] + y) for x, y in ends], colour, 1.2)

    def text(
        self,
        x: float,
        y: float,
        text: str,
        *,
        size: float = FACT_PX,
        bold: bool = False,
        anchor: str = "start",
        fill: str = INK,
        room: float | None = None,
    ) -> None:
        """Write one line; with `room` it is made smaller until it fits, but never cut.

        Unit: [px]
        """
        line = clean(text)
        size = size if room is None else fitting_size(line, room, size, bold=bold)
        element = self._add(
            "text",
            x=f"{x:.1f}",
            y=f"{y:.1f}",
            font_size=f"{size:.3g}",
            fill=fill,
            text_anchor=anchor,
            font_weight="bold" if bold else "normal",
        )
        element.text = line

    def name(
        self,
        x: float,
        y: float,
        name: str,
        room: float,
        *,
        size: float = NAME_PX,
        bold: bool = True,
    ) -> None:
        """Write a name, a little smaller where that helps; what has no room is left out.

        Unit: [px]
        """
        size = max(fitting_size(clean(name), room, size, bold=bold), SMALLER * size)
        short = fitting(name, room, size, bold=bold)
        self.text(x, y, short, size=size, bold=bold)

    def cells(self, x: float, y: float, count: int, room: float) -> float:
        """Draw cells in series, a long and a short plate each; return the width. [px]"""
        shown = min(count, MOST_MARKS)
        pitch = min(CELL_PX, room / shown)
        places = [x + pitch * place for place in range(shown)]
        for offset, half, width in ((0.0, 6.0, 1.1), (0.45 * pitch, 3.0, 2.2)):
            plates = " ".join(f"M{at + offset:.1f} {y - half:.1f}v{2 * half:.1f}" for at in places)
            self._add(
                "path",
                d=plates,
                stroke=INK,
                stroke_width=f"{width:g}",
                fill="none",
                data_cells=str(shown),
            )
        return pitch * shown

    def svg(self, height_px: float, title: str, lines: Sequence[str]) -> str:
        """Return the finished drawing.

        Parameters
        ----------
        height_px : float
        title : str
            Read out first by screen readers.
        lines : sequence of str
            The drawing in sentences.
        """
        told = clean(" ".join(lines))
        mark = sha256(f"{self.width_px}{height_px}{title}{told}".encode()).hexdigest()[:10]
        size = f"{self.width_px:g} {height_px:g}"
        svg = ElementTree.Element(
            "svg",
            {
                "xmlns": "http://www.w3.org/2000/svg",
                "viewBox": f"0 0 {size}",
                "role": "img",
                "width": f"{self.width_px:g}",
                "height": f"{height_px:g}",
                "aria-labelledby": f"wiring-{mark} wiring-words-{mark}",
            },
        )
        for tag, text, name in (("title", title, "wiring"), ("desc", told, "wiring-words")):
            ElementTree.SubElement(svg, tag, {"id": f"{name}-{mark}"}).text = clean(text)
        ElementTree.SubElement(
            svg,
            "rect",
            {
                "x": "0.5",
                "y": "0.5",
                "width": f"{self.width_px - 1:g}",
                "rx": "6",
                "height": f"{height_px - 1:g}",
                "fill": SHEET,
                "stroke": FAINT,
            },
        )
        svg.append(self.root)
        return ElementTree.tostring(svg, encoding="unicode")

    def _add(self, tag: str, **attributes: str) -> ElementTree.Element:
        named = {key.replace("_", "-"): value for key, value in attributes.items()}
        return ElementTree.SubElement(self.root, tag, named)
