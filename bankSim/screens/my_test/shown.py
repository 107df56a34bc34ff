"""An answer made ready for the page: words, small pictures, files; nothing large stays behind."""

import threading
from dataclasses import dataclass, replace

from bankSim.screens.my_test.words import on_page
from bankSim.show.answer import Answer
from bankSim.show.blocks import Grid, Section, Story
from bankSim.show.files import png_of
from bankSim.show.printing import story_text
from bankSim.show.study_files import summary_text

DPI = 150
_PEN = threading.Lock()  # figures share fonts: one is drawn at a time


@dataclass(frozen=True, eq=False)
class Shown:
    """What a page shows of an answer.

    Parameters
    ----------
    story : Story
    text : str
        The full story, as a file.
    summary : str
        JSON, as the command writes it.
    pictures : tuple of (str, bytes)
        Name and PNG.
    texts : tuple of (str, str)
        Other files: name and text.
    """

    story: Story
    text: str
    summary: str
    pictures: tuple[tuple[str, bytes], ...] = ()
    texts: tuple[tuple[str, str], ...] = ()


def shown(answer: Answer) -> Shown:
    """Draw and write what an answer holds."""
    return Shown(
        story_on_page(answer.full_story),
        story_text(answer.full_story),
        summary_text(answer.summary),
        _pictures(answer),
        tuple(answer.texts.items()),
    )


def _pictures(answer: Answer) -> tuple[tuple[str, bytes], ...]:
    with _PEN:
        return tuple((name, png_of(figure, DPI)) for name, figure in answer.figures().items())


def story_on_page(story: Story) -> Story:
    """Return a story in the words of the page; the safety text stands on every page already."""
    return Story(
        on_page(story.title),
        tuple(map(on_page, story.headline)),
        tuple(_section(one) for one in story.sections if one.title != "Safety"),
    )


def _section(one: Section) -> Section:
    grid = one.grid
    if grid is not None:
        rows = tuple(tuple(map(on_page, row)) for row in grid.rows)
        grid = Grid(grid.columns, rows, grid.words)
    return replace(one, lines=tuple(map(on_page, one.lines)), grid=grid)
