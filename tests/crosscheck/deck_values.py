"""A small reader of netlists: works out a source's expression from voltages and currents given."""

import math
import re

import numpy as np

KNOWN = {"min": min, "max": max, "abs": abs, "sin": math.sin, "floor": math.floor,
         "asinh": math.asinh}  # fmt: skip


def pwr(base, exponent):
    """As ngspice's manual has it: |base| to the exponent."""
    return abs(base) ** exponent


def pwl(at, *pairs):
    """As ngspice's manual has it: straight lines, the outer ones going on."""
    x, y = np.array(pairs[0::2]), np.array(pairs[1::2])
    k = min(max(int(np.searchsorted(x, at)), 1), x.size - 1)
    return float(y[k - 1] + (at - x[k - 1]) * (y[k] - y[k - 1]) / (x[k] - x[k - 1]))


def lines_of(deck):
    """The lines of a netlist by the first word of each, comments and long lines put right."""
    whole = re.sub(r"\n\+ ", " ", deck if isinstance(deck, str) else "\n".join(deck))
    kept = [line for line in whole.splitlines() if not line.startswith("*")]
    return {line.split(" ", 1)[0]: line for line in kept}


def source(deck, name, volts=(), amps=(), time=0.0):
    """What a source B... gives. [V or A]

    Parameters
    ----------
    deck : str or list of str
    name : str
        First word of its line.
    volts, amps : mapping
        By node and by ammeter.
    time : float
        [s]
    """
    return value(lines_of(deck)[name].split(" = ", 1)[1], volts, amps, time)


def value(expression, volts=(), amps=(), time=0.0):
    """What an expression comes to."""
    volts, amps = {"0": 0.0, **dict(volts)}, dict(amps)

    def looked_up(found):
        kind, one, other = found.groups()
        if kind == "I":
            return repr(float(amps[one]))
        return repr(float(volts[one] - volts[other or "0"]))

    plain = re.sub(r"\b([VI])\((\w+)(?:, (\w+))?\)", looked_up, expression)
    return eval(_python(plain), {**KNOWN, "pwr": pwr, "pwl": pwl, "time": time})


def _python(text):
    """The same in Python: what stands in brackets first, then choices, then words."""
    out, depth, start = "", 0, 0
    for place, letter in enumerate(text):
        if letter == "(":
            if depth == 0:
                start = place + 1
            depth += 1
        elif letter == ")":
            depth -= 1
            if depth == 0:
                parts = _split(text[start:place], ",")
                out += f"({', '.join(_python(part) for part in parts)})"
        elif depth == 0:
            out += letter
    return _chosen(out).replace("&&", " and ").replace("||", " or ")


def _chosen(text):
    found = _split(text, "?")
    if len(found) == 1:
        return text
    yes, no = _split("?".join(found[1:]), ":")
    return f"(({yes}) if ({found[0]}) else ({no}))"


def _split(text, mark):
    """Parts between marks that stand in no brackets."""
    parts, depth = [""], 0
    for letter in text:
        depth += (letter == "(") - (letter == ")")
        if letter == mark and depth == 0:
            parts.append("")
        else:
            parts[-1] += letter
    return [part.strip() for part in parts]
