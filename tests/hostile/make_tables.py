"""Curves, profiles and logs: shipped ones with damage, and some made of nothing but numbers."""

import random

from tests.hostile import shipped
from tests.hostile.mutate import NUMBERS, damaged

OCV = (b"state_of_charge,voltage_V", b"state_of_charge,voltage_V,ohmic_mohm")
GAUGE = (b"voltage_V,state_of_charge_percent",)
PROFILE = (b"time_h,power_W", b"time_h,current_A")
LOG = (
    b"time_s,voltage_V,current_A",
    b"Time (min);Voltage (mV);Current (mA)",
    b"clock\tV\tA",
    b"a,b,c",
    b"date,time,voltage,current,cell 1,cell 2",
    b"Test Time / s,Voltage / V,Current / A",
    b"t_h,U_V,I_discharge_A,I_charge_A",
    b"time,volts,amps,state",
)


def table(rng: random.Random) -> dict[str, bytes]:
    """A voltage curve of a cell, or a table of a gauge."""
    if rng.random() < 0.3:
        rows = "\n".join(f"{11 + 0.2 * k:.2f},{10 * k}" for k in range(11)).encode()
        whole = GAUGE[0] + b"\n" + rows + b"\n"
        content = whole if rng.random() < 0.7 else _made(rng, GAUGE)
    else:
        content = rng.choice(shipped.curves()) if rng.random() < 0.7 else _made(rng, OCV)
    return {"table.csv": damaged(rng, content)}


def profile(rng: random.Random) -> dict[str, bytes]:
    """A load over time."""
    content = rng.choice(shipped.profiles()) if rng.random() < 0.6 else _made(rng, PROFILE)
    return {"profile.csv": damaged(rng, content)}


def log(rng: random.Random) -> dict[str, bytes]:
    """A measured log."""
    content = rng.choice(shipped.logs()) if rng.random() < 0.7 else _made(rng, LOG)
    return {"log.csv": damaged(rng, content)}


def _made(rng: random.Random, headers: tuple[bytes, ...]) -> bytes:
    """Return a header and rows that mostly fit it: rising, steady or wild columns."""
    header = rng.choice(headers)
    mark = next(m for m in (b";", b"\t", b",") if m in header)
    ways = [rng.choice((_rising, _steady, _wild)) for _ in header.split(mark)]
    ways[0] = _rising if rng.random() < 0.8 else ways[0]
    rows = [
        mark.join(way(rng, row) for way in ways) for row in range(int(rng.expovariate(0.05)) + 1)
    ]
    return b"\n".join([header, *rows, b""])


def _rising(rng: random.Random, row: int) -> bytes:
    return f"{row * 0.01 + rng.random() * 0.005:.6g}".encode()


def _steady(rng: random.Random, row: int) -> bytes:
    return f"{rng.choice((3.3, 12.8, 13.1, 5.0, -5.0, 0.0)) + rng.gauss(0.0, 0.01):.4f}".encode()


def _wild(rng: random.Random, row: int) -> bytes:
    if rng.random() < 0.2:
        return rng.choice(NUMBERS)
    return repr(rng.uniform(-1.0, 1.0) * 10.0 ** rng.uniform(-6, 6)).encode()
