"""The file that a visitor takes home: the scenario, or a ZIP of it and its tables."""

import io
import re
import zipfile

from bankSim.scenario.draft import Draft

FIRST_DAY = (1980, 1, 1, 0, 0, 0)  # the same draft gives the same bytes at any time


def file_name(draft: Draft) -> str:
    """Return a name that any system takes, ending in .toml."""
    stem = re.sub(r"\.toml$", "", draft.name.rpartition("/")[2], flags=re.IGNORECASE)
    stem = re.sub(r"[^A-Za-z0-9._ -]+", "-", stem).strip(" .-")[:60]
    return f"{stem or 'bank'}.toml"


def download(draft: Draft) -> tuple[str, bytes, str]:
    """Return name, content and kind of the file; a ZIP when there are tables."""
    name = file_name(draft)
    if not draft.tables:
        return name, draft.content, "application/toml"
    kept = io.BytesIO()
    with zipfile.ZipFile(kept, "w", zipfile.ZIP_DEFLATED) as archive:
        for inside, content in ((name, draft.content), *draft.tables):
            entry = zipfile.ZipInfo(inside, FIRST_DAY)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o644 << 16
            archive.writestr(entry, content)
    return f"{name.removesuffix('.toml')}.zip", kept.getvalue(), "application/zip"
