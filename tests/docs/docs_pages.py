"""Where the pages are, and what is in them."""

import importlib.util
import re
from pathlib import Path

from markdown_it import MarkdownIt

ROOT = Path(__file__).resolve().parents[2]
DOCS = ROOT / "docs"
PAGES = sorted([*DOCS.rglob("*.md"), *(ROOT / name for name in ("README.md", "DEVELOPERS.md"))])


def load_make():
    """Return docs/make.py as a module."""
    spec = importlib.util.spec_from_file_location("docs_make", DOCS / "make.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def tokens_of(path):
    """Return all tokens of a page, those inside lines too."""
    found = []
    for token in MarkdownIt("commonmark").enable("table").parse(path.read_text(encoding="utf-8")):
        found += [token, *(token.children or [])]
    return found


def targets_of(path):
    """Return what links and pictures of a page point to."""
    return [
        str(token.attrs.get("href") or token.attrs.get("src"))
        for token in tokens_of(path)
        if token.type in ("link_open", "image")
    ]


def anchors_of(path):
    """Return the anchors that headings make: small letters, hyphens, repeats numbered."""
    tokens, found = tokens_of(path), []
    for place, token in enumerate(tokens):
        if token.type == "heading_open":
            text = "".join(
                one.content
                for one in tokens[place + 1].children
                if one.type in ("text", "code_inline")
            )
            slug = re.sub(r"[^\w\- ]", "", text.strip().lower()).replace(" ", "-")
            again = sum(one == slug or one.rpartition("-")[0] == slug for one in found)
            found.append(f"{slug}-{again}" if slug in found else slug)
    return set(found)
