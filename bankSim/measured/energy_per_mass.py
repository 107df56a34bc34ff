"""Ah and Wh per kg of a battery against what is plausible for its chemistry."""

from dataclasses import dataclass
from enum import Enum


class Place(Enum):
    """Where a figure lies."""

    BELOW = "below"
    INSIDE = "inside"
    ABOVE = "above"


@dataclass(frozen=True, slots=True)
class Plausible:
    """Energy given per mass of a whole battery.

    Parameters
    ----------
    low, high : float
        [Wh/kg]
    source : str
    """

    low: float
    high: float
    source: str


# Whole batteries with case and electronics, what they really give when new, at 5 to 20 h rates.
RANGES = {
    "LFP": Plausible(
        90.0, 160.0, "90 to 160 Wh/kg for whole 12 V LFP batteries: from memory; about 16 kg for "
        "160 Ah of 4 cells (128 Wh/kg): common practice, no source",
    ),
    "NMC": Plausible(120.0, 220.0, "120 to 220 Wh/kg for whole NMC batteries: from memory"),
    "AGM": Plausible(
        15.0, 42.0, "25 to 42 Wh/kg by the label, half of it where only half is used: from memory; "
        "over 100 kg for 160 usable Ah at 12 V: common practice, no source",
    ),
    "gel": Plausible(15.0, 40.0, "25 to 40 Wh/kg by the label, half of it in usual use: from "
                     "memory"),
    "flooded": Plausible(15.0, 45.0, "25 to 45 Wh/kg by the label, half of it in usual use: from "
                         "memory"),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class PerMass:
    """Figures of one battery.

    Parameters
    ----------
    Ah_per_kg, Wh_per_kg : float
        Given at cut-out over the mass of the whole battery. [Ah/kg], [Wh/kg]
    plausible : Plausible
    place : Place
        Of the energy.
    """

    Ah_per_kg: float
    Wh_per_kg: float
    plausible: Plausible
    place: Place


def per_mass(chemistry: str, given_Ah: float, energy_Wh: float, mass_kg: float) -> PerMass:
    """Return charge and energy per mass, and where the energy lies.

    Parameters
    ----------
    chemistry : str
        Word of a known chemistry.
    given_Ah, energy_Wh : float
        [Ah], [Wh]
    mass_kg : float
        > 0. [kg]
    """
    span, value = RANGES[chemistry], energy_Wh / mass_kg
    place = Place.BELOW if value < span.low else Place.ABOVE if value > span.high else Place.INSIDE
    return PerMass(given_Ah / mass_kg, value, span, place)
