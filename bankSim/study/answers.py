"""The questions a draw answers with one number: names, words, units, columns."""

from dataclasses import dataclass

from bankSim.errors import SimulationError
from bankSim.kernels.arrays import Floats
from bankSim.model.bank import Bank
from bankSim.study.blocks import Draws
from bankSim.study.outcomes import (
    BANK_AH,
    CHARGED_AH,
    FIRST,
    RUNTIME_H,
    Table,
    battery_column,
)


@dataclass(frozen=True, slots=True)
class Answer:
    """One number of a draw.

    Parameters
    ----------
    word : str
        As on the command line.
    text : str
        In a sentence: "the bank delivers".
    unit : str
    column : str
        Of the table of draws.
    equals : int or None
        Set: the answer is 1 where the column is that, else 0 (a chance).
    """

    word: str
    text: str
    unit: str
    column: str
    equals: int | None = None

    def of(self, draws: Draws) -> Floats:
        """Return it for all draws; NaN where there is none. In `unit`."""
        return self._read(draws.column(self.column))

    def of_table(self, table: Table) -> Floats:
        """Return it for all rows of a table; NaN where there is none. In `unit`."""
        return self._read(table[self.column])

    def _read(self, values) -> Floats:  # type: ignore[no-untyped-def]  # noqa: ANN001
        if self.equals is not None:
            return (values == self.equals).astype(float)  # type: ignore[no-any-return]
        return values.astype(float)  # type: ignore[no-any-return]


BANK = Answer("bank", "Ah the bank delivers", "Ah", BANK_AH)
CHARGED = Answer("charged", "Ah the bank takes in", "Ah", CHARGED_AH)
RUNTIME = Answer("runtime", "hours until the loads are fed no longer", "h", RUNTIME_H)


def main_answer(bank: Bank) -> Answer:
    """Return what a bank is there for: Ah delivered; where it has no load, Ah taken in."""
    return BANK if bank.loads else CHARGED


def answers(bank: Bank) -> list[Answer]:
    """Return everything that can be asked of a bank's draws."""
    found = [BANK, *([CHARGED] if bank.chargers else []), *([RUNTIME] if bank.loads else [])]
    for number, battery in enumerate(bank.batteries, 1):
        name = battery.name
        column = battery_column(name, "delivered_Ah")
        found.append(Answer(f"Ah:{name}", f'Ah that "{name}" delivers', "Ah", column))
        text = f'whether "{name}" cuts out first'
        found.append(Answer(f"first:{name}", text, "", FIRST, number))
    return found


def answer_of(word: str, bank: Bank) -> Answer:
    """Return the answer with this word.

    Raises
    ------
    SimulationError
        When there is none; lists all.
    """
    known = answers(bank)
    found = [one for one in known if one.word == word]
    if not found:
        words = ", ".join(one.word for one in known)
        raise SimulationError(f"--of {word!r}; expected one of: {words}")
    return found[0]
