"""``banksim schema``: the JSON Schema of scenario files, so that editors can complete them."""

import json
import sys
from pathlib import Path

from bankSim.show.targets import check_file, write_text


def schema(out: Path | None) -> int:
    """Print the schema or write it to a file; return 0."""
    if out is not None:
        check_file(out)
    from bankSim.scenario.schema import scenario_schema

    text = json.dumps(scenario_schema(), indent=2) + "\n"
    if out is None:
        sys.stdout.write(text)
    else:
        write_text(text, out)
        print(f"Written: {out}")
    return 0
