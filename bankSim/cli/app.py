"""``banksim app``: opens the screen."""

from importlib.util import find_spec
from pathlib import Path
from typing import Annotated

import typer

from bankSim.cli.guard import guarded
from bankSim.errors import SimulationError

PACKAGES = ("streamlit", "plotly")  # of the extra `screen`


def register(app: typer.Typer) -> None:
    """Add the command."""

    @app.command("app")
    def _app(
        scenario: Annotated[
            Path | None,
            typer.Argument(
                metavar="[SCENARIO]",
                help="Scenario file (TOML) that is on the screen at first; the file itself is "
                "never changed.",
            ),
        ] = None,
        port: Annotated[
            int, typer.Option(min=1, max=65535, help="Where the browser finds it.")
        ] = 8501,
        address: Annotated[
            str,
            typer.Option(
                help="Network address to listen on. The default is this machine only; any other "
                "lets everybody who reaches that address use the screen."
            ),
        ] = "127.0.0.1",
        no_browser: Annotated[
            bool, typer.Option("--no-browser", help="Open no browser window.")
        ] = False,
    ) -> None:
        """Open the screen in a browser."""

        def run() -> int:
            return open_screen(scenario, port, address, browser=not no_browser)

        raise typer.Exit(guarded(run))


def open_screen(scenario: Path | None, port: int, address: str, *, browser: bool) -> int:
    """Serve the screen, with a bank of one's own if wanted, until it is stopped by hand."""
    for name in PACKAGES:
        if find_spec(name) is None:
            raise SimulationError(f"the screen needs the package {name}: install banksim[screen]")
    from bankSim.scenario.draft_file import read_draft
    from bankSim.screens.launch import serve
    from bankSim.screens.ready import begin_with

    if scenario is not None:
        begin_with(read_draft(scenario))
    try:
        return serve(port, address, browser=browser)
    except ImportError as error:  # a package of a package that is not there
        raise SimulationError(
            f"the screen cannot start ({error}): install banksim[screen] again"
        ) from error
