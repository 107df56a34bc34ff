"""Every relative link of the pages, and every anchor, is there."""

from functools import cache

import pytest
from docs_pages import DOCS, PAGES, ROOT, anchors_of, targets_of

anchors = cache(anchors_of)


def leads_somewhere(path, target):
    place, _, anchor = target.partition("#")
    aim = (path.parent / place).resolve() if place else path
    if not aim.exists() or not aim.is_relative_to(ROOT):
        return False
    return not anchor or (aim.suffix == ".md" and anchor in anchors(aim))


def broken(path):
    """Return the links of a page that lead nowhere; those to elsewhere are not followed."""
    own = [one for one in targets_of(path) if "://" not in one and not one.startswith("mailto:")]
    return [target for target in own if not leads_somewhere(path, target)]


@pytest.mark.parametrize("path", PAGES, ids=lambda path: str(path.relative_to(ROOT)))
def test_links_lead_somewhere(path):
    assert broken(path) == []


def test_a_broken_link_is_seen(tmp_path, monkeypatch):
    monkeypatch.setattr("test_links.ROOT", tmp_path)
    page = tmp_path / "page.md"
    page.write_text(
        "# One two\n[a](#one-two) [b](#one) [c](none.md) ![d](none.svg) [e](page.md#x)\n"
    )
    assert broken(page) == ["#one", "none.md", "none.svg", "page.md#x"]


def test_the_index_names_every_page():
    named = {
        (DOCS / target.partition("#")[0]).resolve() for target in targets_of(DOCS / "README.md")
    }
    ours = ("theory.md", "glossary.md", "api.md", "how-to", "chemistries/README.md")
    assert {(DOCS / name).resolve() for name in ours} <= named
    assert set((DOCS / "chemistries").glob("*.md")) <= named


@pytest.mark.parametrize("path", sorted((DOCS / "chemistries").glob("*.svg")), ids=lambda p: p.name)
def test_figures_are_small(path):
    assert path.stat().st_size < 60_000
