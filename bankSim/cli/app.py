"""``banksim app``: opens the screen."""

from importlib import import_module
from typing import Annotated

import typer

from bankSim.cli.guard import guarded
from bankSim.errors import SimulationError

PACKAGES = ("streamlit", "plotly")  # of the extra `screen`


def register(app: typer.Typer) -> None:
    """Add the command."""

    @app.command("app")
    def _app(
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
        raise typer.Exit(guarded(lambda: open_screen(port, address, browser=not no_browser)))


def open_screen(port: int, address: str, *, browser: bool) -> int:
    """Serve the screen until it is stopped by hand."""
    for name in PACKAGES:
        try:
            import_module(name)
        except ModuleNotFoundError as error:
            raise SimulationError(
                f"the screen needs the package {name}: install banksim[screen]"
            ) from error
    from bankSim.screens.launch import serve

    return serve(port, address, browser=browser)
