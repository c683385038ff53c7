"""Command that serves the rooms: on this machine, or behind a site's sign-in."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dashboards.cli_options import HomeOption, home_of
from dashboards.cli_progress import say
from etl.errors import EvenhandError
from etl.home import Home

if TYPE_CHECKING:
    from dashboards.access import Access


def open_rooms(
    port: Annotated[
        int | None,
        typer.Option(
            "--port", min=0, max=65535, help="Port; 0 takes a free one. Default: 5006.", show_default=False
        ),
    ] = None,
    browser: Annotated[bool, typer.Option("--browser/--no-browser", help="Also open a browser.")] = False,
    access: Annotated[
        Path | None,
        typer.Option("--access", help="Access file of a site: roles, sign-in, origins.", show_default=False),
    ] = None,
    check: Annotated[
        bool, typer.Option("--check", help="Only say whether the site's configuration is safe.")
    ] = False,
    demo_sign_in: Annotated[
        bool, typer.Option("--demo-sign-in", help="Try the roles out; nobody is asked who they are.")
    ] = False,
    home: HomeOption = None,
) -> None:
    """Serve the rooms from the newest edition on 127.0.0.1 and print the address.

    Without an access file all rooms are open to whoever reaches the port: for one's own machine. With one,
    each person sees what their role may, and an unsafe configuration is not served.

    Example: evenhand open --port 5006
    """
    place = home_of(home)
    if demo_sign_in and (access or check):
        raise EvenhandError(
            "The demo sign-in is no site's sign-in", "--demo-sign-in", "Leave out --access and --check."
        )
    if check or access:
        site = checked(place, access)
        if check:
            say("The configuration is safe to serve, as far as this program can see.")
            return
        _serve(place, port if port is not None else site.serving.port, browser, site)
        return
    _serve(place, 5006 if port is None else port, browser, demo_access(place) if demo_sign_in else None)


def _serve(place: Home, port: int, browser: bool, access: "Access | None") -> None:
    from dashboards.serve import serve

    address = access.serving.address if access else "127.0.0.1"
    serve(place.current_release, port, address, browser, access)


def checked(place: Home, path: Path | None) -> "Access":
    """Return a site's access file, if it is safe to serve with it.

    Parameters
    ----------
    place : Home
        Data home.
    path : Path or None
        The access file.

    Returns
    -------
    Access
        Its content.

    Raises
    ------
    EvenhandError
        If it is not; each fault is printed on a line of its own before.
    """
    import os

    from dashboards.access import read_access
    from dashboards.check import faults

    access = read_access(path) if path else None
    found = faults(access, path, place, os.environ)
    for fault in found:
        typer.echo(f"evenhand: {fault}", err=True)
    if found or access is None:
        raise EvenhandError(
            f"{len(found)} fault{'s' if len(found) != 1 else ''}: not safe to serve",
            str(path or "no access file"),
            "Do what stands above, then run 'evenhand open --check' again.",
        )
    return access


def demo_access(place: Home) -> "Access":
    """Return the access of the demo sign-in: one page a role, one a team for its manager.

    Parameters
    ----------
    place : Home
        Data home.

    Returns
    -------
    Access
        Checks nothing, and says so on its first page.
    """
    from dashboards.access import Access, Members, SignIn
    from dashboards.app import door_of

    units = door_of(place.current_release).table("unit", level="team")
    return Access(SignIn(kind="demo"), managers={str(team): Members() for team in sorted(set(units["unit"]))})
