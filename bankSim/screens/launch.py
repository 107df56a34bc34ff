"""Starts the server of the screen with the settings of this package."""

import tomllib
from importlib.resources import as_file, files
from typing import Any


def options(port: int, address: str, *, browser: bool) -> dict[str, Any]:
    """Return the server's options: those of settings.toml, and where it listens.

    Parameters
    ----------
    port : int
    address : str
        A foreign address is also allowed as the host that browsers ask for.
    browser : bool
        Open a window.
    """
    text = (files("bankSim.screens") / "settings.toml").read_text(encoding="utf-8")
    found = dict(_flat(tomllib.loads(text)))
    found |= {"server.port": port, "server.address": address, "server.headless": not browser}
    if address not in ("127.0.0.1", "localhost"):
        found["server.allowedHosts"] = []
    return found


def serve(port: int, address: str, *, browser: bool) -> int:
    """Serve the screen until it is stopped by hand; return the exit code."""
    import streamlit.web.bootstrap as server
    from streamlit import config

    given = options(port, address, browser=browser)
    for name, value in given.items():
        config.set_option(name, value)
    with as_file(files("bankSim.screens") / "entry.py") as script:
        flags = {name.replace(".", "_"): value for name, value in given.items()}
        server.load_config_options(flags)
        server.run(str(script), False, [], flags)
    return 0


def _flat(table: dict[str, Any], before: str = "") -> list[tuple[str, Any]]:
    found: list[tuple[str, Any]] = []
    for key, value in table.items():
        name = f"{before}{key}"
        found += _flat(value, f"{name}.") if isinstance(value, dict) else [(name, value)]
    return found
