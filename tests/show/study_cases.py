"""Results of all kinds of studies to draw, from plain to hostile."""

from dataclasses import replace

import made_up_studies as studies
import numpy as np

from bankSim.show.chances_figure import chances_figure
from bankSim.show.fan_figure import fan_figure
from bankSim.show.shares_figure import shares_figure
from bankSim.study.traced import Traced

CROWD = tuple(f"battery number {k + 1} on the left shelf" for k in range(64))
SPREADS = {
    "plain": studies.spread,
    "one draw": lambda: studies.spread(("only",), draws=1),
    "equal draws": lambda: studies.spread(width=0.0),
    "no cut-out": lambda: studies.spread(outs=False),
    "hostile": lambda: studies.spread(studies.HOSTILE, cells=16),
    "eight": lambda: studies.spread(tuple(studies.names(8)), cells=24),
    "crowd": lambda: studies.spread(CROWD),
    "many cells": lambda: studies.spread(cells=100),
    "many cautions": lambda: studies.spread(traced=Traced(studies.fan(2), studies.cautions(20))),
    "no caution": lambda: studies.spread(traced=Traced(studies.fan(2, ending=False), ())),
    "duty": lambda: studies.spread(traced=Traced(studies.fan(2, duty=True), ())),
    "daily": lambda: studies.spread(about=studies.scenario(("old", "new"), daily=True)),
    "far single run": lambda: far_single_run(studies.spread()),
}
OTHERS = {
    "sweep": studies.sweep,
    "sweep of words": lambda: studies.sweep(("a", "$b_" + "x" * 40, True), given=("a",)),
    "sweep, hostile": lambda: studies.sweep(called=studies.HOSTILE),
    "sweep, crowd": lambda: studies.sweep(called=CROWD, given=(None,)),
    "sweep of one value": lambda: studies.sweep((2.0, 2.0), called=("only",)),
    "map": lambda: studies.sweep(more=(5.0, 6.0, 7.0), given=(2.5, 6.0)),
    "map of words": lambda: studies.sweep(
        more=("x", "$y"), called=studies.HOSTILE, given=(None, {})
    ),
    "large map": lambda: studies.sweep(
        tuple(range(30)), tuple(range(14)), called=studies.names(30), given=(3, 99)
    ),
    "versus": studies.versus,
    "versus, hostile": lambda: studies.versus(studies.HOSTILE, (*studies.HOSTILE[1:], "z")),
    "versus, alike": lambda: studies.versus(gap_Ah=0.0, width=0.0, outs=False),
    "versus, one draw": lambda: studies.versus(draws=1),
    "versus, crowd": lambda: studies.versus(CROWD, CROWD[:20]),
    "sums": studies.sums,
    "sums, alike": lambda: studies.sums((100.0,) * 6, width=0.0),
    "sums, nothing": lambda: studies.sums((0.0,) * 6, width=0.0),
    "sums, one large step": lambda: studies.sums((200.0, 50.0, 49.0, 48.5, 48.0, 48.0)),
    "matters": studies.matters,
    "matters, hostile": lambda: studies.matters(called=list(studies.HOSTILE)),
    "matters, many": lambda: studies.matters(40, 40, halves=False, dropped=3),
}


def at_once():
    """Half of the draws end within the first step."""
    fan = studies.fan(2, steps=3)
    voltage = np.full((5, 3), np.nan)
    voltage[:, 0] = 12.0
    return replace(fan, running=np.array([1.0, 0.1, 0.1]), voltage_V=voltage)


def far_single_run(result):
    """The single run gives more than twice what any draw gives."""
    return replace(result, bank=replace(result.bank, central=500.0))


def charge_only():
    about = studies.scenario(("old", "new"))
    about = replace(about, bank=replace(about.bank, loads=()))
    columns = studies.table(("old", "new"), 50, outs=False)
    for name, middle in (("bank", 120.0), ("old", 70.0), ("new", 50.0)):
        columns[f"{name}.charged_Ah"] = np.linspace(middle - 5.0, middle + 5.0, 50)
    return studies.spread(draws=50, outs=False, about=about, columns=columns)


CASES = {**SPREADS, "charge only": charge_only, **OTHERS}

FAN, CHANCES, SHARES = ("fan", fan_figure), ("chances", chances_figure), ("shares", shares_figure)
# the figures that a case changes: the others would be those of "plain" once more
ONLY = {
    "one draw": (CHANCES, SHARES), "equal draws": (SHARES,), "no cut-out": (CHANCES, SHARES),
    "eight": (FAN, CHANCES), "many cells": (CHANCES,), "many cautions": (CHANCES,),
    "no caution": (FAN, CHANCES), "duty": (FAN,), "daily": (FAN,), "far single run": (SHARES,),
    "charge only": (SHARES,),
}  # fmt: skip
