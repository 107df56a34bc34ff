"""Pages are tried in Streamlit's own runner, which looks through all packages for every visit."""

from functools import cache

import pytest


@pytest.fixture(scope="session", autouse=True)
def packages_looked_through_once():
    """Look for components of other packages once; it takes ten times as long as a page."""
    scanner = pytest.importorskip("streamlit.components.v2.manifest_scanner")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(scanner, "scan_component_manifests", cache(scanner.scan_component_manifests))
        yield
