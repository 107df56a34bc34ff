"""Optional: damage guided by what code it reaches, with the package atheris.

Nothing else needs that package. In an environment of its own, this project installed beside it:
``python -m tests.hostile.guided tables -max_total_time=60``. What follows the kind is libFuzzer's.
"""

import sys
import tempfile
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["bankSim.scenario", "bankSim.measured"]):
    from tests.hostile.cases import KINDS, MAIN, Case
    from tests.hostile.judge import FINDING, judge


def main() -> None:
    """Judge what the fuzzer makes up until it is stopped; a finding ends it with its file kept."""
    kind = sys.argv.pop(1) if len(sys.argv) > 1 else "tables"
    if kind not in KINDS:
        sys.exit(f"{kind}: expected one of {', '.join(KINDS)}")
    folder = Path(tempfile.mkdtemp(prefix="hostile-"))

    def one(content: bytes) -> None:
        verdict = judge(Case(kind, 0, 0, {MAIN[kind]: content}), folder)
        if verdict.outcome == FINDING:
            raise RuntimeError(f"{verdict.words}\n{verdict.more}")

    atheris.Setup(sys.argv, one)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
