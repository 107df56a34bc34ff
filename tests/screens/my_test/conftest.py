"""Records the numbers that the page offers, as JSON."""

import json

import pytest

from bankSim.screens.my_test import view


@pytest.fixture
def offered(monkeypatch):
    """From the word of an answer to what was offered last."""
    found = {}
    real = view.downloads

    def note(shown, name):
        found[name] = json.loads(shown.summary)
        real(shown, name)

    monkeypatch.setattr(view, "downloads", note)
    return found
