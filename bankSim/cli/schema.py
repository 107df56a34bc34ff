"""``banksim schema``: the JSON Schema of scenario files, so that editors can complete them."""

import json
from pathlib import Path

from bankSim.cli.output import print_or_write
from bankSim.show.targets import check_file


def schema(out: Path | None) -> int:
    """Print the schema or write it to a file; return 0."""
    if out is not None:
        check_file(out)
    from bankSim.scenario.schema import scenario_schema

    text = json.dumps(scenario_schema(), indent=2) + "\n"
    print_or_write(text, out)
    return 0
