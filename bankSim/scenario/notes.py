"""Collects what the file left open and what it said in vain."""

from dataclasses import dataclass, field

from bankSim.scenario.record import Assumed


@dataclass
class Notes:
    """Assumed values and remarks, in the order in which they were made."""

    assumed: list[Assumed] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)

    def assume(self, key: str, value: float | str, unit: str, source: str) -> None:
        """Note a value that the file did not give, without the last digits of round-off.

        In the unit of the key.
        """
        tidy = value if isinstance(value, str) else float(f"{value:.12g}")
        self.assumed.append(Assumed(key, tidy, unit, source))

    def given_or(
        self, given: float | None, key: str, typical: float, unit: str, source: str
    ) -> float:
        """Return what was given, or the typical value after noting it. In the unit of the key."""
        if given is not None:
            return given
        self.assume(key, typical, unit, source)
        return typical

    def no_effect(self, key: str, why: str) -> None:
        """Note a key that was given in vain; `why` follows "because"."""
        self.remarks.append(f"{key} has no effect because {why}.")
