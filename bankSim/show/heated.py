"""What heaters take, at the top where it is much beside the loads."""

from bankSim.sim.heating import heating
from bankSim.sim.numbers import number
from bankSim.sim.result import Result

MUCH = 1.0 / 3.0  # of what the loads get; own choice
LEAST = 0.01  # of the labels: less is not worth a sentence


def heated(result: Result) -> list[str]:
    """Say how much the heaters take, where that is more than a third of what the loads get.

    Parameters
    ----------
    result : Result
    """
    if all(battery.heater is None for battery in result.scenario.bank.batteries):
        return []
    taken = heating(result)
    labels_Ah = sum(battery.rated_Ah for battery in result.batteries)
    if taken.heaters_Ah <= max(MUCH * taken.loads_Ah, LEAST * labels_Ah):
        return []
    who = "Heaters of batteries take"
    told = f"{who} {number(taken.heaters_Ah)} Ah ({number(taken.heaters_Wh)} Wh)"
    if not result.scenario.bank.loads:
        return [f"{told}."]
    return [f"{told}, the loads {number(taken.loads_Ah)} Ah ({number(taken.loads_Wh)} Wh)."]
