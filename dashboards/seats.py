"""How many pages are open at a time, and the headers every answer carries."""

import threading
import time
from typing import Any

from tornado.httputil import HTTPHeaders, HTTPServerRequest
from tornado.web import OutputTransform

# The drawing library starts pages with inline scripts and loads components from blobs; it needs no eval.
POLICY = "; ".join(
    (
        "default-src 'self'",
        "script-src 'self' 'unsafe-inline' blob:",
        "style-src 'self' 'unsafe-inline'",
        "img-src 'self' data: blob:",
        "font-src 'self' data:",
        "connect-src 'self' blob: data:",
        "object-src 'none'",
        "base-uri 'none'",
        "form-action 'self'",
        "frame-ancestors 'none'",
    )
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=(), payment=(), usb=()",
}


class Seats:
    """Counts open pages, so that a crowd cannot take all memory.

    Parameters
    ----------
    limit : int
        Most open pages.
    """

    def __init__(self, limit: int) -> None:
        self.limit = limit
        self._taken = 0
        self._lock = threading.Lock()

    @property
    def taken(self) -> int:
        """Pages open now."""
        return self._taken

    def take(self) -> bool:
        """Return whether there was room for one more page, which now has its place."""
        with self._lock:
            if self._taken >= self.limit:
                return False
            self._taken += 1
            return True

    def leave(self) -> None:
        """Give a place back."""
        with self._lock:
            self._taken = max(self._taken - 1, 0)


class Asked:
    """Remembers when the server was last asked for anything."""

    def __init__(self) -> None:
        self._at = float("-inf")

    def __call__(self, request: HTTPServerRequest) -> Any:
        """Note a request; what is returned sees to the headers of its answer."""
        self._at = time.monotonic()
        return SafeHeaders(request)

    def within(self, seconds: float) -> bool:
        """Return whether somebody asked within this time: a page may be on its way."""
        return time.monotonic() - self._at < seconds


class SafeHeaders(OutputTransform):
    """Puts the safe headers on every answer of the server, whatever made it."""

    def __init__(self, request: HTTPServerRequest) -> None:
        super().__init__(request)

    def transform_first_chunk(
        self, status_code: int, headers: HTTPHeaders, chunk: bytes, finishing: bool
    ) -> tuple[int, HTTPHeaders, bytes]:
        """Add what the answer does not set itself."""
        for name, value in HEADERS.items():
            if name not in headers:
                headers[name] = value
        if "Server" in headers:
            del headers["Server"]
        return status_code, headers, chunk
