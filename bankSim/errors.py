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
    places : sequence of (tuple of str and int, str)
        The same, for a form: where in the document (places in arrays count from 0), and what is
        wrong there; empty where a fault has no place.
    """

    def __init__(
        self,
        faults: Sequence[str],
        places: Sequence[tuple[tuple[str | int, ...], str]] = (),
    ) -> None:
        super().__init__(list(faults), tuple(places))

    @property
    def faults(self) -> list[str]:
        """The lines, in file order."""
        return list(self.args[0])

    @property
    def places(self) -> tuple[tuple[tuple[str | int, ...], str], ...]:
        """Where in the document, and what is wrong there."""
        places: tuple[tuple[tuple[str | int, ...], str], ...] = self.args[1]
        return places

    def __str__(self) -> str:
        return "\n".join(self.faults)
