"""``banksim netlist``: the bank as a SPICE netlist."""

from pathlib import Path

from bankSim.cli.inputs import inputs_of
from bankSim.cli.output import print_or_write
from bankSim.show.targets import check_file


def netlist(file: Path, out: Path | None) -> int:
    """Print the netlist of a scenario or write it to a file; return 0."""
    if out is not None:
        check_file(out, inputs_of(file))
    from bankSim.crosscheck.deck import build_deck
    from bankSim.scenario.read import read_scenario

    scenario = read_scenario(file)
    text = build_deck(scenario.bank, title=scenario.title)
    print_or_write(text, out)
    return 0
