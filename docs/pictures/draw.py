"""Draw the picture at the top of README.md: ``python docs/pictures/draw.py``.

Who carries what, and who cuts out first, in scenarios/coffee-cart.toml. Nothing in it is typed by
hand: every number comes from the run. Its paper is its own, so that it reads on light and on dark.
"""

from pathlib import Path
from typing import Any

from bankSim import read_scenario, simulate

TOP = Path(__file__).resolve().parents[2]
SCENARIO = TOP / "scenarios" / "coffee-cart.toml"
PICTURE = TOP / "docs" / "pictures" / "coffee-cart.svg"
PAPER, INK, FAINT = "#fbfaf6", "#222222", "#d9d9d9"
LOOKS = {"new": ("#0072B2", "-"), "five years old": ("#D55E00", (0, (5, 1.5)))}
ROUND_S = 360.0  # one round of the grinder: its ons and offs are evened out


def rounds(timeline: Any, name: str) -> tuple[list[float], list[float]]:
    """Mean current of a battery over each round of the grinder. [h], [A]"""
    part = timeline[["time_s", f"{name}.current_A"]].drop_duplicates("time_s")
    means = part.groupby(part["time_s"] // ROUND_S)[f"{name}.current_A"].mean()
    return [(number + 0.5) * ROUND_S / 3600.0 for number in means.index], list(means)


def draw_currents(axes: Any, timeline: Any, summary: dict[str, Any]) -> None:
    """The two currents over time, and the moment of the first cut-out."""
    first = next(event for event in summary["events"] if event["what"] == "trip")
    for name, (colour, dashes) in LOOKS.items():
        hours, amperes = rounds(timeline, name)
        axes.plot(hours, amperes, color=colour, linestyle=dashes, linewidth=2.2)
        axes.text(
            1.2, amperes[12] + (1.1 if name == "new" else -1.1), name, color=colour, weight="bold",
            va="bottom" if name == "new" else "top",
        )  # fmt: skip
    axes.axvline(first["time_h"], color=INK, linewidth=1.1, linestyle=":")
    told = (
        f"{first['battery']}\ncuts out after {first['time_h']:.1f} h,\n"
        f"because of its cell {first['cell']};\nthen the new one\ncarries all"
    )
    axes.text(first["time_h"] - 0.3, 17.6, told, ha="right", va="top", color=INK)
    axes.set_xlim(0.0, 16.0)
    axes.set_ylim(0.0, 18.0)
    axes.set_xlabel("time since the start, h")
    axes.set_title("Who carries what: mean current, A", loc="left", fontsize=11)


def draw_charge(axes: Any, summary: dict[str, Any]) -> None:
    """Two bars: what the labels promise and what is delivered, in Ah."""
    rows = (("on the labels", "rated_Ah", 0.35), ("delivered", "delivered_Ah", 1.0))
    for place, (_, key, strength) in enumerate(rows):
        foot = 0.0
        for battery in summary["batteries"]:
            colour, _ = LOOKS[battery["name"]]
            axes.bar(
                place, battery[key], 0.62, foot, color=colour, alpha=strength, edgecolor=PAPER,
                hatch="" if battery["name"] == "new" else "//",
            )  # fmt: skip
            label = f"{battery[key]:.0f}"
            ink = "white" if strength == 1.0 else INK
            middle = {"ha": "center", "va": "center", "weight": "bold", "color": ink}
            axes.text(place, foot + battery[key] / 2, label, **middle)
            foot += battery[key]
        axes.text(place, foot + 3.0, f"{foot:.0f} Ah", ha="center", va="bottom", weight="bold")
    axes.set_xticks([0, 1], [name for name, _, _ in rows])
    axes.set_ylim(0.0, 225.0)
    axes.set_xlim(-0.5, 1.5)
    axes.set_yticks([])
    axes.set_title("Charge, Ah", loc="left", fontsize=11)


def told(summary: dict[str, Any]) -> str:
    """What the picture shows, in words; it is kept in the file, where a test compares it."""
    first = next(event for event in summary["events"] if event["what"] == "trip")
    charge = ", ".join(
        f"{one['name']} {one['rated_Ah']:.0f} and {one['delivered_Ah']:.0f} Ah"
        for one in summary["batteries"]
    )
    bank = f"{summary['bank']['rated_Ah']:.0f} and {summary['bank']['delivered_Ah']:.0f} Ah"
    return (
        f"On the labels and delivered: {charge}, bank {bank}. First: {first['battery']} after "
        f"{first['time_h']:.1f} h by cell {first['cell']}."
    )


def main() -> None:
    """Run the scenario and write the picture."""
    import matplotlib as mpl
    from matplotlib.figure import Figure

    inks = dict.fromkeys(("text.color", "axes.labelcolor", "xtick.color", "ytick.color"), INK)
    mpl.rcParams.update(inks | {"svg.hashsalt": "banksim", "svg.fonttype": "path"})
    mpl.rcParams.update({"font.size": 10.5, "hatch.color": PAPER, "hatch.linewidth": 0.8})
    result = simulate(read_scenario(SCENARIO))
    figure = Figure(figsize=(8.0, 3.2), layout="constrained", facecolor=PAPER)
    left, right = figure.subplots(1, 2, width_ratios=(2.5, 1.0))
    draw_currents(left, result.timeline(), result.summary())
    draw_charge(right, result.summary())
    for axes in (left, right):
        axes.set_facecolor(PAPER)
        for side in ("top", "right"):
            axes.spines[side].set_visible(False)
    left.grid(visible=True, color=FAINT, linewidth=0.6)
    left.set_axisbelow(True)
    figure.savefig(
        PICTURE, metadata={"Date": None, "Description": told(result.summary())}, facecolor=PAPER
    )
    print(f"Written: {PICTURE.relative_to(TOP)}")


if __name__ == "__main__":
    main()
