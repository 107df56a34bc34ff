"""What all pictures share: the frame of a specification, its axes, and the way to a figure."""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from plotly.graph_objects import Figure

Spec = dict[str, Any]  # {"data": [...], "layout": {...}}; numbers as numpy arrays


def figure_of(spec: Spec) -> "Figure":
    """Return the plotly figure of a specification, without the check of every key."""
    raise NotImplementedError
