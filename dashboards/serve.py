"""Serve the rooms on this machine and say where, once they really build."""

import socket
from pathlib import Path
from typing import Any

from dashboards.app import build, door_of, session
from etl.errors import EvenhandError


def serve(
    release_path: Path | str, port: int = 5006, address: str = "127.0.0.1", open_browser: bool = False
) -> None:
    """Serve the rooms until interrupted.

    Parameters
    ----------
    release_path : Path or str
        Release file, or the link to the newest one.
    port : int, default 5006
        Port to listen on.
    address : str, default "127.0.0.1"
        Address to listen on.
    open_browser : bool, default False
        Whether to open a browser too.

    Raises
    ------
    EvenhandError
        If there is no release, or the port is taken; nothing is served then.
    """
    import panel as pn

    # A server that answers proves nothing about the app behind it, so one page is built first.
    build(door_of(release_path))
    _free(address, port)
    shown = "localhost" if address == "127.0.0.1" else address
    server: Any = pn.serve(
        {"/": lambda: session(release_path)},
        port=port,
        address=address,
        websocket_origin=[f"{address}:{port}", f"localhost:{port}"],
        title="Evenhand",
        show=open_browser,
        start=False,
        threaded=False,
        verbose=False,
    )
    server.start()
    print(f"Evenhand is open at http://{shown}:{port}/  (Ctrl+C ends it)", flush=True)
    try:
        server.io_loop.start()
    except KeyboardInterrupt:
        print("Closed.", flush=True)
    finally:
        server.stop()


def _free(address: str, port: int) -> None:
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((address, port))
        except OSError as error:
            raise EvenhandError(
                f"The port cannot be used: {error.strerror}", f"{address}:{port}", "Name another with --port."
            ) from error
