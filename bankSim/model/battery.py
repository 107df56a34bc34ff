"""A battery: cells in series behind its own electronics, and the lead to the bank."""

import math
from dataclasses import dataclass

from bankSim.errors import ParameterError
from bankSim.model.cell import Cell
from bankSim.model.rule import Rule
from bankSim.model.upkeep import Balancer, Heater, Thermal


@dataclass(frozen=True, slots=True)
class Battery:
    """Cells in series + internal resistance + rules + lead.

    A direction that a rule blocks leaves the other one open through the switch's body diode: with
    charge blocked, discharge current I >= 0 sees the drop against it, and the other way round.

    Parameters
    ----------
    name : str
        As in the scenario file.
    cells : tuple of Cell
        Element 0 is "cell 1" in every report.
    internal_ohm : float
        Switches and straps inside, >= 0. [ohm]
    lead_ohm : float
        Both leads, joints and fuse, >= 0. [ohm]
    rules : tuple of Rule
        In file order, which is the order of action when several act at once.
    rated_C : float
        Label capacity. [C]
    continuous_discharge_A, continuous_charge_A : float or None
        Label limits; used for cautions only. [A]
    limits_assumed : tuple of str
        Which of the two names above were not on the label but taken as typical.
    fuse_A : float or None
        Rating of the fuse in the lead. [A]
    chemistry : str or None
        Word of the scenario file; None for a battery given by table only.
    diode_drop_V : float
        Drop of the body diode while one direction is blocked, >= 0. [V]
    balancer : Balancer or None
    thermal : Thermal or None
        None: its temperature is that of the surroundings.
    heater : Heater or None
    lead_area_mm2 : float or None
        Copper of the lead; None when only its resistance is known. [mm2]
    """

    name: str
    cells: tuple[Cell, ...]
    internal_ohm: float
    lead_ohm: float
    rules: tuple[Rule, ...]
    rated_C: float
    continuous_discharge_A: float | None = None
    continuous_charge_A: float | None = None
    limits_assumed: tuple[str, ...] = ()
    fuse_A: float | None = None
    chemistry: str | None = None
    diode_drop_V: float = 0.7
    balancer: Balancer | None = None
    thermal: Thermal | None = None
    heater: Heater | None = None
    lead_area_mm2: float | None = None

    def __post_init__(self) -> None:
        if not self.cells:
            raise ParameterError("cells", 0, "at least 1 cell")
        for field in ("internal_ohm", "lead_ohm", "diode_drop_V"):
            value = getattr(self, field)
            if not 0.0 <= value < math.inf:
                raise ParameterError(field, value, "0 or more")
        if not 0.0 < self.rated_C < math.inf:
            raise ParameterError("rated_C", self.rated_C, "more than 0")
        if len({(cell.activation_J_mol, id(cell.usable_part)) for cell in self.cells}) > 1:
            raise ParameterError("cells", "mixed", "one way to depend on temperature for all cells")
