"""A site's server in a process of its own, and a client that speaks its protocol without a browser."""

import base64
import json
import os
import re
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from tornado.httpclient import AsyncHTTPClient, HTTPRequest, HTTPResponse
from tornado.websocket import websocket_connect

from tests.support.serve import COMMAND, free_port, running

START = (
    "import sys; from pathlib import Path; from dashboards.access import read_access; "
    "from dashboards.serve import serve; "
    "serve(sys.argv[1], port=int(sys.argv[2]), access=read_access(Path(sys.argv[3])))"
)


@contextmanager
def site(release: Path, access: Path, secrets: dict[str, str]) -> Iterator[str]:
    """Serve a release as a site until the block ends, and yield its address."""
    port = _with_port(access)
    with running(["-c", START, str(release), str(port), str(access)], env=secrets):
        yield f"http://127.0.0.1:{port}"


@contextmanager
def opened(home: Path, access: Path, secrets: dict[str, str]) -> Iterator[str]:
    """Serve a data home with the command that a site runs, and yield its address."""
    port = _with_port(access)
    access.chmod(0o640)
    with running(["-c", COMMAND, "open", "--home", str(home), "--access", str(access)], env=secrets):
        yield f"http://127.0.0.1:{port}"


def _with_port(access: Path) -> int:
    port = free_port()
    access.write_text(access.read_text(encoding="utf-8").replace("PORT", str(port)), encoding="utf-8")
    return port


async def get(address: str, headers: dict[str, str] | list[tuple[str, str]] | None = None) -> HTTPResponse:
    """Fetch a page without following where it sends."""
    from tornado.httputil import HTTPHeaders

    sent = HTTPHeaders()
    for name, value in headers.items() if isinstance(headers, dict) else headers or []:
        sent.add(name, value)
    request = HTTPRequest(address, headers=sent, follow_redirects=False, request_timeout=60)
    return await AsyncHTTPClient().fetch(request, raise_error=False)


def token_of(page: str) -> str:
    """Return the session's token in a page."""
    found = re.search(r'"token":"([^"]+)"', page)
    assert found is not None, page[:500]
    return found.group(1)


def payload_of(token: str) -> dict[str, Any]:
    """Return what a token says, as anybody who has it can read it."""
    text = token.partition(".")[0]
    content = json.loads(base64.urlsafe_b64decode(text + "=" * (-len(text) % 4)))
    packed = content.pop("__bk__zlib_", "")
    if packed:
        raw = base64.urlsafe_b64decode(packed + "=" * (-len(packed) % 4))
        content |= json.loads(zlib.decompress(raw))
    return content


class Session:
    """One session's connection.

    Parameters
    ----------
    connection : object
        Open websocket.
    """

    def __init__(self, connection: Any) -> None:
        self._connection = connection
        self.said: list[str] = []

    @classmethod
    async def open(cls, address: str, token: str, headers: dict[str, str]) -> "Session":
        """Open a session's connection with its token."""
        url = address.replace("http://", "ws://", 1).rstrip("/") + "/ws"
        origin = {"Origin": address}
        request = HTTPRequest(url, headers={**origin, **headers}, request_timeout=30)
        session = cls(await websocket_connect(request, subprotocols=["bokeh", token]))
        try:
            await session.message()
        except ConnectionError:
            session.close()
            raise
        return session

    async def message(self) -> tuple[dict[str, Any], str]:
        """Return the next message: its header and everything in it as text."""
        header = await self._connection.read_message()
        if header is None:
            raise ConnectionError("the server closed the connection")
        parts = [header]
        for _ in range(2 + 2 * int(json.loads(header).get("num_buffers", 0))):
            part = await self._connection.read_message()
            parts.append(part if isinstance(part, str) else str(part))
        self.said.append("\n".join(parts))
        return json.loads(header), self.said[-1]

    async def send(self, kind: str, content: dict[str, Any]) -> None:
        """Send a message."""
        header = {"msgid": os.urandom(8).hex(), "msgtype": kind}
        for part in (header, {}, content):
            await self._connection.write_message(json.dumps(part))

    async def document(self) -> str:
        """Return the whole document as the server holds it."""
        await self.send("PULL-DOC-REQ", {})
        while True:
            header, text = await self.message()
            if header["msgtype"] == "PULL-DOC-REPLY":
                return text

    def close(self) -> None:
        """End it."""
        self._connection.close()
