"""The steps of the lesson in their order, and what to take home."""

from bankSim.screens.lesson import (
    by_capacity,
    by_resistance,
    carries_all,
    currents_add,
    surge,
    weakest_cell,
    what_comes_out,
)
from bankSim.screens.lesson.step import Step
from bankSim.show.blocks import Grid

STEPS: tuple[Step, ...] = (
    currents_add.STEP,
    by_resistance.STEP,
    by_capacity.STEP,
    weakest_cell.STEP,
    carries_all.STEP,
    surge.STEP,
    what_comes_out.STEP,
)

# rule of thumb, where it fails
THUMB: tuple[tuple[str, str], ...] = (
    (
        "In parallel the Ah add.",
        "When a cell is low, when one is small for the load, or when one is blocked.",
    ),
    (
        "Equal leads, equal current.",
        "In a row with both take-off leads on the first; with cells of different resistance; "
        "towards the end, when capacity decides.",
    ),
    (
        "An old one can only add.",
        "When it cuts out early, the others get its part at once, on top of their own.",
    ),
    (
        "Any one must be able to carry the whole load.",
        "It never fails on the safe side; with many in parallel it may be more than you need.",
    ),
    (
        "Join only at equal voltage.",
        "Equal voltage is not equal charge where the curve is flat; charge each one fully first.",
    ),
    (
        "The electronics will protect it.",
        "Each one guards itself, not the bank: one cut-out can bring the next, and a return can "
        "surge. Every battery wants its own fuse, sized for its cable.",
    ),
)


def thumb_grid() -> Grid:
    """Return the rules of thumb as a table."""
    return Grid(("rule of thumb", "where it fails"), THUMB, words=2)
