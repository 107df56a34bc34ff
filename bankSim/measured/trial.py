"""One capacity test: what it gave, how it started and ended, what is odd about it."""

from dataclasses import dataclass

from bankSim.measured.around import After, Before
from bankSim.measured.correct import Correction
from bankSim.measured.count import Counted
from bankSim.measured.discharge import Discharge, Ending
from bankSim.measured.uncertainty import Budget

REGAINED_MARGIN = 1.25  # more may be hidden than the voltage shows, which is still settling


@dataclass(frozen=True, slots=True)
class Trial:
    """One test.

    Parameters
    ----------
    name : str
        File, and which discharge of it where there are several.
    unit : str
        Which battery was tested.
    discharge : Discharge
    start_s : float
        Since the start of the log. [s]
    counted : Counted
    before : Before
    after : After
    temperature_C : tuple of float or None
        Mean, lowest and highest during the discharge; one given value three times. [degC]
    weakest : tuple or None
        Number of the cell that was lowest at the end, counted from 1, its voltage, and by how
        much it was below the mean of all cells. [V]
    corrected : Budget or None
        Ah with the corrections asked for.
    corrections : tuple of Correction
    others_Ah : tuple of float
        Other discharges of the same log, not counted here. [Ah]
    sign : str
        What the log writes as positive, and how that was found.
    warnings : tuple of str
        What was odd in the log and may harm the answer.
    doubts : tuple of str
        How the log contradicts itself.
    spoilt : tuple of str
        Those of them that make its Ah wrong; no verdict stands on them.
    not_full : str
        Why it cannot have begun at full, or cannot be whole; empty where nothing in the log says
        so.
    later_Ah : float
        Given after its end without a charge in between, and not counted. [Ah]
    open_end : bool
        With what was given later it may reach the claim, and a load may have ended it.
    parted_s : float
        Length of a rest after which the load came again, where the voltage shows, or the log leaves
        open, that the battery was charged meanwhile; else 0. [s]
    """

    name: str
    unit: str
    discharge: Discharge
    start_s: float
    counted: Counted
    before: Before
    after: After
    temperature_C: tuple[float, float, float] | None
    weakest: tuple[int, float, float] | None
    corrected: Budget | None
    corrections: tuple[Correction, ...]
    others_Ah: tuple[float, ...]
    sign: str
    warnings: tuple[str, ...]
    doubts: tuple[str, ...] = ()
    spoilt: tuple[str, ...] = ()
    not_full: str = ""
    later_Ah: float = 0.0
    open_end: bool = False
    parted_s: float = 0.0

    @property
    def whole(self) -> bool:
        """Whether it may count as a discharge from full to the end; else it is a lower bound."""
        return self.discharge.complete and not self.not_full and not self.open_end

    @property
    def regained_Ah(self) -> float:  # noqa: N802 - the unit as printed
        """What pauses may have given back at most. [Ah]"""
        return sum(one.regained_Ah for one in self.discharge.pauses)

    @property
    def proven(self) -> tuple[float, float]:
        """Least and most part of the Ah that its log proves: gaps and pauses may hide more. [1]"""
        given = self.counted.Ah.value
        if not given > 0.0:
            return 1.0, 1.0
        least = given - max(self.counted.bridged_Ah, 0.0) - REGAINED_MARGIN * self.regained_Ah
        return min(least / given, 1.0), max(self.counted.most_Ah / given, 1.0)

    @property
    def ending(self) -> Ending:
        """Why it ended."""
        return self.discharge.ending
