"""Where along a sweep the Ah exist on paper only, and where most of them are true."""

from bankSim.show.paper import in_truth, on_paper
from bankSim.show.study_words import MIDDLE
from bankSim.show.sweep_words import at, does, where
from bankSim.sim.numbers import number
from bankSim.study.sweep import SweepResult, SweptPoint


def median(point: SweptPoint) -> float:
    """Return the middle of what the bank delivers or takes in. [Ah]"""
    return point.bank.percentiles[MIDDLE].value


def is_paper(point: SweptPoint) -> bool:
    """Tell whether the Ah of a point are on paper only."""
    return bool(on_paper(point.cautions))


def Ah_of(point: SweptPoint, *words: str) -> str:  # noqa: N802 - the unit as printed
    """Return the middle, with words and where it is on paper only: "750 Ah (on paper only)"."""
    told = [*words, *(["on paper only"] if is_paper(point) else [])]
    return f"{number(median(point))} Ah" + (f" ({', '.join(told)})" if told else "")


def told_paper(result: SweepResult) -> list[str]:
    """Say where the Ah are on paper only, what ends them in truth, and where the most others are.

    Nothing where there are none.
    """
    every = [one for point in result.points for one in on_paper(point.cautions)]
    if not every:
        return []
    flags = [is_paper(point) for point in result.points]
    told = [f"On paper only is what it {does(result)} {where(result, flags)}: {in_truth(every)}."]
    others = [point for point, flag in zip(result.points, flags, strict=True) if not flag]
    if others:
        best = max(others, key=median)
        told.append(
            f"Of what is not on paper only it {does(result)} most {at(result, best)}: "
            f"{Ah_of(best, 'median')}."
        )
    return told
