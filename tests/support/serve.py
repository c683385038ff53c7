"""Serve the rooms in a process of their own on a free port, and end that process again."""

import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

START = "from dashboards.serve import serve; import sys; serve(sys.argv[1], port=int(sys.argv[2]))"


def free_port() -> int:
    """Return a port that nobody listens on now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


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
    port = free_port()
    process = subprocess.Popen(
        [sys.executable, "-c", START, str(release), str(port)],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    lines: list[str] = []
    assert process.stdout is not None
    # Read on, or a server that logs much would stop at a full pipe.
    reader = threading.Thread(target=lambda stream: lines.extend(stream), args=(process.stdout,), daemon=True)
    reader.start()
    try:
        opened = lambda: any("is open at" in line for line in lines)  # noqa: E731
        eventually(lambda: opened() or process.poll() is not None, seconds, lambda: "".join(lines))
        assert opened(), "".join(lines)
        yield f"http://127.0.0.1:{port}"
    finally:
        process.terminate()
        process.wait(timeout=20)
        reader.join(timeout=20)
        process.stdout.close()


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
