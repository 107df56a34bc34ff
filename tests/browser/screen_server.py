"""The screen's server for tests: started as people start it, in folders of its own."""

import os
import socket
import subprocess
import sys
import time
import urllib.request
from dataclasses import dataclass
from pathlib import Path

PROJECT = Path(__file__).resolve().parents[2]
KEEPER = Path(__file__).with_name("keeper.py")
START_S = 90.0
STOP_S = 20.0


@dataclass
class Screen:
    """A server under way.

    Parameters
    ----------
    url : str
        With a stroke at its end.
    folder : Path
        Holds `home`, `tmp` and `work`, which are all that the server knows of this machine.
    """

    port: int
    folder: Path
    process: subprocess.Popen

    @property
    def url(self):
        return f"http://127.0.0.1:{self.port}/"

    @property
    def told(self):
        """What the server has printed so far."""
        return (self.folder / "told.txt").read_text(encoding="utf-8")

    def stop(self):
        """End the server and return its exit code."""
        if self.process.stdin and not self.process.stdin.closed:
            self.process.stdin.close()
        return self.process.wait(STOP_S)

    def left_behind(self):
        """Return the files that are still there, apart from what it printed."""
        here = [self.folder / name for name in ("home", "tmp", "work")]
        return sorted(str(one.relative_to(self.folder)) for root in here for one in root.rglob("*"))


def free_port():
    """Return a port that nobody listens at just now."""
    with socket.socket() as door:
        door.bind(("127.0.0.1", 0))
        return door.getsockname()[1]


def own_surroundings(folder):
    """Return environment variables: home, temporary and working folder of its own, known caches."""
    for name in ("home", "tmp", "work"):
        (folder / name).mkdir(parents=True, exist_ok=True)
    caches = Path.home() / ".cache"
    kept = {name: os.environ[name] for name in ("PATH", "LANG", "LC_ALL") if name in os.environ}
    return kept | {
        "HOME": str(folder / "home"),
        "TMPDIR": str(folder / "tmp"),
        "PYTHONPATH": str(PROJECT),
        "PYTHONDONTWRITEBYTECODE": "1",
        # compiled code and the list of fonts: costly to make anew, and nothing of visitors
        "NUMBA_CACHE_DIR": os.environ.get("NUMBA_CACHE_DIR", str(caches / "banksim")),
        "MPLCONFIGDIR": os.environ.get("MPLCONFIGDIR", str(caches / "matplotlib")),
    }


def start_screen(folder, *words):
    """Start `banksim app` with more words, and wait until it answers."""
    port = free_port()
    command = [sys.executable, "-m", "bankSim", "app", "--no-browser", "--port", str(port), *words]
    surroundings = own_surroundings(folder)
    with (folder / "told.txt").open("wb") as told:
        process = subprocess.Popen(
            [sys.executable, str(KEEPER), *command],
            cwd=folder / "work",
            env=surroundings,
            stdin=subprocess.PIPE,
            stdout=told,
            stderr=subprocess.STDOUT,
        )
    screen = Screen(port, folder, process)
    try:
        wait_until_it_answers(screen.url)
    except TimeoutError:
        screen.stop()
        raise RuntimeError(f"the server did not start:\n{screen.told}") from None
    return screen


def wait_until_it_answers(url, seconds=START_S):
    """Wait for the server's sign of life."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        try:
            with urllib.request.urlopen(f"{url}_stcore/health", timeout=2.0) as answer:
                if answer.status == 200:
                    return
        except OSError:
            time.sleep(0.1)
    raise TimeoutError(url)
