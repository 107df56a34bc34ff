"""A study that takes a while, to be killed: python long_study.py.

Each line of standard input, FOLDER, BLOCKS and TOLD with tabs between, starts the study in a
process of its own, forked from one that has loaded everything; what it tells goes to the file TOLD.
Its number is printed when it starts, how it ended once it has.
"""

import os
import sys
import traceback
from dataclasses import replace
from pathlib import Path

import bankSim
from bankSim.scenario.read import read_scenario
from bankSim.study.blocks import run_draws, threads
from bankSim.study.plan import make_plan, march_block
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


def start(folder, blocks, told):
    """Fork the study, print its number and then its exit code, or minus the signal."""
    number = os.fork()
    if number == 0:
        code = 1
        try:
            os.dup2(os.open(told, os.O_WRONLY | os.O_CREAT | os.O_TRUNC), 2)
            os.dup2(2, 1)
            run_in(folder, int(blocks))
            code = 0
        except BaseException:
            traceback.print_exc()
        finally:
            os._exit(code)
    print(number, flush=True)
    print(os.waitstatus_to_exitcode(os.waitpid(number, 0)[1]), flush=True)


if __name__ == "__main__":
    march_block(long_plan(), 0)  # compiled code is loaded
    for line in sys.stdin:
        start(*line.rstrip("\n").split("\t"))
