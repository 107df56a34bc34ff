"""Runs to draw, and a look into specifications."""

import re
from functools import cache
from pathlib import Path

import numpy as np
from plotly.graph_objects import Figure
from random_hybrids import random_hybrid

from bankSim import simulate
from bankSim.scenario.read import parse_scenario, read_scenario
from bankSim.scenario.record import Scenario
from bankSim.study.quick_fan import quick_spread

SHIPPED = sorted((Path(__file__).parents[3] / "scenarios").glob("*.toml"))
NASTY = '<b>x</b><a href="javascript:alert(1)">y</a> $\\alpha$ &lt; %{y} {{z}}\u202e'
NASTY_NAME = '<b>x</b><a href="//e">y</a> $\\a$ &lt; %{y} {{z}}'  # as a file lets pass
OURS = re.compile(r"</?b>|<br>|<extra></extra>|%\{[a-z]+(:[^}]*)?\}")
BATTERY = """
[[battery]]
name = "{name}"
chemistry = "LFP"
cells_in_series = 4
rated_capacity_Ah = {Ah}
state_of_charge = {charge}
"""
LOAD = '\n[[load]]\nname = "pump"\npower_W = {watts}\n'


def text_of(*batteries, watts=120.0, head=""):
    """A scenario text; batteries as (name, Ah, state of charge)."""
    parts = [BATTERY.format(name=n, Ah=Ah, charge=charge) for n, Ah, charge in batteries]
    return head + "".join(parts) + LOAD.format(watts=watts)


@cache
def run_of(text):
    return simulate(parse_scenario(text, Path(), "bank.toml"))


@cache
def two(watts=120.0):
    """Two unlike batteries run down."""
    return run_of(text_of(("old", 80.0, 0.9), ("new", 100.0, 1.0), watts=watts))


@cache
def at_once():
    """A run that ends as it begins."""
    return run_of(text_of(("flat", 50.0, 0.0)))


@cache
def nasty():
    """Names that are up to no good."""
    quoted = NASTY_NAME.replace("\\", "\\\\").replace('"', '\\"')
    return run_of(text_of((quoted, 80.0, 0.9), ("$$", 100.0, 1.0)))


@cache
def shipped(path):
    return simulate(read_scenario(path))


@cache
def shipped_spread(path):
    return quick_spread(read_scenario(path), draws=8, table_draws=8, budget_s=0.0)


@cache
def hybrid_run(seed):
    return simulate(Scenario("hybrid", random_hybrid(seed)))


def checked(spec):
    """Let plotly check every key of a specification; return it."""
    Figure(spec)
    assert "width" not in spec["layout"]
    assert spec["layout"]["autosize"] is True
    return spec


def texts(value):
    """All texts anywhere in a specification."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for one in value.values():
            yield from texts(one)
    elif isinstance(value, list | tuple):
        for one in value:
            yield from texts(one)


def is_harmless(text):
    """Tell whether a text holds no markup but what the pictures themselves use."""
    return not re.search(r"[<>&$]|%\{|\u202e", OURS.sub("", text))


def named(spec, hover):
    """Traces whose hover text begins with a word."""
    return [one for one in spec["data"] if str(one.get("hovertemplate", "")).startswith(hover)]


def luminance(colour):
    """Relative luminance; WCAG 2.x, from memory."""
    parts = np.array([int(colour[at : at + 2], 16) / 255.0 for at in (1, 3, 5)])
    linear = np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)
    return float(linear @ (0.2126, 0.7152, 0.0722))


def contrast(one, other):
    """Contrast ratio of two colours; WCAG 2.x, from memory."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)
