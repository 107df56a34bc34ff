"""Write `requirements-dev.lock` anew from the packages of the test environment.

    .venv-tests/bin/python tests/packaging/make_lock.py

Each line holds an exact version and the SHA-256 of the file that suits this machine. Names of
registries and folders never come into it.
"""

import json
import platform
import subprocess
import sys
import tempfile
from pathlib import Path

LOCK = Path(__file__).parents[2] / "requirements-dev.lock"
NOT_NEEDED = ("pip", "setuptools", "banksim")
HEAD = """\
# The exact versions of a whole test environment, for {python} on {machine}.
# Use: pip install --require-hashes -r requirements-dev.lock
#      pip install --no-deps -e .
# Elsewhere (another Python or system) the files differ: pip install -e '.[test]'.
# Made by tests/packaging/make_lock.py.
"""


def pip(*words: str) -> str:
    """Call pip of this environment and return what it printed."""
    asked = [sys.executable, "-m", "pip", *words]
    return subprocess.run(asked, check=True, stdout=subprocess.PIPE, text=True).stdout


def installed() -> list[str]:
    """Return NAME==VERSION of every package here."""
    here = json.loads(pip("list", "--format=json"))
    return [f"{p['name']}=={p['version']}" for p in here if p["name"].lower() not in NOT_NEEDED]


def locked(pins: list[str]) -> str:
    """Return the lines of the lock file for these versions."""
    with tempfile.TemporaryDirectory() as folder:
        report = Path(folder, "report.json")
        wanted = ("--dry-run", "--ignore-installed", "--no-deps", "--quiet")
        pip("install", *wanted, "--report", str(report), *pins)
        found = json.loads(report.read_text(encoding="utf-8"))["install"]
    lines = []
    for one in found:
        name, version = one["metadata"]["name"], one["metadata"]["version"]
        digest = one["download_info"]["archive_info"]["hashes"]["sha256"]
        lines.append(f"{name}=={version} \\\n    --hash=sha256:{digest}\n")
    return "".join(sorted(lines, key=str.lower))


if __name__ == "__main__":
    python = f"Python {sys.version_info.major}.{sys.version_info.minor}"
    machine = f"{platform.system()} {platform.machine()}"
    LOCK.write_text(
        HEAD.format(python=python, machine=machine) + locked(installed()), encoding="utf-8"
    )
