"""Serve the rooms and say where, once they really build; to this machine, or behind a site's sign-in."""

import os
import socket
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from dashboards.access import COMMITTEE, ERGONOMIST, Access, Grant
from dashboards.app import OneDoor, build, session
from etl.errors import EvenhandError

SESSIONS = 20
MESSAGE_BYTES = 1_048_576
TOKEN_SECONDS = 300
UNUSED_MS = 15_000


def serve(
    release_path: Path | str,
    port: int = 5006,
    address: str = "127.0.0.1",
    open_browser: bool = False,
    access: Access | None = None,
) -> None:
    """Serve the rooms until interrupted.

    Parameters
    ----------
    release_path : Path or str
        Release file, or the link to the newest one.
    port : int, default 5006
        Port to listen on; 0 takes a free one.
    address : str, default "127.0.0.1"
        Address to listen on.
    open_browser : bool, default False
        Whether to open a browser too.
    access : Access, optional
        Roles and sign-in; without it whoever reaches the port sees all, which is for one's own machine.

    Raises
    ------
    EvenhandError
        If there is no release, or the port is taken; nothing is served then.
    """
    import panel as pn

    from dashboards.app import frames_of
    from dashboards.seats import Asked
    from dashboards.warm import keep_warm

    # A server that answers proves nothing about the app behind it, so one page is built first.
    door = OneDoor(release_path)
    build(door.get())
    port = _free(address, port)
    shown = "localhost" if address == "127.0.0.1" else address
    local = [f"{address}:{port}", f"localhost:{port}"]
    server: Any = pn.serve(
        pages(door, access),
        port=port,
        address=address,
        websocket_origin=list(access.serving.origins) or local if access else local,
        title="Evenhand",
        show=open_browser,
        start=False,
        threaded=False,
        verbose=False,
        websocket_max_message_size=MESSAGE_BYTES,
        session_token_expiration=TOKEN_SECONDS,
        unused_session_lifetime_milliseconds=UNUSED_MS,
        **(guarded(access, os.environ) if access else {"include_headers": [], "include_cookies": []}),
    )
    asked = Asked()
    server._tornado.add_transform(asked)
    server.start()
    keep_warm(
        server.io_loop,
        lambda grant: frames_of(door.get().pin(), grant),
        (ERGONOMIST, COMMITTEE) if access else (None,),
        asked.within,
    )
    print(f"Evenhand is open at http://{shown}:{port}/  (Ctrl+C ends it)", flush=True)
    try:
        server.io_loop.start()
    except KeyboardInterrupt:
        print("Closed.", flush=True)
    finally:
        server.stop()


def pages(door: OneDoor, access: Access | None) -> dict[str, Any]:
    """Return what is served under which path.

    Parameters
    ----------
    door : OneDoor
        The release.
    access : Access or None
        Roles and sign-in.

    Returns
    -------
    dict of str to callable
        Path -> maker of a session's page.
    """
    from dashboards.app import chooser, denied, seated
    from dashboards.seats import Seats
    from dashboards.signin import demo_grants, session_grant

    seats = Seats(access.serving.sessions if access else SESSIONS)
    # Behind a proxy that signs people in, signing out is the proxy's.
    way_out = {"demo": "role", "oidc": "sign-out"}.get(access.sign_in.kind, "") if access else ""

    # The server library takes plain functions for pages, and draws anything else as an object.
    def page(grant: Grant | None) -> Callable[[], Any]:
        return lambda: seated(seats, lambda: session(door, grant, way_out))

    if access is None:
        return {"/": page(None)}
    if access.sign_in.kind == "demo":
        grants = demo_grants(access)
        return {"/": lambda: chooser(grants), **{path: page(grant) for path, grant in grants.items()}}

    def own() -> Any:
        grant = session_grant(access)
        return page(grant)() if grant else denied(way_out)

    return {"/": own}


def guarded(access: Access, env: Mapping[str, str]) -> dict[str, Any]:
    """Return the server's options for a site: signed sessions, chosen headers only, sign-in.

    Parameters
    ----------
    access : Access
        Roles and sign-in.
    env : mapping of str to str
        Environment with the secrets; see `dashboards.check` for what they must be.

    Returns
    -------
    dict
        Options of the server.
    """
    sign_in = access.sign_in
    options: dict[str, Any] = {"include_headers": [], "include_cookies": []}
    if sign_in.kind == "demo":
        return options
    # Whoever could forge a session's token could name any person in it.
    options |= {"sign_sessions": True, "secret_key": env["BOKEH_SECRET_KEY"].encode(), "index": None}
    if access.serving.root_path:
        options |= {"use_xheaders": True, "root_path": access.serving.root_path}
    if sign_in.kind == "proxy":
        from dashboards.signin import ProxySignIn

        # The secret itself never gets into the token, which the reader's own page can read.
        return options | {
            "include_headers": [http_case(sign_in.user_header), http_case(sign_in.groups_header)],
            "auth_provider": ProxySignIn(access, env["EVENHAND_PROXY_SECRET"]),
        }
    from dashboards.oidc import oidc_options

    return options | oidc_options(access, env)


def http_case(name: str) -> str:
    """Return a header's name as the server spells it."""
    return "-".join(part.capitalize() for part in name.split("-"))


def _free(address: str, port: int) -> int:
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((address, port))
        except OSError as error:
            raise EvenhandError(
                f"The port cannot be used: {error.strerror}", f"{address}:{port}", "Name another with --port."
            ) from error
        return int(probe.getsockname()[1])
