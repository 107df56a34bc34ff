"""What the balancers win: the same bank once more without them."""

from collections.abc import Callable
from dataclasses import replace

from bankSim.model.bank import Bank
from bankSim.sim.balancing_result import BalancerGain
from bankSim.sim.engine import Engine
from bankSim.sim.giving_up import MOST_STEPS, GivenUpError
from bankSim.sim.runtime import runtime_s

C_PER_AH = 3600.0
LONGER, AT_LEAST_STEPS = 4, 200_000  # than the run with them: more is not worth the wait


def has_balancers(bank: Bank) -> bool:
    """Tell whether any battery of a bank has one."""
    return any(battery.balancer is not None for battery in bank.batteries)


def balancer_gain(
    bank: Bank, engine: Engine, progress: Callable[[float], None] | None = None
) -> BalancerGain | None:
    """Run a bank without its balancers and compare; None where it has none.

    Parameters
    ----------
    bank : Bank
    engine : Engine
        The finished run with balancers; its tolerances are used again.
    progress : callable, optional
        Called now and then with the part of the duration that is done, 0 to 1; what it raises
        ends the run.
    """
    if not has_balancers(bank):
        return None
    names = tuple(battery.name for battery in bank.batteries if battery.balancer is not None)
    given = names, _delivered_Ah(engine)
    plain = replace(
        bank, batteries=tuple(replace(battery, balancer=None) for battery in bank.batteries)
    )
    other = Engine(plain, engine.relative_tolerance, engine.absolute_tolerance_A, keep_trace=False)
    try:
        other.finish(progress, _most_steps(engine))
    except GivenUpError as error:
        return BalancerGain(*given, None, runtime_s(engine), None, error.why)
    return BalancerGain(*given, _delivered_Ah(other), runtime_s(engine), runtime_s(other))


def _most_steps(engine: Engine) -> int:
    """Return how much work the run without balancers may take, from what the first one took."""
    return min(LONGER * int(engine.run.clock[0]["steps"]) + AT_LEAST_STEPS, MOST_STEPS)


def _delivered_Ah(engine: Engine) -> float:  # noqa: N802 - the unit as printed
    return float(engine.run.clock[0]["bank_out"]) / C_PER_AH
