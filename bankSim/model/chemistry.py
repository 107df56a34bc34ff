"""Which chemistries there are, by their words in scenario files."""

from bankSim.model.lead_acid import AGM, FLOODED, GEL
from bankSim.model.lfp import LFP
from bankSim.model.nmc import NMC
from bankSim.model.typical import Chemistry, Material

__all__ = ["BY_TABLE_ONLY", "CHEMISTRIES", "Chemistry", "Material", "chemistry_of", "material_of"]

CHEMISTRIES = {one.word: one for one in (LFP, NMC, AGM, GEL, FLOODED)}

SODIUM_ION = Material(
    word="sodium-ion",
    nominal_V=3.1,
    Wh_per_kg=100.0,
    specific_heat_J_kg_K=1000.0,
    mass_source="100 Wh/kg and 1000 J/kg/K for a whole battery, from memory",
)
BY_TABLE_ONLY = {one.word: one for one in (SODIUM_ION,)}

USUAL_LEAD_CELLS = (1, 3, 6, 12, 24)  # of lead-acid batteries in the trade: 2 to 48 V


def chemistry_of(word: str | None) -> Chemistry | None:
    """Return the chemistry that fills in what a battery leaves open.

    Parameters
    ----------
    word : str or None
        As in the scenario file, sound; None for a battery without chemistry.

    Returns
    -------
    chemistry : Chemistry or None
        None without a word, and for a chemistry that has no typical values.
    """
    return None if word is None else CHEMISTRIES.get(word)


def material_of(word: str) -> Material:
    """Return the mass numbers of any known chemistry, also of one without typical values."""
    return CHEMISTRIES.get(word) or BY_TABLE_ONLY[word]


def is_lead(word: str | None) -> bool:
    """Tell whether a chemistry, as in the scenario file, is known to be lead-acid."""
    chemistry = chemistry_of(word)
    return chemistry is not None and not chemistry.is_lithium


def odd_cells(word: str | None, cells_in_series: int) -> str:
    """Return a remark on a number of cells that is unusual for lead-acid, "" where it is usual."""
    if not is_lead(word) or cells_in_series in USUAL_LEAD_CELLS:
        return ""
    usual = ", ".join(map(str, USUAL_LEAD_CELLS[:-1]))
    return (
        f"{cells_in_series} cells in series are unusual for lead-acid: usual are {usual} or "
        f"{USUAL_LEAD_CELLS[-1]} (2 V each). Count them again."
    )
