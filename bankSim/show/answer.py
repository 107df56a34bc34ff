"""What a command about measurements found, and how it goes into files."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bankSim.show.blocks import Story
from bankSim.show.files import save_figure, write_folder
from bankSim.show.printing import story_text
from bankSim.show.study_files import STORY, SUMMARY, summary_text
from bankSim.whole import as_bytes

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def no_figures() -> "dict[str, Figure]":
    """Make nothing."""
    return {}


@dataclass(frozen=True, eq=False)
class Answer:
    """How an answer is told, and what goes into files.

    Parameters
    ----------
    story : Story
        Printed.
    full_story : Story
        Written to story.txt.
    summary : dict
        For JSON; no NaN inside (`bankSim.show.study_files.study_summary` makes one).
    figures : callable
        Makes the figures, by name without ending.
    texts : mapping
        Other text files by their full name.
    """

    story: Story
    full_story: Story
    summary: dict[str, Any]
    figures: "Callable[[], dict[str, Figure]]" = no_figures
    texts: Mapping[str, str] = field(default_factory=dict)


def write_answer(answer: Answer, folder: Path, *, plots: bool) -> list[Path]:
    """Write story.txt, summary.json, other texts and the figures; return what was written.

    Raises
    ------
    OutputError
        When the folder cannot be written; earlier files are then untouched.
    """

    def write_all(workshop: Path) -> list[str]:
        drawn = {f"{name}.png": one for name, one in (answer.figures() if plots else {}).items()}
        for name, figure in drawn.items():
            save_figure(figure, workshop / name)
        names = [STORY, SUMMARY, *answer.texts, *drawn]
        summary = summary_text({**answer.summary, "files": names})
        texts = {STORY: story_text(answer.full_story), SUMMARY: summary, **answer.texts}
        for name, text in texts.items():
            (workshop / name).write_bytes(as_bytes(text))
        return names

    return write_folder(folder, write_all)
