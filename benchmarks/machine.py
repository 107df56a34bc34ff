"""What the figures were measured on, and how busy it was."""

import os
import platform
import time
from datetime import date
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

PACKAGES = ("numpy", "numba", "scipy", "pandas")


class Watch:
    """Watches how busy the machine is from the start of a measurement to its end."""

    def __init__(self):
        self.began, self.load = time.perf_counter(), _load()

    def lines(self):
        """Return lines on date, machine, versions and how busy the machine was."""
        took_min = (time.perf_counter() - self.began) / 60.0
        return [
            f"Measured on {date.today().isoformat()} in {took_min:.1f} min.",
            f"Machine: {processor()}; {os.cpu_count()} cores; {platform.system()} "
            f"{platform.machine()}.",
            f"Versions: Python {platform.python_version()}, "
            + ", ".join(f"{name} {_version(name)}" for name in PACKAGES)
            + ".",
            f"How busy: load average over 1, 5 and 15 min {self.load} at the start, "
            f"{_load()} at the end. More than the number of cores means that others were waiting "
            "for them: times are then too long, and ratios are noisier than on an idle machine.",
        ]


def processor():
    """Name of the processor, as the system tells it."""
    try:
        for line in Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines():
            if line.startswith("model name"):
                return " ".join(line.partition(":")[2].split())
    except OSError:
        pass
    return platform.processor() or "unknown processor"


def _load():
    if not hasattr(os, "getloadavg"):
        return "unknown"
    return ", ".join(f"{one:.1f}" for one in os.getloadavg())


def _version(name):
    try:
        return version(name)
    except PackageNotFoundError:
        return "not installed"
