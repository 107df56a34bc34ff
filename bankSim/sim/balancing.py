"""What the balancers win: the same bank once more without them."""

from dataclasses import replace

from bankSim.model.bank import Bank
from bankSim.sim.balancing_result import BalancerGain
from bankSim.sim.engine import Engine

C_PER_AH = 3600.0


def balancer_gain(bank: Bank, engine: Engine) -> BalancerGain | None:
    """Run a bank without its balancers and compare; None where it has none.

    Parameters
    ----------
    bank : Bank
    engine : Engine
        The finished run with balancers; its tolerances are used again.
    """
    names = tuple(battery.name for battery in bank.batteries if battery.balancer is not None)
    if not names:
        return None
    plain = replace(
        bank, batteries=tuple(replace(battery, balancer=None) for battery in bank.batteries)
    )
    other = Engine(
        plain, engine.relative_tolerance, engine.absolute_tolerance_A, keep_trace=False
    ).finish()
    return BalancerGain(
        names, _delivered_Ah(engine), _delivered_Ah(other), _runtime_s(engine), _runtime_s(other)
    )


def _delivered_Ah(engine: Engine) -> float:  # noqa: N802 - the unit as printed
    return float(engine.run.clock[0]["bank_out"]) / C_PER_AH


def _runtime_s(engine: Engine) -> float:
    clock = engine.run.clock[0]
    return float(min(clock["fed_until"], clock["time"]))
