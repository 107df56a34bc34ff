"""What can be moved of one battery: its charge, its health, its resistances, its lead."""

from collections.abc import Iterator

from bankSim.model.battery import Battery
from bankSim.model.chemistry import chemistry_of
from bankSim.scenario.keys_battery import BatteryKeys
from bankSim.scenario.lines import Path
from bankSim.screens.what_if.knob import BELOW, SCALE, SHIFT, Knob, Move, copper_knob, knob
from bankSim.sim.numbers import number

C_PER_AH = 3600.0
LEAST = 1e-6  # of a capacity, in its unit


def battery_knobs(keys: BatteryKeys, battery: Battery, place: int, alone: bool) -> Iterator[Knob]:
    """Yield the sliders of one battery.

    Parameters
    ----------
    keys : BatteryKeys
        As written.
    battery : Battery
        As the solver uses it.
    place : int
        From 0.
    alone : bool
        It is the only one of its bank.
    """
    charge = _Charge(keys, battery, place)
    if len(battery.cells) > 1:
        yield from (charge.below(cell) for cell in range(len(battery.cells)))
    yield _health(keys, battery, place)
    yield from _resistance(keys, battery, place)
    yield _lead(keys, battery, place, alone)
    if keys.lead is not None:
        area_mm2, path = float(keys.lead.area_mm2), ("battery", place, "lead")
        yield copper_knob(
            f"copper/{place}", "Lead of {}: copper", area_mm2, path,
            battery=place, subject=battery.name,
        )  # fmt: skip
    yield charge.start()
    if len(battery.cells) > 1:
        yield from (
            _cell_capacity(keys, battery, place, cell) for cell in range(len(battery.cells))
        )
    yield _inside(battery, place)


class _Charge:
    """Where the state of charge of every cell stands, and what it is."""

    def __init__(self, keys: BatteryKeys, battery: Battery, place: int) -> None:
        self.keys, self.battery, self.place = keys, battery, place
        self.states = [cell.state_of_charge for cell in battery.cells]
        self.paths = [self._path(cell) for cell in range(len(self.states))]

    def _path(self, cell: int) -> Path:
        """Return the key that decides the charge of a cell."""
        here: Path = ("battery", self.place)
        if self.keys.cells and self.keys.cells[cell].state_of_charge is not None:
            return (*here, "cells", cell, "state_of_charge")
        if self.keys.cell.state_of_charge is not None:
            return (*here, "cell", "state_of_charge")
        return (*here, "state_of_charge")

    def start(self) -> Knob:
        """Return the slider of the whole battery's charge."""
        once = dict(zip(self.paths, self.states, strict=True))
        top = max(self.states)
        uneven = " The others keep their distance to it." if len(set(self.states)) > 1 else ""
        return knob(
            f"charge/{self.place}",
            "Charge of {} at the start",
            "%",
            round(100.0 * top, 9),
            (1.0, 100.0, 0.5),
            help=f"State of charge of its fullest cell when the run begins.{uneven}",
            moves=(Move(path, now, SHIFT, 100.0, 0.0, 1.0) for path, now in once.items()),
            battery=self.place,
            subject=self.battery.name,
            main=True,
        )

    def below(self, cell: int) -> Knob:
        """Return the slider of how far one cell is below the fullest of the others."""
        others = tuple(
            (path, state)
            for one, (path, state) in enumerate(zip(self.paths, self.states, strict=True))
            if one != cell
        )
        top = max(state for _, state in others)
        own: Path = ("battery", self.place, "cells", cell, "state_of_charge")
        return knob(
            f"below/{self.place}/{cell}",
            f"Cell {cell + 1} of {{}}: emptier by",
            "%",
            round(100.0 * (top - self.states[cell]), 9),
            (0.0, min(20.0, 100.0 * top), 0.5),
            help="How far its state of charge is below that of the fullest other cell at the "
            "start, in points of a hundred. One cell that lags behind decides when the whole "
            "battery cuts out.",
            moves=(Move(own, self.states[cell], BELOW, 100.0, 0.0, 1.0, others),),
            battery=self.place,
            subject=self.battery.name,
            cell=cell,
            main=True,
            rank=1,
        )


def _health(keys: BatteryKeys, battery: Battery, place: int) -> Knob:
    """Return the slider of the capacity of all cells."""
    here: Path = ("battery", place)
    by_fraction = Move(
        (*here, "capacity_fraction"), keys.capacity_fraction or 1.0, SCALE, 1.0, LEAST, 2.0
    )
    written = [_ampere_hours((*here, "cell"), keys.cell.capacity_Ah)]
    for cell, own in enumerate(keys.cells or ()):
        written.append(_ampere_hours((*here, "cells", cell), own.capacity_Ah))
    moves = [one for one in written if one is not None]
    given = keys.cell.capacity_Ah is not None
    own_all = bool(keys.cells) and all(one.capacity_Ah is not None for one in keys.cells or ())
    followers = _followers(keys, battery, here)
    more = {"battery": place, "subject": battery.name, "main": True}
    if not moves:
        percent = round(100.0 * by_fraction.base, 9)
        label = "Capacity of {} now"
        told = "Capacity of all its cells in percent of the label, as a capacity test gives it."
        return knob(f"health/{place}", label, "% of label", percent, (30.0, 110.0, 1.0), help=told,
                    moves=(by_fraction, *followers), **more)  # fmt: skip
    if not (given or own_all):
        moves.append(by_fraction)
    smallest = number(min(cell.charge_C for cell in battery.cells) / C_PER_AH)
    told = f"Capacity of all its cells in percent of what it is now (the smallest: {smallest} Ah)."
    label = "Capacity of {}"
    return knob(f"health/{place}", label, "% of now", 100.0, (30.0, 130.0, 1.0), help=told,
                moves=(*moves, *followers), **more)  # fmt: skip


def _ampere_hours(where: Path, written_Ah: float | None) -> Move | None:
    if written_Ah is None:
        return None
    return Move((*where, "capacity_Ah"), float(written_Ah), SCALE, 1.0, LEAST, 100_000.0)


def _followers(keys: BatteryKeys, battery: Battery, here: Path) -> list[Move]:
    """Return moves that keep count of cells whose capacity is not written for themselves."""
    found = []
    for cell, one in enumerate(battery.cells):
        own = keys.cells[cell].capacity_Ah if keys.cells else None
        if own is None and len(battery.cells) > 1:
            path = (*here, "cells", cell, "capacity_Ah")
            found.append(Move(path, one.charge_C / C_PER_AH, SCALE, silent=True))
    return found


def _cell_capacity(keys: BatteryKeys, battery: Battery, place: int, cell: int) -> Knob:
    """Return the slider of one cell's capacity."""
    own = keys.cells[cell].capacity_Ah if keys.cells else None
    now_Ah = battery.cells[cell].charge_C / C_PER_AH if own is None else float(own)
    path: Path = ("battery", place, "cells", cell, "capacity_Ah")
    return knob(
        f"capacity/{place}/{cell}",
        f"Cell {cell + 1} of {{}}: capacity",
        "% of now",
        100.0,
        (60.0, 120.0, 1.0),
        help=f"Now {number(now_Ah)} Ah. A cell that holds less is empty before the others.",
        moves=(Move(path, now_Ah, SCALE, 1.0, LEAST, 100_000.0),),
        battery=place,
        subject=battery.name,
        cell=cell,
        rank=1,
    )


def _resistance(keys: BatteryKeys, battery: Battery, place: int) -> Iterator[Knob]:
    """Yield the slider of the cells' resistance: as a factor of new, or of what is written."""
    here: Path = ("battery", place)
    moves = list(_written_resistances(keys, here))
    factor = keys.resistance_factor or 1.0
    more = {"battery": place, "subject": battery.name, "main": True}
    what = "Resistance of the cells of {}"
    if chemistry_of(keys.chemistry) is not None:
        by_factor = Move((*here, "resistance_factor"), factor, SCALE, 1.0, 0.01, 100.0)
        if not moves:
            yield knob(
                f"resistance/{place}",
                what,
                "x new",
                factor,
                (0.5, max(5.0, factor), 0.1),
                help="1 is a new battery; cells that are worn out have two or three times as much.",
                moves=(by_factor,),
                **more,
            )
            return
        if not _all_written(keys):
            moves.append(by_factor)
    if moves:
        yield knob(
            f"resistance/{place}",
            what,
            "% of now",
            100.0,
            (50.0, 400.0, 10.0),
            help="All resistances of its cells that the scenario states, in percent of what "
            "they are now.",
            moves=moves,
            **more,
        )


def _all_written(keys: BatteryKeys) -> bool:
    """Tell whether the factor of new has no effect beside what is written for all cells."""
    return keys.cell.ohmic_mohm is not None and keys.cell.relaxation is not None


def _written_resistances(keys: BatteryKeys, here: Path) -> Iterator[Move]:
    levels = [((*here, "cell"), keys.cell)]
    levels += [((*here, "cells", cell), own) for cell, own in enumerate(keys.cells or ())]
    for where, level in levels:
        if level.ohmic_mohm is not None:
            path = (*where, "ohmic_mohm")
            yield Move(path, float(level.ohmic_mohm), SCALE, 1.0, 0.0, 100_000.0)
        for pair, one in enumerate(level.relaxation or ()):
            path = (*where, "relaxation", pair, "mohm")
            yield Move(path, float(one.mohm), SCALE, 1.0, 0.0, 100_000.0)


def _lead(keys: BatteryKeys, battery: Battery, place: int, alone: bool) -> Knob:
    """Return the slider of the lead: its length where that is written, else its resistance."""
    here: Path = ("battery", place)
    more = {"battery": place, "subject": battery.name, "main": not alone}
    if keys.lead is not None:
        metres = float(keys.lead.length_m)
        return knob(
            f"lead/{place}",
            "Lead of {}: length",
            "m",
            metres,
            (0.0, max(5.0, 3.0 * metres), 0.1),
            help=f"One way, {number(keys.lead.area_mm2)} mm² copper; both poles, joints and fuse "
            f"are counted: {number(1e3 * battery.lead_ohm)} mΩ now.",
            moves=(Move((*here, "lead", "length_m"), metres, lowest=0.0, highest=100.0),),
            **more,
        )
    mohm = round(1e3 * battery.lead_ohm, 9)
    return knob(
        f"lead/{place}",
        "Lead of {}: resistance",
        "mΩ",
        mohm,
        (0.0, max(10.0, 4.0 * mohm), 0.1),
        help="Both poles with joints and fuse. 1 m of 35 mm² one way is about 1.1 mΩ for both "
        "poles, a bolted joint a tenth or two.",
        moves=(Move((*here, "lead_mohm"), mohm, lowest=0.0, highest=100_000.0),),
        **more,
    )


def _inside(battery: Battery, place: int) -> Knob:
    """Return the slider of what lies between cells and terminals."""
    mohm = round(1e3 * battery.internal_ohm, 9)
    return knob(
        f"inside/{place}",
        "Switches and straps in {}",
        "mΩ",
        mohm,
        (0.0, max(10.0, 4.0 * mohm), 0.1),
        help="Resistance between its cells and its terminals.",
        moves=(Move(("battery", place, "internal_mohm"), mohm, lowest=0.0, highest=100_000.0),),
        battery=place,
        subject=battery.name,
    )
