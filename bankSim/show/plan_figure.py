"""The voltage a tester will see, and when to be there."""

from typing import TYPE_CHECKING

from bankSim.show.looks import COLOURS, INK, dress, halo, new_figure, plain
from bankSim.show.plan_words import end_of
from bankSim.sim.numbers import clean, number
from bankSim.study.bench_plan import BenchPlan

if TYPE_CHECKING:
    from matplotlib.figure import Figure

WINDOWS = ((0.5, 99.5, "#e9e9e9", "99 of 100"), (5.0, 95.0, "#c4c4c4", "90 of 100"))


def plan_figure(plan: BenchPlan) -> "Figure":
    """Return the course with every value in the middle, and the range of its end."""
    figure = new_figure(4.0)
    axes = figure.subplots()
    event = end_of(plan.scenario.bank.batteries[0]).event
    for low, high, shade, words in WINDOWS:
        axes.axvspan(
            plan.at(low),
            plan.at(high),
            color=shade,
            linewidth=0.0,
            label=f"{event} in {words} cases",
        )
    axes.plot(
        plan.course_h, plan.course_V, color=COLOURS[0], linewidth=1.7,
        label="with every value in the middle",
    )  # fmt: skip
    end_V = plan.knee.voltage_V
    axes.plot([plan.middle_h], [end_V], "o", color=INK, markersize=6, markerfacecolor="white")
    note = axes.annotate(
        f"{number(end_V, 4)} V after {number(plan.middle_h)} h", (plan.middle_h, end_V),
        xytext=(-10, 2), textcoords="offset points", ha="right", fontsize=8.5, color=INK,
    )  # fmt: skip
    halo(plain(note))
    dress(axes, clean(plan.scenario.title, 80), "time since the start [h]", "at the terminals [V]")
    axes.set_xlim(left=0.0)
    figure.legend(loc="outside lower center", ncols=3, frameon=False, fontsize=8.5)
    return figure
