"""A folder with something to do for every command that writes, and disks that fail."""

import os
import resource
import subprocess
import sys
from contextlib import contextmanager
from pathlib import Path

import numpy as np

import bankSim
from bankSim.cli.main import main
from bankSim.whole import MARK

ROOT = Path(bankSim.__file__).parents[1]
CURVE = "state_of_charge,voltage_V\n0.0,2.5\n0.1,3.1\n0.9,3.3\n1.0,3.4\n"
BATTERY = """
[[battery]]
name = "{name}"
cells_in_series = 4
rated_capacity_Ah = {Ah}
lead_mohm = 2.0
[battery.cell]
capacity_Ah = {{ value = {Ah}, sd = 0.3 }}
ocv_table = "curve.csv"
ohmic_mohm = 1.0
[[battery.protection]]
watches = "lowest cell voltage"
trips_below = 2.6
blocks = "discharge"
"""
BANK = (
    'title = "Zwölf Volt für die Hütte"\n'
    + BATTERY.format(name="älter", Ah=10.0)
    + BATTERY.format(name="neu", Ah=20.0)
    + '[[load]]\nname = "Kühlbox"\ncurrent_A = 6.0\n[simulation]\noutput_every_s = 3600.0\n'
)
FEW = ["--draws", "20", "--no-plots"]
LOG = ["log.csv", "--sign", "discharge"]
LABEL = ["--rated-Ah", "10", "--chemistry", "LFP"]
CELLS = ["--cells", "2.50", "2.60", "2.55", "2.52"]

#: Every command that writes, with where it writes below the folder OUT.
COMMANDS = {
    "run": ["run", "bank.toml", "--out", "OUT/r", "--no-plots"],
    "run figures": ["run", "bank.toml", "--out", "OUT/r"],
    "run json": ["run", "bank.toml", "--json", "OUT/r.json", "--out", "kept", "--no-plots"],
    "spread": ["study", "bank.toml", *FEW, "--out", "OUT/s"],
    "sweep": ["study", "bank.toml", "sweep", "load[1].current_A=5,6", *FEW, "--out", "OUT/s"],
    "matters": ["study", "bank.toml", "matters", "--draws", "16", "--no-plots", "--out", "OUT/s"],
    "versus": ["study", "bank.toml", "versus", "other.toml", *FEW, "--out", "OUT/s"],
    "sums": ["study", "bank.toml", "sums", *FEW, "--out", "OUT/s"],
    "report": ["report", "bank.toml", "--no-draws", "--out", "OUT/r.html"],
    "netlist": ["netlist", "bank.toml", "--out", "OUT/b.cir"],
    "schema": ["schema", "--out", "OUT/s.json"],
    "new": ["new", "OUT/n.toml"],
    "log": ["log", *LOG, "--out", "OUT/l"],
    "log bdf": ["log", *LOG, "--bdf", "OUT/l.csv"],
    "test": ["test", *LOG, *LABEL, "--no-plots", "--out", "OUT/t"],
    "calibrate": ["calibrate", *LOG, *LABEL, "--cells-in-series", "4", "--no-plots", "--battery",
                  "OUT/b.toml", "--out", "kept"],
    "compare": ["compare", "bank.toml", *LOG, *FEW, "--load", "measured", "--out", "OUT/c"],
    "snapshot": ["snapshot", "--voltage", "10.17", "--current", "3", *CELLS, *LABEL, "--no-plots",
                 "--out", "OUT/x"],
    "gauge": ["gauge", *LOG, *LABEL, "--no-plots", "--out", "OUT/g"],
    "plan": ["plan", *LABEL, "--cells-in-series", "4", "--load-A", "5", *FEW, "--out", "OUT/p"],
    "deeper": ["deeper", "--Ah", "148", "/", "160", "--cells", "2.50", "2.60", "2.55", "2.52", "/",
               "2.21", "2.35", "2.30", "2.40", "--kg", "16", "/", "16", "--no-plots", "--out",
               "OUT/d"],
}  # fmt: skip


def furnish(folder):
    """Write scenarios and a log of a plain discharge."""
    (folder / "curve.csv").write_text(CURVE)
    (folder / "bank.toml").write_text(BANK, encoding="utf-8")
    (folder / "other.toml").write_text(BANK.replace("2.0\n[battery", "3.0\n[battery"), "utf-8")
    time_s = np.arange(0.0, 18_000.0, 60.0)
    volts = 13.4 - 1.2 * time_s / 18_000.0 - 1.6 * np.maximum(time_s / 18_000.0 - 0.9, 0.0) * 10.0
    rows = "\n".join(f"{t:.0f},2.0,{v:.4f}" for t, v in zip(time_s, volts, strict=True))
    (folder / "log.csv").write_text(f"time_s,current_A,voltage_V\n{rows}\n")
    return folder


def words_for(name, out):
    """The words of a command that writes into the folder `out`."""
    return [word.replace("OUT", str(out)) for word in COMMANDS[name]]


def told_once(capsys, words):
    """Call a command that must refuse: exit code 2 and one line on standard error."""
    assert main(words) == 2
    lines = capsys.readouterr().err.strip().splitlines()
    told = "\n".join(line for line in lines if not line.startswith("Going on with"))
    assert told
    assert len(told.splitlines()) == 1, told
    assert "Traceback" not in told
    return told


def everything(folder):
    """All files below a folder and what is in them."""
    return {one: one.read_bytes() for one in folder.rglob("*") if one.is_file()}


def assert_nothing_half_written(folder):
    """Check that nothing of a failed run is left; finished blocks of draws may be."""
    assert not list(folder.rglob(f"{MARK}*"))
    for one in folder.rglob("*.tmp"):
        raise AssertionError(one)


@contextmanager
def no_room(most_bytes):
    """Let no file grow beyond so many bytes, as on a full disk (EFBIG for ENOSPC)."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (most_bytes, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


@contextmanager
def mounted(folder, options):
    """Mount a small file system in memory there; only the system's keeper can."""
    subprocess.run(["mount", "-t", "tmpfs", "-o", options, "none", str(folder)], check=True)
    try:
        yield folder
    finally:
        subprocess.run(["umount", "-l", str(folder)], check=True)


def can_mount():
    """Whether this process may mount; containers often forbid it even to root."""
    if os.name != "posix" or os.geteuid() != 0:
        return False
    tried = ["unshare", "-m", "mount", "-t", "tmpfs", "none", "/mnt"]
    return subprocess.run(tried, capture_output=True, check=False).returncode == 0


def program(words, folder, *, shell=None, **environment):
    """Run the program in a process of its own; `shell` is a line with BANKSIM in it."""
    place = os.pathsep.join([str(ROOT), os.environ.get("PYTHONPATH", "")])
    env = {**os.environ, "PYTHONPATH": place, **environment}
    env = {name: value for name, value in env.items() if value is not None}
    call = [sys.executable, "-m", "bankSim", *words]
    if shell is not None:
        call = ["sh", "-c", shell.replace("BANKSIM", '"$@"'), "sh", *call]
    return subprocess.run(call, cwd=folder, env=env, capture_output=True, check=False, timeout=120)
