"""Hold many random banks against the laws of their parts: python -m tests.by_hand --cases 200."""

import argparse
import random
import sys
import tempfile
from collections import Counter
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from random_banks import random_bank
from random_hybrids import random_hybrid

from bankSim.errors import SimulationError
from bankSim.scenario.read import read_scenario
from bankSim.scenario.record import Scenario
from bankSim.sim.engine import Engine
from bankSim.sim.run import result_of
from tests.by_hand.check import wrong_with
from tests.hostile.make_banks import bank as any_bank
from tests.hostile.make_low_banks import low_bank

ROWS, FINER = 1500, 10  # what is wrong with finer rows, too, is no matter of the rows
MOST_STEPS, MOST_EVENTS, LONGEST_S = 50_000, 2_000, 86_400.0


def bank_of(kind, seed):
    """Return one of the random banks."""
    if kind in ("plain", "hybrid"):
        return (random_bank if kind == "plain" else random_hybrid)(seed)
    with tempfile.TemporaryDirectory(prefix="by-hand-") as name:
        make = low_bank if kind == "low" else any_bank
        for file, content in make(random.Random(f"{kind}/{seed}")).items():
            (Path(name) / file).write_bytes(content)
        return read_scenario(Path(name) / "bank.toml").bank


def looked_at(bank, rows):
    """Return what is wrong with a bank's run; None for one that is too long to look at."""
    duration_s = min(bank.duration_s, LONGEST_S)
    bank = replace(bank, duration_s=duration_s, output_every_s=max(duration_s / rows, 0.01))
    try:
        engine = Engine(bank).finish(most_steps=MOST_STEPS)
        if len(engine.events) > MOST_EVENTS:
            return None
        result = result_of(Scenario("by hand", bank), engine)
    except SimulationError as error:
        return None if "given up" in str(error) else [f"while running: {error}"]
    return wrong_with(bank, result)


def main():
    """Run; 0 if nothing is wrong."""
    parser = argparse.ArgumentParser(prog="python -m tests.by_hand", description=__doc__)
    parser.add_argument("--cases", type=int, default=200)
    parser.add_argument("--seed", type=int, default=0, help="of the first case; then one more each")
    parser.add_argument("--kind", choices=("plain", "hybrid", "low", "any"), default="low")
    asked = parser.parse_args()
    counts = Counter()
    for seed in range(asked.seed, asked.seed + asked.cases):
        bank = bank_of(asked.kind, seed)
        wrong = looked_at(bank, ROWS)
        if wrong:
            wrong = looked_at(bank, ROWS * FINER)
        sort = "left: too long" if wrong is None else "wrong" if wrong else "right"
        counts[sort] += 1
        if wrong:
            print(f"{asked.kind} {seed}:", *wrong, sep="\n    ", flush=True)
    print(", ".join(f"{count} {sort}" for sort, count in counts.items()))
    return int(counts["wrong"] > 0)


if __name__ == "__main__":
    sys.exit(main())
