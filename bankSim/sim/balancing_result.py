"""What a comparison with and without balancers gives."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class BalancerGain:
    """A run beside the same run without balancers.

    Parameters
    ----------
    names : tuple of str
        Batteries that have one.
    delivered_Ah, without_Ah : float
        Through the take-off, with and without; without: None when that run was given up. [Ah]
    runtime_s, without_runtime_s : float
        As of the bank; None as above. [s]
    given_up : str
        Why the run without was given up; empty when it came to its end.
    """

    names: tuple[str, ...]
    delivered_Ah: float
    without_Ah: float | None
    runtime_s: float
    without_runtime_s: float | None
    given_up: str = ""
