"""Errors that a person can cause and mend; anything else is a bug and keeps its traceback."""

from collections.abc import Sequence


class SimulationError(Exception):
    """Base of everything that a command or a page turns into a clear line."""


class ParameterError(SimulationError, ValueError):
    """A value is outside what the model allows.

    Parameters
    ----------
    field : str
        Name of the quantity with its unit, as in ``ohmic_ohm``.
    got : object
        The value that was given.
    allowed : str
        What would have been accepted.
    """

    def __init__(self, field: str, got: object, allowed: str) -> None:
        super().__init__(field, got, allowed)

    def __str__(self) -> str:
        field, got, allowed = self.args
        return f"{field} = {got!r}; expected {allowed}"


class ScenarioError(SimulationError, ValueError):
    """A scenario file is wrong; carries one line per fault, all of them at once.

    Parameters
    ----------
    faults : sequence of str
        One line each: file, key path, value, what is allowed.
    """

    def __init__(self, faults: Sequence[str]) -> None:
        super().__init__(list(faults))

    @property
    def faults(self) -> list[str]:
        """The lines, in file order."""
        return list(self.args[0])

    def __str__(self) -> str:
        return "\n".join(self.faults)
