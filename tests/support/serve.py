"""Serve the rooms in a process of their own on a free port, and end that process again."""

import os
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

START = "from dashboards.serve import serve; import sys; serve(sys.argv[1], port=int(sys.argv[2]))"
COMMAND = "from dashboards.cli import main; main()"


def free_port() -> int:
    """Return a port that nobody listens on now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def running(
    arguments: Sequence[str],
    seconds: float = 120,
    env: dict[str, str] | None = None,
    ready: str = "is open at",
) -> Iterator[list[str]]:
    """Run Python until the block ends, from when it has said that it is ready.

    Parameters
    ----------
    arguments : sequence of str
        Of the interpreter.
    seconds : float, default 120
        How long to wait.
    env : dict of str to str, optional
        Added to the environment.
    ready : str
        Words of the line it says then.

    Yields
    ------
    list of str
        Lines it has printed, growing.
    """
    process = subprocess.Popen(
        [sys.executable, *arguments],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        env={**os.environ, **(env or {})},
    )
    lines: list[str] = []
    assert process.stdout is not None
    # Read on, or a server that logs much would stop at a full pipe.
    reader = threading.Thread(target=lambda stream: lines.extend(stream), args=(process.stdout,), daemon=True)
    reader.start()
    try:
        opened = lambda: any(ready in line for line in lines)  # noqa: E731
        eventually(lambda: opened() or process.poll() is not None, seconds, lambda: "".join(lines))
        assert opened(), "".join(lines)
        yield lines
    finally:
        process.terminate()
        process.wait(timeout=20)
        reader.join(timeout=20)
        process.stdout.close()


@contextmanager
def served(release: Path, seconds: float = 120) -> Iterator[str]:
    """Serve a release until the block ends.

    Parameters
    ----------
    release : Path
        Release file.
    seconds : float, default 120
        How long to wait for the printed address.

    Yields
    ------
    str
        The address, without a slash at the end.
    """
    with told(release, seconds=seconds) as (address, _):
        yield address


@contextmanager
def told(release: Path, before: str = "pass", seconds: float = 120) -> Iterator[tuple[str, list[str]]]:
    """Serve a release, with something done in the server first; yield its address and what it prints."""
    port = free_port()
    with running(["-c", f"{before}\n{START}", str(release), str(port)], seconds) as lines:
        yield f"http://127.0.0.1:{port}", lines


@contextmanager
def demo_sign_in(home: Path) -> Iterator[str]:
    """Serve a data home with the demo sign-in, as the command does it, and yield its address."""
    port = free_port()
    with running(["-c", COMMAND, "open", "--home", str(home), "--port", str(port), "--demo-sign-in"]):
        yield f"http://127.0.0.1:{port}"


def eventually(
    holds: Callable[[], bool], seconds: float = 30, otherwise: Callable[[], object] = lambda: ""
) -> None:
    """Wait until something holds.

    Parameters
    ----------
    holds : callable
        Asked again and again.
    seconds : float, default 30
        Patience.
    otherwise : callable
        What to report when it never held.
    """
    end = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < end, f"did not come true within {seconds} s: {otherwise()}"
        time.sleep(0.1)
