"""A study that takes a while, to be killed: python long_study.py FOLDER BLOCKS."""

import sys
from dataclasses import replace
from pathlib import Path

import bankSim
from bankSim.scenario.read import read_scenario
from bankSim.study.blocks import run_draws, threads
from bankSim.study.plan import make_plan
from bankSim.study.store import Folder

BLOCK, BLOCKS = 4, 16
FILE = Path(bankSim.__file__).parents[1] / "scenarios" / "three-days-of-sun.toml"


def long_plan():
    """Three days of a camper: some 10 ms a draw."""
    return replace(make_plan(read_scenario(FILE)), block=BLOCK)


def run_in(folder, blocks=BLOCKS):
    """March so many blocks into a folder, telling how many draws are finished."""
    plan = long_plan()
    store = Folder(Path(folder), plan.description)
    with threads(2) as workers:
        return run_draws(
            plan, BLOCK * blocks, workers, store, progress=lambda done: print(done, flush=True)
        )


if __name__ == "__main__":
    run_in(sys.argv[1], int(sys.argv[2]))
