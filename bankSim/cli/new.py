"""``banksim new``: a commented scenario to start from."""

from pathlib import Path


def new(file: Path) -> int:
    """Write the starter scenario, say what to do next, return 0."""
    from bankSim.scenario.starter import write_starter

    write_starter(file)
    print(f"Written: {file}. Edit it, then: banksim run {file}")
    return 0
