"""``python -m benchmarks.answers [--write]``: the shipped answers of all shipped scenarios.

Without ``--write`` it says which scenarios differ from tests/reference/answers.json.
"""

import argparse
import json
import sys
from pathlib import Path

from bankSim.scenario.read import read_scenario
from bankSim.sim.run import simulate

ROOT = Path(__file__).resolve().parents[1]
FILE = ROOT / "tests" / "reference" / "answers.json"
SCENARIOS = ROOT / "scenarios"
REMAKE = "python -m benchmarks.answers --write"
# Other processors and libraries round otherwise (fused multiply-add, exp, log): a last bit may
# change a step, so that answers move within the error of the solver, not by rounding alone. The
# default tolerance is 2e-5 and the measured errors are below it: see docs/accuracy.md.
TOLERANCE = {
    "Ah_relative": 2e-5,
    "Ah_absolute": 2e-4,
    "time_relative": 2e-5,
    "time_absolute_s": 1.0,
}
ABOUT = (
    "What this solver finds at its usual tolerance: a change of physics or solver moves it. No "
    "truth from outside: that is in the tests against closed forms, the twin and ngspice."
)


def answer_of(file):
    """Run a scenario; return Ah, times and order as plain data."""
    result = simulate(read_scenario(file))
    return {
        "end_reason": result.end_reason,
        "end_s": result.end_time_s,
        "bank_Ah": result.bank.delivered_Ah,
        "batteries": {
            one.name: {"given_Ah": one.delivered_Ah, "taken_Ah": one.charged_Ah}
            for one in result.batteries
        },
        "events": [
            [one.time_s, one.what, one.battery or one.source or ""] for one in result.events
        ],
    }


def all_answers():
    """Return the answers of all shipped scenarios by name."""
    return {file.stem: answer_of(file) for file in sorted(SCENARIOS.glob("*.toml"))}


def differences(found, right, tolerance):
    """Say in what an answer differs from the shipped one by more than the tolerance.

    Parameters
    ----------
    found, right : dict
        From `answer_of`.
    tolerance : dict
        As `TOLERANCE`.

    Returns
    -------
    lines : list of str
    """
    if [one[1:] for one in found["events"]] != [one[1:] for one in right["events"]]:
        return ["not the same events in the same order"]
    if found["batteries"].keys() != right["batteries"].keys():
        return ["not the same batteries"]
    lines = [] if found["end_reason"] == right["end_reason"] else ["it ends for another reason"]
    lines += [
        f"{what}: {ours!r}, shipped {theirs!r}"
        for what, ours, theirs, kind in _numbers(found, right)
        if not _is_near(ours, theirs, tolerance, kind)
    ]
    return lines


def _numbers(found, right):
    """Yield every number of both answers with its name and kind."""
    yield "end, s", found["end_s"], right["end_s"], "time"
    yield "bank, Ah", found["bank_Ah"], right["bank_Ah"], "Ah"
    for name, theirs in right["batteries"].items():
        for way, value in theirs.items():
            yield f"{name} {way}", found["batteries"][name][way], value, "Ah"
    for ours, theirs in zip(found["events"], right["events"], strict=True):
        yield f"{theirs[1]} {theirs[2]}, s", ours[0], theirs[0], "time"


def _is_near(ours, theirs, tolerance, kind):
    relative = tolerance[f"{kind}_relative"]
    absolute = tolerance["time_absolute_s" if kind == "time" else "Ah_absolute"]
    return abs(ours - theirs) <= max(relative * abs(theirs), absolute)


def main(arguments=None):
    parser = argparse.ArgumentParser(prog="python -m benchmarks.answers", description=__doc__)
    parser.add_argument("--write", action="store_true", help="write the file anew")
    answers = all_answers()
    if parser.parse_args(arguments).write:
        record = {"about": ABOUT, "remake": REMAKE, "tolerance": TOLERANCE, "answers": answers}
        FILE.parent.mkdir(exist_ok=True)
        FILE.write_text(json.dumps(record, indent=1) + "\n", encoding="utf-8")
        print(FILE)
        return 0
    record = json.loads(FILE.read_text(encoding="utf-8"))
    told = [
        f"{name}: {line}"
        for name, found in answers.items()
        for line in differences(found, record["answers"][name], record["tolerance"])
    ]
    print("\n".join(told) or "All as shipped.")
    return 1 if told else 0


if __name__ == "__main__":
    sys.exit(main())
