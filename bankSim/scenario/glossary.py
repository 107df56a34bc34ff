"""Every quantity of the scenario file: name, unit, range, meaning. The only place they stand."""

from typing import Final

from bankSim.model.cables import LARGEST_MM2, SMALLEST_MM2
from bankSim.scenario.quantity import Quantity

_OHM_RANGE: Final = (0.0, 100_000.0)
_LEAST_AH: Final = 0.01  # less than any cell that carries a load


def _mohm(meaning: str) -> Quantity:
    return Quantity("mohm", *_OHM_RANGE, meaning)


def _positive(unit: str, highest: float, meaning: str) -> Quantity:
    return Quantity(unit, 0.0, highest, meaning, above=True)


QUANTITIES: Final[dict[str, Quantity]] = {
    # simulation and surroundings
    "duration_h": Quantity(
        "h", 0.0, 87_600.0, "Latest end of the run; 240 when not given", above=True, exact=True
    ),
    "output_every_s": Quantity(
        "s", 0.01, 86_400.0, "Spacing of the timeline; 60 when not given", exact=True
    ),
    "temperature_C": Quantity("degC", -40.0, 80.0, "Temperature of the surroundings"),
    "mean_C": Quantity("degC", -40.0, 80.0, "Mean temperature over the day"),
    "swing_C": Quantity("degC", 0.0, 40.0, "From the mean to the warmest"),
    # wiring
    "link_mohm": _mohm("One rail between neighbours in a row"),
    "main_mohm": _mohm("From the take-off to the loads, both conductors together"),
    "lead_mohm": _mohm("Both leads of the battery with joints and fuse"),
    "length_m": Quantity("m", 0.0, 100.0, "Length one way"),
    "area_mm2": Quantity("mm2", SMALLEST_MM2, LARGEST_MM2, "Copper cross-section"),
    "joints": Quantity("", 0, 100, "Bolted joints on each conductor", whole=True),
    "fuse_A": Quantity(
        "A", 0.0, 10_000.0, "Rating of the one fuse in the lead", above=True, exact=True
    ),
    # battery
    "cells_in_series": Quantity("", 1, 100, "Cells in series", whole=True),
    "rated_capacity_Ah": Quantity("Ah", _LEAST_AH, 10_000.0, "Capacity on the label"),
    "state_of_charge": Quantity("", 0.0, 1.0, "State of charge at the start"),
    "capacity_fraction": Quantity("", 0.01, 2.0, "Capacity now over rated capacity"),
    "resistance_factor": Quantity("", 0.01, 100.0, "Cell resistance now over resistance when new"),
    "internal_mohm": _mohm("Switches, straps and terminals inside the battery, without its cells"),
    "continuous_discharge_A": _positive("A", 100_000.0, "Label limit, used for cautions"),
    "continuous_charge_A": _positive("A", 100_000.0, "Label limit, used for cautions"),
    "mass_kg": _positive("kg", 10_000.0, "Mass of the battery"),
    "diode_drop_V": Quantity("V", 0.0, 5.0, "Drop of the switch's body diode; 0.7 when not given"),
    # cell
    "capacity_Ah": Quantity(
        "Ah", _LEAST_AH, 100_000.0, "Charge from state of charge 0 to 1, in both wells"
    ),
    "ohmic_mohm": _mohm("Resistance that acts at once, at 25 degC; with a chemistry: mid-way"),
    "mohm": _mohm("Resistance of a relaxation pair at 25 degC"),
    "time_constant_s": Quantity("s", 0.001, 1e7, "Time constant of a relaxation pair"),
    "hysteresis_mV": Quantity("mV", 0.0, 1000.0, "Half the gap between charge and discharge"),
    "available_fraction": _positive("", 1.0, "Part of the charge in the available well; 1: all"),
    "well_rate_per_h": Quantity("1/h", 0.0, 1000.0, "Rate k' between the two wells"),
    # protection, balancer, heater
    "trips_below": Quantity("V, A or degC", -100.0, 100_000.0, "Trips under this value"),
    "trips_above": Quantity("V, A or degC", -100.0, 100_000.0, "Trips over this value"),
    "after_s": Quantity("s", 0.0, 86_400.0, "How long the value must stay beyond the limit"),
    "releases_above": Quantity("V, A or degC", -100.0, 100_000.0, "Releases over this value"),
    "releases_below": Quantity("V, A or degC", -100.0, 100_000.0, "Releases under this value"),
    "release_after_s": Quantity(
        "s", 0.0, 86_400.0, "How long it must stay there, with what release_needs"
    ),
    "balancer_current_A": _positive("A", 1000.0, "Balancing current"),
    "starts_above_V": Quantity("V", 0.0, 60.0, "Cell voltage where balancing starts"),
    "within_mV": Quantity("mV", 0.0, 10_000.0, "Spread that is left alone"),
    "heater_W": _positive("W", 100_000.0, "Power of the heater, drawn from the bank"),
    "on_below_C": Quantity("degC", -60.0, 80.0, "Heats below this temperature of the battery"),
    "off_above_C": Quantity("degC", -60.0, 80.0, "Stops heating above it; more than on_below_C"),
    # loads and chargers
    "power_W": Quantity("W", 0.0, 10_000_000.0, "Power drawn at the reference voltage"),
    "current_A": Quantity("A", 0.0, 100_000.0, "Current drawn"),
    "resistance_ohm": _positive("ohm", 1e9, "Resistance of the load"),
    "reference_voltage_V": _positive("V", 6000.0, "Where power_W holds"),
    "voltage_exponent": Quantity("", 0.0, 4.0, "P ~ V^n: 0 power, 1 current, 2 resistance"),
    "on_min": _positive("min", 525_600.0, "On part of the duty cycle, comes first"),
    "off_min": _positive("min", 525_600.0, "Off part of the duty cycle"),
    "active_h": Quantity("h", 0.0, 87_600.0, "Hours since the start: [from, to]", exact=True),
    "cut_off_V": Quantity("V", 0.0, 6000.0, "The load's own low-voltage cut-off"),
    "cut_off_after_s": Quantity("s", 0.0, 86_400.0, "Delay of that cut-off"),
    "restart_V": Quantity("V", 0.0, 6000.0, "Where the load starts again"),
    "limit_A": _positive("A", 100_000.0, "Most current of the charger"),
    "limit_W": _positive("W", 10_000_000.0, "Most power of the charger"),
    "hold_V": _positive("V", 6000.0, "Voltage that the charger holds"),
    "until_tail_A": Quantity("A", 0.0, 100_000.0, "Current at which the stage ends"),
    "at_most_h": _positive("h", 87_600.0, "Longest time of the stage"),
    "peak_W": _positive("W", 10_000_000.0, "Power at the height of the day"),
}
