"""How a battery warms up and cools down, from its mass."""

from bankSim.model.chemistry import material_of
from bankSim.model.upkeep import Thermal
from bankSim.scenario.keys_battery import BatteryKeys
from bankSim.scenario.notes import Notes

# hA = 0.5 W/K (mass / kg)^(2/3): a block of about 0.9 kg/l, as drop-in batteries are from outside,
# has some 0.064 m2 x (mass / kg)^(2/3) of surface; still air takes 5 to 10 W/m2/K from it
# (natural convection and radiation, common textbook practice); 7.8 taken.
LOSS_W_K = 0.5
UNKNOWN_SPECIFIC_HEAT = 1000.0  # J/kg/K; batteries lie between 800 and 1100, from memory

_LOSS_SOURCE = (
    "0.5 (mass / kg)^(2/3): still air at 5 to 10 W/m2/K around a block, textbook practice"
)


def build_thermal(keys: BatteryKeys, rated_Ah: float, key: str, notes: Notes) -> Thermal | None:
    """Return heat capacity and loss to the surroundings.

    Parameters
    ----------
    keys : BatteryKeys
        They have passed all checks.
    rated_Ah : float
        Label capacity. [Ah]
    key : str
        Key path of the battery.
    notes : Notes
        Gets what was assumed.

    Returns
    -------
    thermal : Thermal or None
        None if neither mass nor chemistry is known: its temperature is that of the surroundings.
    """
    specific_heat = UNKNOWN_SPECIFIC_HEAT
    mass_kg, source = keys.mass_kg, "not given with a chemistry, from memory"
    if keys.chemistry is not None:
        material = material_of(keys.chemistry)
        specific_heat, source = material.specific_heat_J_kg_K, material.mass_source
        rated_Wh = rated_Ah * (keys.cells_in_series or 1) * material.nominal_V
        mass_kg = notes.given_or(
            mass_kg, f"{key}.mass_kg", rated_Wh / material.Wh_per_kg, "kg", source
        )
    if mass_kg is None:
        return None
    thermal = usual_thermal(mass_kg, specific_heat)
    notes.assume(f"{key} (specific heat)", specific_heat, "J/kg/K", source)
    notes.assume(f"{key} (heat loss)", thermal.loss_W_K, "W/K", _LOSS_SOURCE)
    return thermal


def usual_thermal(mass_kg: float, specific_heat_J_kg_K: float) -> Thermal:
    """Return heat capacity and loss of a battery in still air.

    Parameters
    ----------
    mass_kg : float
        [kg]
    specific_heat_J_kg_K : float
        [J/kg/K]

    Source
    ------
    docs/theory.md, eq. 7.5.
    """
    return Thermal(mass_kg * specific_heat_J_kg_K, LOSS_W_K * mass_kg ** (2.0 / 3.0))
