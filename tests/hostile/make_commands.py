"""Commands about measurements with the logs that they are given: `test`, `calibrate` and others.

A case is a folder in which a command is called with the words of `words.json`.
"""

import json
import random

from tests.hostile import shipped
from tests.hostile.make_courses import CELLS, course, sheet
from tests.hostile.make_low_banks import low_bank
from tests.hostile.mutate import damaged

LOGS = ("log.csv", "other.csv", "third.csv")


def command(rng: random.Random) -> dict[str, bytes]:
    """A command and its files."""
    word = rng.choice(("test", "test", "test", "calibrate", "calibrate", "compare", "log",
                          "gauge"))  # fmt: skip
    several = word in ("test", "calibrate") and rng.random() < 0.25
    names = LOGS[: rng.randint(2, 3)] if several else LOGS[:1]
    own = rng.choice(sorted(CELLS)), 10.0 ** rng.uniform(0.3, 2.5)
    files = {name: _log(rng, *own) for name in names}
    words = [word, *names]
    if word == "compare":
        files |= _scenario(rng)
        words = [word, "bank.toml", *names]
    words += WORDS[word](rng, len(names), *own)
    words += ["--out", "out"] if rng.random() < 0.8 else ["--json", "-"]
    if rng.random() < 0.15:
        words += ["--sign", rng.choice(("auto", "discharge", "charge", "up"))]
    if word != "log" and rng.random() < 0.95:
        words.append("--no-plots")
    return {**files, "words.json": json.dumps(words).encode()}


def _log(rng: random.Random, chemistry: str, charge_Ah: float) -> bytes:
    """A shipped log or one made up, whole or with a little damage."""
    made = rng.random() < 0.85
    one = course(rng, chemistry, charge_Ah)
    content = sheet(rng, one) if made else rng.choice(shipped.logs())
    return damaged(rng, content, most=2) if rng.random() < 0.25 else content


def _scenario(rng: random.Random) -> dict[str, bytes]:
    if rng.random() < 0.3:
        return low_bank(rng)
    name = rng.choice(("bench-bank.toml", "bench-bank.toml", *sorted(shipped.scenarios())))
    return {**shipped.tables(), "bank.toml": shipped.scenarios()[name]}


def _some(rng: random.Random, part: float, *words: str) -> list[str]:
    return list(words) if rng.random() < part else []


def _chemistry(rng: random.Random, own: str) -> str:
    return own if rng.random() < 0.8 else rng.choice(("LFP", "AGM", "NMC", "flooded", "gel"))


def _rated(rng: random.Random, charge_Ah: float) -> str:
    if rng.random() < 0.05:
        return rng.choice(("1e-3", "0", "nan", "1e300", "x"))
    return f"{charge_Ah * rng.choice((1.0, 1.0, rng.uniform(0.7, 1.5))):.4g}"


def _of_test(rng: random.Random, logs: int, chemistry: str, charge_Ah: float) -> list[str]:
    units = ",".join(rng.choice("AB") for _ in range(logs))
    correct = rng.choice(("temperature", "rate"))
    return [
        *_some(rng, 0.5, "--rated-Ah", _rated(rng, charge_Ah)),
        *_some(rng, 0.3, "--units", units),
        *_some(rng, 0.2, "--confidence", rng.choice(("95", "50", "99.9"))),
        *_some(rng, 0.2, "--end-V", f"{rng.uniform(9.0, 13.0):.2f}"),
        *_some(rng, 0.15, "--start-A", f"{10.0 ** rng.uniform(-2, 2):.3g}"),
        *_some(rng, 0.25, "--each"),
        *_some(rng, 0.6, "--chemistry", _chemistry(rng, chemistry)),
        *_some(rng, 0.2, "--temperature-C", rng.choice(("-10", "25", "40"))),
        *_some(rng, 0.2, "--correct", correct),
        *_some(rng, 0.1, "--shunt-offset-A", rng.choice(("0", "0.5", "20"))),
        *_some(rng, 0.1, "--repeatability-percent", rng.choice(("0", "2", "90"))),
    ]


def _of_calibrate(rng: random.Random, logs: int, chemistry: str, charge_Ah: float) -> list[str]:
    starts = ",".join(rng.choice(("100", "50", "?", "7")) for _ in range(logs))
    return [
        *("--battery", "own.toml"),
        *_some(rng, 0.6, "--chemistry", _chemistry(rng, chemistry)),
        *_some(rng, 0.2, "--cells-in-series", rng.choice(("4", "6", "1"))),
        *_some(rng, 0.3, "--rated-Ah", _rated(rng, charge_Ah)),
        *_some(rng, 0.3, "--start-percent", starts),
        *_some(rng, 0.15, "--temperature-C", rng.choice(("-10", "25", "40"))),
        *_some(rng, 0.15, "--hold-out-percent", rng.choice(("10", "50"))),
        *_some(rng, 0.1, "--shunt-gain-percent", rng.choice(("0", "5"))),
    ]


def _of_compare(rng: random.Random, logs: int, chemistry: str, charge_Ah: float) -> list[str]:
    return [
        *("--draws", "20"),
        *_some(rng, 0.4, "--load", rng.choice(("measured", "measured", "scenario"))),
        *_some(rng, 0.2, "--shift-s", f"{rng.uniform(-5000.0, 20000.0):.0f}"),
        *_some(rng, 0.2, "--stopped-early"),
        *_some(rng, 0.1, "--column", "older.current=current_A"),
        *_some(rng, 0.2, "--log", "older=log.csv"),
    ]


def _of_gauge(rng: random.Random, logs: int, chemistry: str, charge_Ah: float) -> list[str]:
    return [
        *_some(rng, 0.4, "--chemistry", _chemistry(rng, chemistry)),
        *_some(rng, 0.2, "--cells-in-series", rng.choice(("4", "6", "1"))),
        *_some(rng, 0.3, "--rated-Ah", _rated(rng, charge_Ah)),
        *_some(rng, 0.2, "--start-percent", rng.choice(("100", "50", "0"))),
    ]


def _of_log(rng: random.Random, logs: int, chemistry: str, charge_Ah: float) -> list[str]:
    return _some(rng, 0.5, "--bdf", "open.csv")


WORDS = {"test": _of_test, "calibrate": _of_calibrate, "compare": _of_compare,
         "gauge": _of_gauge, "log": _of_log}  # fmt: skip
