"""The keys of a scenario file outside [[battery]], as people write them."""

from typing import Annotated

from pydantic import ConfigDict, Discriminator, Field, Tag

from bankSim.model.bank import Layout
from bankSim.scenario.glossary import QUANTITIES as Q
from bankSim.scenario.keys_battery import (
    LONGEST_NAME,
    BatteryKeys,
    CableKeys,
    FusedCableKeys,
    Table,
)
from bankSim.scenario.quantity import Choice, Clock, Text
from bankSim.scenario.uncertain import SPREAD_KEYS

MOST_BATTERIES = 64
MOST_LOADS = 200
MOST_CHARGERS = 20
MOST_STAGES = 100
MOST_WINDOWS = 2_000


class SimulationKeys(Table):
    """How long to run and what to write."""

    duration_h: Annotated[float, Q["duration_h"]] = 240.0
    stop: Annotated[
        str, Choice(("bank empty", "end"), "End when the loads can no longer be fed, or run on")
    ] = "bank empty"
    starts_at: Annotated[float | None, Clock("Wall clock at t = 0, for daily schedules")] = None
    output_every_s: Annotated[float, Q["output_every_s"]] = 60.0


class SwingKeys(Table):
    """A temperature that follows the day."""

    mean_C: Annotated[float, Q["mean_C"]]
    swing_C: Annotated[float, Q["swing_C"]]
    warmest_at: Annotated[float | None, Clock("When it is warmest; 15:00 when not given")] = None


def _number_or_table(value: object) -> str:
    """Tell a temperature that follows the day from a number, which may come with a spread."""
    swings = isinstance(value, dict) and not value.keys() & set(SPREAD_KEYS)
    return "a table" if swings else "a number"


class SurroundingsKeys(Table):
    """What is around the bank."""

    temperature_C: Annotated[
        Annotated[float, Q["temperature_C"], Tag("a number")]
        | Annotated[SwingKeys, Tag("a table")],
        Discriminator(_number_or_table),
    ] = Field(default=25.0)


class WiringKeys(Table):
    """How the batteries meet."""

    layout: Annotated[
        str | None,
        Choice(
            tuple(layout.value for layout in Layout),
            "Bars with equal leads, or a row in file order taken off at the same or opposite ends",
        ),
    ] = None
    link_mohm: Annotated[float | None, Q["link_mohm"]] = None
    link: CableKeys | None = None
    main_mohm: Annotated[float | None, Q["main_mohm"]] = None
    main: FusedCableKeys | None = None


class DutyKeys(Table):
    """On and off in turn from t = 0, on first."""

    on_min: Annotated[float, Q["on_min"]]
    off_min: Annotated[float, Q["off_min"]]


class DailyKeys(Table):
    """A window on the wall clock; past midnight when `to` is not later than `from`."""

    start: Annotated[float, Clock("Switches on")] = Field(alias="from")
    end: Annotated[float, Clock("Switches off", midnight=True)] = Field(alias="to")


Window = Annotated[list[Annotated[float, Q["active_h"]]], Field(min_length=2, max_length=2)]
Windows = Annotated[list[Window] | None, Field(min_length=1, max_length=MOST_WINDOWS)]
DailyWindows = Annotated[list[DailyKeys] | None, Field(min_length=1, max_length=MOST_WINDOWS)]


class LoadKeys(Table):
    """Something that draws from the bank."""

    name: Annotated[str | None, Text(LONGEST_NAME, "Name, each one only once")] = None
    power_W: Annotated[float | None, Q["power_W"]] = None
    current_A: Annotated[float | None, Q["current_A"]] = None
    resistance_ohm: Annotated[float | None, Q["resistance_ohm"]] = None
    reference_voltage_V: Annotated[float | None, Q["reference_voltage_V"]] = None
    voltage_exponent: Annotated[float | None, Q["voltage_exponent"]] = None
    duty: DutyKeys | None = None
    active_h: Windows = None
    daily: DailyWindows = None
    profile: Annotated[
        str | None,
        Text(500, "CSV file: time_h,power_W or time_h,current_A; negative values charge"),
    ] = None
    cut_off_V: Annotated[float | None, Q["cut_off_V"]] = None
    cut_off_after_s: Annotated[float | None, Q["cut_off_after_s"]] = None
    restart_V: Annotated[float | None, Q["restart_V"]] = None


class StageKeys(Table):
    """One stage of a charger."""

    hold_V: Annotated[float, Q["hold_V"]]
    until_tail_A: Annotated[float | None, Q["until_tail_A"]] = None
    at_most_h: Annotated[float | None, Q["at_most_h"]] = None


class SunKeys(Table):
    """Half a sine over the day."""

    peak_W: Annotated[float, Q["peak_W"]]
    rise: Annotated[float, Clock("Sunrise")]
    set: Annotated[float, Clock("Sunset")]


class ChargerKeys(Table):
    """Something that charges the bank."""

    name: Annotated[str | None, Text(LONGEST_NAME, "Name, each one only once")] = None
    limit_A: Annotated[float | None, Q["limit_A"]] = None
    limit_W: Annotated[float | None, Q["limit_W"]] = None
    stages: Annotated[list[StageKeys] | None, Field(min_length=1, max_length=MOST_STAGES)] = None
    hold_V: Annotated[float | None, Q["hold_V"]] = None
    active_h: Windows = None
    daily: DailyWindows = None
    sun: SunKeys | None = None


class ScenarioKeys(Table):
    """The whole file."""

    model_config = ConfigDict(json_schema_extra={"required": ["battery"]})

    title: Annotated[str | None, Text(200, "Headline of the results")] = None
    notes: Annotated[str, Text(20_000, "Anything worth remembering", lines=True)] = ""
    simulation: SimulationKeys = SimulationKeys()
    surroundings: SurroundingsKeys = SurroundingsKeys()
    wiring: WiringKeys = WiringKeys()
    battery: list[BatteryKeys] = Field(default=[], max_length=MOST_BATTERIES)
    load: list[LoadKeys] = Field(default=[], max_length=MOST_LOADS)
    charger: list[ChargerKeys] = Field(default=[], max_length=MOST_CHARGERS)
