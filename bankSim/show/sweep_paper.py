"""Where along a sweep the Ah exist on paper only, and where most of them are true."""

from bankSim.show.paper import in_truth, on_paper
from bankSim.show.study_words import MIDDLE
from bankSim.show.sweep_words import at, does, where
from bankSim.sim.numbers import number
from bankSim.study.sweep import SweepResult, SweptPoint


def median(point: SweptPoint) -> float:
    """Return the middle of what the bank delivers or takes in. [Ah]"""
    return point.bank.percentiles[MIDDLE].value


def paper_mark(point: SweptPoint) -> str:
    """Return what stands behind "median" where the Ah are on paper only."""
    return ", on paper only" if on_paper(point.cautions) else ""


def Ah_of(point: SweptPoint) -> str:  # noqa: N802 - the unit as printed
    """Return the middle, with a word where it is on paper only: "750 Ah (on paper only)"."""
    mark = paper_mark(point).removeprefix(", ")
    return f"{number(median(point))} Ah{f' ({mark})' if mark else ''}"


def told_paper(result: SweepResult) -> list[str]:
    """Say where the Ah are on paper only, what ends them in truth, and where the most others are.

    Nothing where there are none.
    """
    found = [on_paper(point.cautions) for point in result.points]
    flags = [bool(one) for one in found]
    if not any(flags):
        return []
    every = [one for own in found for one in own]
    told = [f"On paper only is what it {does(result)} {where(result, flags)}: {in_truth(every)}."]
    others = [point for point, flag in zip(result.points, flags, strict=True) if not flag]
    if others:
        best = max(others, key=median)
        told.append(
            f"Of what is not on paper only it {does(result)} most {at(result, best)}: "
            f"{number(median(best))} Ah (median)."
        )
    return told
