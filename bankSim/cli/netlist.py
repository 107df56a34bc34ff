"""``banksim netlist``: the bank as a SPICE netlist."""

import sys
from pathlib import Path

from bankSim.cli.inputs import inputs_of
from bankSim.show.targets import check_file, write_text


def netlist(file: Path, out: Path | None) -> int:
    """Print the netlist of a scenario or write it to a file; return 0."""
    if out is not None:
        check_file(out, inputs_of(file))
    from bankSim.crosscheck.deck import build_deck
    from bankSim.scenario.read import read_scenario

    scenario = read_scenario(file)
    text = build_deck(scenario.bank, title=scenario.title)
    if out is None:
        sys.stdout.write(text)
    else:
        write_text(text, out)
        print(f"Written: {out}")
    return 0
