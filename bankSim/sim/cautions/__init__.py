"""What a careful person would want to know before wiring a bank: one theme a module."""

from bankSim.sim.cautions.cells import of_cells
from bankSim.sim.cautions.charging import of_charging
from bankSim.sim.cautions.cold import of_cold
from bankSim.sim.cautions.conductors import of_conductors
from bankSim.sim.cautions.cut_outs import of_cut_outs
from bankSim.sim.cautions.diodes import of_diodes
from bankSim.sim.cautions.drops import of_drops
from bankSim.sim.cautions.faults import of_faults
from bankSim.sim.cautions.fuses import WOULD_BLOW, of_fuses
from bankSim.sim.cautions.heat import of_heat
from bankSim.sim.cautions.hunting import of_hunting
from bankSim.sim.cautions.joined import of_joining
from bankSim.sim.cautions.labels import of_labels
from bankSim.sim.cautions.lead_full import of_lead_full
from bankSim.sim.cautions.lead_short import of_lead_short
from bankSim.sim.cautions.lithium import of_lithium
from bankSim.sim.cautions.lost_takers import LOSES_TAKERS, of_lost_takers
from bankSim.sim.cautions.sharing import of_sharing
from bankSim.sim.cautions.stages import of_stages
from bankSim.sim.cautions.supply import of_supply
from bankSim.sim.cautions.surges import of_surges
from bankSim.sim.cautions.uneven import of_uneven
from bankSim.sim.cautions.unguarded import of_unguarded
from bankSim.sim.result import Caution, Result

__all__ = ["SEVERITIES", "find_cautions", "urgency"]

SEVERITIES = ("danger", "warning", "note")
URGENT = (WOULD_BLOW, LOSES_TAKERS)  # of what is as grave they come first, in this order
THEMES = (
    of_joining,
    of_surges,
    of_cut_outs,  # before labels: a cascade is why the last ones carry so much
    of_labels,
    of_cells,
    of_unguarded,
    of_charging,
    of_uneven,
    of_lithium,
    of_lead_full,
    of_lead_short,
    of_stages,
    of_cold,
    of_heat,
    of_diodes,
    of_fuses,
    of_faults,
    of_conductors,
    of_sharing,
    of_drops,
    of_supply,
    of_lost_takers,
    of_hunting,
)


def find_cautions(result: Result) -> tuple[Caution, ...]:
    """Return every caution of a finished run, the worst first.

    Of those as grave fuses that would blow come first, then chargers that lose their batteries.

    Parameters
    ----------
    result : Result
        Its own cautions are not looked at.
    """
    found = [caution for theme in THEMES for caution in theme(result)]
    return tuple(sorted(found, key=_rank))


def urgency(topic: str) -> int:
    """Return the place of a topic among those that are as grave.

    Parameters
    ----------
    topic : str
        Of a caution.
    """
    return URGENT.index(topic) if topic in URGENT else len(URGENT)


def _rank(caution: Caution) -> tuple[int, int]:
    return SEVERITIES.index(caution.severity), urgency(caution.topic)
