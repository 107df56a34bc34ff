"""The keys of [[battery]] and everything below it, as people write them."""

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from bankSim.model.cell import MOST_PAIRS
from bankSim.model.rule import Needs, Watch
from bankSim.model.upkeep import Balancing
from bankSim.scenario.glossary import QUANTITIES as Q
from bankSim.scenario.quantity import Choice, Flag, Text

LONGEST_NAME = 60
MOST_CELLS = 100
MOST_RULES = 100
CHEMISTRIES = ("LFP", "NMC", "sodium-ion", "AGM", "gel", "flooded")


class Table(BaseModel):
    """A table of the file: unknown keys are refused, nothing is converted silently."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, allow_inf_nan=False)


class CableKeys(Table):
    """A cable by length and area (IEC 60228 class 5 copper)."""

    length_m: Annotated[float, Q["length_m"]]
    area_mm2: Annotated[float, Q["area_mm2"]]
    joints: Annotated[int | None, Q["joints"]] = None


class FusedCableKeys(CableKeys):
    """A cable with a fuse in one of its two conductors."""

    fuse_A: Annotated[float | None, Q["fuse_A"]] = None


class RelaxationKeys(Table):
    """One relaxation pair."""

    mohm: Annotated[float, Q["mohm"]]
    time_constant_s: Annotated[float, Q["time_constant_s"]]


class CellKeys(Table):
    """Properties of a cell; each overrides what the chemistry implies."""

    ocv_table: Annotated[
        str | None,
        Text(
            500,
            "CSV file: state_of_charge,voltage_V[,ohmic_mohm], relative to this file. A cell with "
            "a 2-column table of its own in [[battery.cells]] takes its resistance from the table "
            "common to all cells, if that has a third column and no ohmic_mohm is given",
        ),
    ] = None
    capacity_Ah: Annotated[float | None, Q["capacity_Ah"]] = None
    state_of_charge: Annotated[float | None, Q["state_of_charge"]] = None
    ohmic_mohm: Annotated[float | None, Q["ohmic_mohm"]] = None
    relaxation: Annotated[list[RelaxationKeys] | None, Field(max_length=MOST_PAIRS)] = None
    hysteresis_mV: Annotated[float | None, Q["hysteresis_mV"]] = None
    available_fraction: Annotated[float | None, Q["available_fraction"]] = None
    well_rate_per_h: Annotated[float | None, Q["well_rate_per_h"]] = None


class RuleKeys(Table):
    """One protection rule."""

    watches: Annotated[str, Choice(tuple(watch.value for watch in Watch), "What is watched")]
    trips_below: Annotated[float | None, Q["trips_below"]] = None
    trips_above: Annotated[float | None, Q["trips_above"]] = None
    after_s: Annotated[float, Q["after_s"]] = 0.0
    blocks: Annotated[str, Choice(("discharge", "charge", "both"), "Which direction opens")]
    releases_above: Annotated[float | None, Q["releases_above"]] = None
    releases_below: Annotated[float | None, Q["releases_below"]] = None
    release_after_s: Annotated[float | None, Q["release_after_s"]] = None
    release_needs: Annotated[
        str | None,
        Choice(tuple(needs.value for needs in Needs), "What else a release needs"),
    ] = None


class BalancerKeys(Table):
    """What evens out the cells of one battery."""

    kind: Annotated[
        str, Choice(tuple(kind.value for kind in Balancing), "Turns charge to heat, or moves it")
    ]
    current_A: Annotated[float, Q["balancer_current_A"]]
    starts_above_V: Annotated[float | None, Q["starts_above_V"]] = None
    within_mV: Annotated[float | None, Q["within_mV"]] = None
    always: Annotated[bool | None, Flag("Works at any voltage, for a transfer balancer")] = None


class HeaterKeys(Table):
    """A heater inside one battery, fed from the bank."""

    power_W: Annotated[float, Q["heater_W"]]
    on_below_C: Annotated[float, Q["on_below_C"]]
    off_above_C: Annotated[float, Q["off_above_C"]]
    needs: Annotated[
        str | None,
        Choice(
            ("charger", "nothing"),
            "Heats only while some charger is switched on, or always; charger when not given",
        ),
    ] = None


class BatteryKeys(Table):
    """One battery of the bank."""

    model_config = ConfigDict(json_schema_extra={"required": ["cells_in_series"]})

    name: Annotated[str | None, Text(LONGEST_NAME, "Name, each one only once")] = None
    chemistry: Annotated[
        str | None,
        Choice(
            CHEMISTRIES,
            "Gives typical values for what is not written; omit it to give only [battery.cell]. "
            "sodium-ion has none and needs an ocv_table",
        ),
    ] = None
    cells_in_series: Annotated[int | None, Q["cells_in_series"]] = None  # checked in battery_checks
    rated_capacity_Ah: Annotated[float | None, Q["rated_capacity_Ah"]] = None
    state_of_charge: Annotated[float | None, Q["state_of_charge"]] = None
    capacity_fraction: Annotated[float | None, Q["capacity_fraction"]] = None
    resistance_factor: Annotated[float | None, Q["resistance_factor"]] = None
    internal_mohm: Annotated[float | None, Q["internal_mohm"]] = None
    lead_mohm: Annotated[float | None, Q["lead_mohm"]] = None
    lead: FusedCableKeys | None = None
    continuous_discharge_A: Annotated[float | None, Q["continuous_discharge_A"]] = None
    continuous_charge_A: Annotated[float | None, Q["continuous_charge_A"]] = None
    mass_kg: Annotated[float | None, Q["mass_kg"]] = None
    diode_drop_V: Annotated[float | None, Q["diode_drop_V"]] = None
    cell: CellKeys = CellKeys()
    cells: Annotated[list[CellKeys] | None, Field(max_length=MOST_CELLS)] = None
    protection: Annotated[list[RuleKeys] | None, Field(max_length=MOST_RULES)] = None
    balancer: BalancerKeys | None = None
    heater: HeaterKeys | None = None
