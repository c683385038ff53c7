"""Command that serves the rooms on this machine."""

from typing import Annotated

import typer

from dashboards.cli_options import HomeOption, PortOption, home_of


def open_rooms(
    port: PortOption = 5006,
    browser: Annotated[bool, typer.Option("--browser/--no-browser", help="Also open a browser.")] = False,
    home: HomeOption = None,
) -> None:
    """Serve the rooms from the newest edition on 127.0.0.1 and print the address.

    Example: evenhand open --port 5006
    """
    from dashboards.serve import serve

    serve(home_of(home).current_release, port=port, open_browser=browser)
