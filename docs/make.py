"""Writes what is generated in docs/: python docs/make.py (with --check: only tell what is old).

api.md is written whole; in other pages only what stands between the marks
`<!-- made by docs/make.py: NAME -->` and `<!-- end -->`; figures of chemistries are drawn anew
where their numbers have changed.
"""

import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parent)]

from making import api, blocks, chemistry, figures, words  # noqa: E402 - after the paths


def makers() -> dict[str, blocks.Maker]:
    """Return the functions that make marked blocks, by the name in the mark."""
    return {**words.makers(), **chemistry.makers()}


def pages() -> dict[Path, str]:
    """Return every page that holds something generated, as it ought to be."""
    made = {HERE / "api.md": api.page()}
    for path in sorted(HERE.rglob("*.md")):
        text = path.read_text(encoding="utf-8")
        if blocks.has_marks(text):
            made[path] = blocks.filled(text, makers())
    return made


def old_pages() -> list[Path]:
    """Return the pages that are not as they ought to be."""
    return list(_wanted())


def _wanted() -> dict[Path, str]:
    """Return those pages as they ought to be."""
    return {
        path: text
        for path, text in pages().items()
        if not path.exists() or path.read_text(encoding="utf-8") != text
    }


def old_figures() -> list[Path]:
    """Return the figures that are missing or show other numbers than the program has."""
    folder = HERE / "chemistries"
    return [folder / name for name in figures.NAMES if not figures.is_fresh(folder / name)]


def main(arguments: list[str]) -> int:
    """Write, or tell, what is old."""
    wanted, drawn = _wanted(), old_figures()
    old = [*wanted, *drawn]
    for path in old:
        print(path.relative_to(HERE.parent))
    if "--check" in arguments:
        return int(bool(old))
    for path, text in wanted.items():
        path.write_text(text, encoding="utf-8")
    for path in drawn:
        figures.draw(path)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
