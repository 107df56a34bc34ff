"""Puts the project's folder in reach, so that tests and command import the same modules."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
