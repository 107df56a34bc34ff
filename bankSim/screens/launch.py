"""Starts the server of the screen with the settings of this package."""

import errno
import socket
import sys
import tomllib
from importlib.resources import as_file, files
from typing import Any

from bankSim.errors import SimulationError

OWN_ADDRESSES = ("127.0.0.1", "localhost")
EVERY_ADDRESS = ("0.0.0.0", "::", "")
OPEN_TO_OTHERS = (
    "The screen is open to everybody who reaches {address}, port {port}: there is no password, "
    "and nothing on the way is encrypted. Without --address only this machine reaches it."
)


def options(port: int, address: str, *, browser: bool) -> dict[str, Any]:
    """Return the server's options: those of settings.toml, and where it listens.

    Parameters
    ----------
    port : int
    address : str
        A foreign address is also allowed as the host that browsers ask for; where the server
        listens at every address, any host is.
    browser : bool
        Open a window.
    """
    text = (files("bankSim.screens") / "settings.toml").read_text(encoding="utf-8")
    found = dict(_flat(tomllib.loads(text)))
    found |= {"server.port": port, "server.address": address, "server.headless": not browser}
    found["logger.hideWelcomeMessage"] = True  # `serve` says it in our words
    if address in EVERY_ADDRESS:
        found["server.allowedHosts"] = []
    elif address not in OWN_ADDRESSES:
        found["server.allowedHosts"] = [*found["server.allowedHosts"], address]
    return found


def serve(port: int, address: str, *, browser: bool) -> int:
    """Serve the screen until it is stopped by hand; return the exit code.

    Raises
    ------
    SimulationError
        When it cannot listen there.
    """
    check_free(port, address)  # told before the server is loaded, which takes a second
    import streamlit.web.bootstrap as server
    from streamlit import config

    if address not in OWN_ADDRESSES:
        print(OPEN_TO_OTHERS.format(address=address, port=port), file=sys.stderr, flush=True)
    given = options(port, address, browser=browser)
    for name, value in given.items():
        config.set_option(name, value)
    with as_file(files("bankSim.screens.served") / "entry.py") as script:
        flags = {name.replace(".", "_"): value for name, value in given.items()}
        server.load_config_options(flags)
        shown = "127.0.0.1" if address in EVERY_ADDRESS else address
        print(f"The screen is at http://{shown}:{port} - Ctrl-C ends it.", flush=True)
        server.run(str(script), False, [], flags)
    return 0


def check_free(port: int, address: str) -> None:
    """Raise a `SimulationError` that says why, when nobody may listen there."""
    try:
        family, kind, number, _, place = socket.getaddrinfo(
            address, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE
        )[0]
        with socket.socket(family, kind, number) as door:
            if sys.platform != "win32":
                door.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            door.bind(place)
    except socket.gaierror as error:
        raise SimulationError(f"--address {address}: no address of this machine") from error
    except (OSError, UnicodeError) as error:
        raise SimulationError(_why_not(error, port, address)) from error


def _why_not(error: Exception, port: int, address: str) -> str:
    number = getattr(error, "errno", None)
    if number == errno.EADDRINUSE:
        return f"port {port} is in use: choose another with --port, or stop what uses it"
    if number == errno.EACCES:
        return f"port {port} is not for everybody: choose one above 1023 with --port"
    if number == errno.EADDRNOTAVAIL:
        return f"--address {address}: no address of this machine"
    return f"--address {address}, --port {port}: {error}"


def _flat(table: dict[str, Any], before: str = "") -> list[tuple[str, Any]]:
    found: list[tuple[str, Any]] = []
    for key, value in table.items():
        name = f"{before}{key}"
        found += _flat(value, f"{name}.") if isinstance(value, dict) else [(name, value)]
    return found
