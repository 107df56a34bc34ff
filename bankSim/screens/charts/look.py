"""The two looks of all pictures: colours for every eye, dashes and hatches beside them."""

from dataclasses import dataclass
from typing import Any

FONT = "system-ui, -apple-system, 'Segoe UI', 'Liberation Sans', sans-serif"
TEXT_PX = 13
SMALL_PX = 12


@dataclass(frozen=True, slots=True)
class Look:
    """Colours of a picture, as "#rrggbb".

    Parameters
    ----------
    name : str
        "light" or "dark".
    paper : str
        Behind everything.
    ink : str
        Of texts.
    quiet : str
        Of axes, marks and the ghost.
    faint : str
        Of the grid.
    alert : str
        Of what decides: a limit, a deciding cell.
    colours : tuple of str
        Of batteries in the order of the file.
    dashes : tuple of str
        Beside the colours, so that lines differ in grey too.
    hatches : tuple of str
        The same of areas, in plotly's words.
    """

    name: str
    paper: str
    ink: str
    quiet: str
    faint: str
    alert: str
    colours: tuple[str, ...]
    dashes: tuple[str, ...] = ("solid", "6px,2px", "2px,2px", "8px,2px,2px,2px", "12px,3px")
    hatches: tuple[str, ...] = ("", "/", ".", "\\", "-", "x", "+")

    def colour(self, place: int) -> str:
        """Return the colour of the battery in this place, from 0."""
        return self.colours[place % len(self.colours)]

    def dash(self, place: int) -> str:
        """Return its dashes; 30 places before a pair of colour and dashes comes again."""
        return self.dashes[place % len(self.dashes)]

    def line(self, place: int) -> dict[str, Any]:
        """Return the line of the battery in this place, as plotly wants it."""
        return {"color": self.colour(place), "dash": self.dash(place), "width": 2.0}


# Okabe & Ito, "Color Universal Design" (2008); orange, sky blue and pink darkened until they keep
# 3 : 1 against white. On the dark paper the original ones, blue and green lightened.
LIGHT = Look(
    name="light",
    paper="#ffffff",
    ink="#222222",
    quiet="#6f6f6f",
    faint="#e2e2e2",
    alert="#c34f00",
    colours=("#0072b2", "#d55e00", "#00815e", "#b8588f", "#a87200", "#2d86b8"),
)
DARK = Look(
    name="dark",
    paper="#14181c",
    ink="#eceff1",
    quiet="#9aa3ab",
    faint="#343b42",
    alert="#ff8f3f",
    colours=("#56b4e9", "#f0883e", "#2fc598", "#dd94bb", "#e6b422", "#8fb7ff"),
)

# what plotly offers above a picture: a PNG, closer, back again; no logo, no link
CONFIG: dict[str, Any] = {
    "displaylogo": False,
    "showTips": False,
    "responsive": True,
    "scrollZoom": False,
    "doubleClick": "reset",
    "modeBarButtons": [["toImage", "zoom2d", "resetScale2d"]],
    "toImageButtonOptions": {"format": "png", "filename": "bank", "scale": 2},
}
