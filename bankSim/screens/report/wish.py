"""What a visitor wants of the report."""

import hashlib
from dataclasses import dataclass

DRAWS = (100, 300, 1000, 3000)  # to choose from; the second is what `banksim report` makes
LARGEST_SEED = 2**31 - 1


@dataclass(frozen=True)
class Wish:
    """What goes into the report.

    Parameters
    ----------
    question : str
        Stands at the top; plain text.
    draws : int
        Random cases at most; 0: the single run only.
    seed : int
        Of the draws.
    """

    question: str = ""
    draws: int = DRAWS[1]
    seed: int = 1

    def digest(self, draft_digest: str) -> str:
        """Name all work that depends on this wish: the question does not cost any."""
        asked = f"{draft_digest} {self.draws} {self.seed if self.draws else 0}"
        return hashlib.sha256(asked.encode()).hexdigest()
