"""Where the open measured logs of a 2 Ah LFP cell lie: About:Energy, BPX data, CC BY-SA 4.0.

They are not shipped (share-alike). The environment variable BANKSIM_OPEN_DATA names their folder.
"""

import os
from pathlib import Path

import pytest

FOLDER = Path(
    os.environ.get("BANKSIM_OPEN_DATA", Path(__file__).resolve().parents[2] / "shared" / "data")
)
SLOW, FAST = (FOLDER / f"lfp_2Ah_25degC_{name}.csv" for name in ("Co20", "1C"))
NO_DATA = "the open logs of a measured 2 Ah cell are not here: set BANKSIM_OPEN_DATA"
needs_open_data = pytest.mark.skipif(not (SLOW.exists() and FAST.exists()), reason=NO_DATA)
