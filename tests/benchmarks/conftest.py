"""The benchmarks are not part of the installed package: put the project's folder in reach."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
