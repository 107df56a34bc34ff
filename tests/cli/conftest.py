"""A folder to study in, and what counts the work."""

import pytest
from study_bench import BLOCK, SPREAD, write_study

from bankSim.study import blocks, plan


@pytest.fixture
def workbench(tmp_path, monkeypatch):
    """A folder with two scenarios in it, which is the current one; draws come in small blocks."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(plan, "MOST_BLOCK", BLOCK)
    write_study(tmp_path)
    write_study(tmp_path, SPREAD.replace("value = 10.0", "value = 11.0"), "other.toml")
    return tmp_path


@pytest.fixture
def marched(monkeypatch):
    """Numbers of the blocks that are marched."""
    numbers, real = [], blocks.march_block

    def march(plan, number, stop=None):
        numbers.append(number)
        return real(plan, number, stop)

    monkeypatch.setattr(blocks, "march_block", march)
    return numbers
