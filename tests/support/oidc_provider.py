"""A small OpenID Connect provider on loopback: discovery, authorize, token, keys, user info; and its lies."""

import base64
import hashlib
import html
import json
import secrets
import shutil
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlencode, urlsplit

import jwt
from cryptography.hazmat.primitives.asymmetric import rsa

from tests.support.site import opened

CLIENT, SECRET = "evenhand", "given-by-the-provider"
ACCESS = """
[serve]
origins = ["127.0.0.1:PORT"]
port = PORT
[sign_in]
kind = "oidc"
client = "evenhand"
issuer = "ISSUER"
redirect_url = "http://127.0.0.1:PORT/login"
[roles.ergonomist]
groups = ["ergonomics"]
[roles.committee]
people = ["chair@example.org"]
[roles.manager.QC1]
people = ["lead@example.org"]
"""
SECRETS = {
    "BOKEH_SECRET_KEY": "a-session-secret-of-enough-different-letters-9876543210",
    "EVENHAND_COOKIE_SECRET": "a-cookie-secret-with-enough-other-letters-0987654321",
    "EVENHAND_COOKIE_KEY": base64.urlsafe_b64encode(bytes(range(32))).decode(),
    "EVENHAND_OIDC_SECRET": SECRET,
}


def _key() -> rsa.RSAPrivateKey:
    return rsa.generate_private_key(public_exponent=65537, key_size=2048)


@dataclass
class FakeProvider:
    """What the provider is told to answer with.

    Attributes
    ----------
    issuer : str
        Its address.
    person : dict
        Claims of whoever signs in next.
    told : dict
        Claims of the token said otherwise than is true: ``{"aud": "another"}``; None leaves one out.
    header : dict
        Header of the token said otherwise.
    forged : bool
        Whether another key signs.
    page : bool
        Whether it shows a page with a link, as people see it, or signs in at once.
    asked : list of str
        Paths asked for, in order.
    """

    issuer: str = ""
    person: dict[str, Any] = field(default_factory=dict)
    more: dict[str, Any] = field(default_factory=dict)
    told: dict[str, Any] = field(default_factory=dict)
    header: dict[str, Any] = field(default_factory=dict)
    forged: bool = False
    page: bool = False
    asked: list[str] = field(default_factory=list)
    key: rsa.RSAPrivateKey = field(default_factory=_key)
    codes: dict[str, dict[str, str]] = field(default_factory=dict)

    def tell(self, **said: Any) -> None:
        """Begin anew: tell the truth but for what is given."""
        self.person = {"sub": "7", "email": "chair@example.org"}
        self.more, self.told, self.header, self.forged, self.page = {}, {}, {}, False, False
        for name, value in said.items():
            setattr(self, name, value)

    def description(self) -> dict[str, str]:
        """Return the discovery document."""
        places = {
            "authorization_endpoint": "authorize",
            "token_endpoint": "token",
            "jwks_uri": "keys",
            "userinfo_endpoint": "user",
            "end_session_endpoint": "leave",
        }
        return {"issuer": self.issuer, **{name: f"{self.issuer}/{place}" for name, place in places.items()}}

    def keys(self) -> dict[str, Any]:
        """Return the public key."""
        public = json.loads(jwt.algorithms.RSAAlgorithm.to_jwk(self.key.public_key()))
        return {"keys": [{**public, "kid": "k1", "use": "sig", "alg": "RS256"}]}

    def authorized(self, query: dict[str, str]) -> str:
        """Return where a reader who just signed in is sent."""
        assert query["response_type"] == "code"
        assert query["client_id"] == CLIENT
        assert "openid" in query["scope"].split()
        code = secrets.token_urlsafe(16)
        self.codes[code] = query
        return f"{query['redirect_uri']}?{urlencode({'code': code, 'state': query['state']})}"

    def exchanged(self, form: dict[str, str]) -> dict[str, Any]:
        """Return tokens for a code, once, for who set out to get it (RFC 7636, section 4.6)."""
        query = self.codes.pop(form["code"])
        digest = hashlib.sha256(form["code_verifier"].encode()).digest()
        assert base64.urlsafe_b64encode(digest).decode().rstrip("=") == query["code_challenge"]
        assert (form["client_id"], form["client_secret"]) == (CLIENT, SECRET)
        assert form["redirect_uri"] == query["redirect_uri"]
        now = int(time.time())
        true = {"iss": self.issuer, "aud": CLIENT, "iat": now, "exp": now + 300, "nonce": query["nonce"]}
        true |= self.person
        claims = {name: value for name, value in (true | self.told).items() if value is not None}
        header = {"kid": "k1", **self.header}
        if header.get("alg") == "none":
            token = jwt.encode(claims, None, algorithm="none", headers=header)
        elif header.get("alg") == "HS256":
            token = jwt.encode(claims, SECRET * 2, algorithm="HS256", headers=header)
        else:
            key = _key() if self.forged else self.key
            token = jwt.encode(claims, key, algorithm="RS256", headers=header)
        return {"access_token": "a-token", "token_type": "Bearer", "expires_in": 300, "id_token": token}


def _handler(provider: FakeProvider) -> type[BaseHTTPRequestHandler]:
    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            parts = urlsplit(self.path)
            provider.asked.append(parts.path)
            query = {name: values[0] for name, values in parse_qs(parts.query).items()}
            if parts.path == "/authorize" and provider.page:
                back = html.escape(provider.authorized(query))
                icon = '<link rel="icon" href="data:,">'
                page = f'{icon}<h1>Sign-in of the institute</h1><a href="{back}">Sign in</a>'
                self._send(page.encode(), "text/html")
            elif parts.path == "/authorize":
                self.send_response(302)
                self.send_header("Location", provider.authorized(query))
                self.send_header("Content-Length", "0")
                self.end_headers()
            elif parts.path == "/.well-known/openid-configuration":
                self._say(provider.description())
            elif parts.path == "/leave":
                icon = '<link rel="icon" href="data:,">'
                left = "<h1>Signed out of the institute</h1>" if query.get("client_id") == CLIENT else ""
                self._send(f"{icon}{left}".encode(), "text/html")
            elif parts.path == "/keys":
                self._say(provider.keys())
            elif parts.path == "/user" and self.headers["Authorization"] == "Bearer a-token":
                self._say({"sub": provider.person.get("sub"), **provider.more})
            else:
                self.send_error(404)

        def do_POST(self) -> None:
            provider.asked.append(self.path)
            body = self.rfile.read(int(self.headers["Content-Length"])).decode()
            form = {name: values[0] for name, values in parse_qs(body).items()}
            if form.get("code") not in provider.codes:
                self.send_error(400)
                return
            self._say(provider.exchanged(form))

        def _say(self, content: dict[str, Any]) -> None:
            self._send(json.dumps(content).encode(), "application/json")

        def _send(self, body: bytes, kind: str) -> None:
            self.send_response(200)
            self.send_header("Content-Type", kind)
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, format: str, *args: Any) -> None:
            """Say nothing."""

    return Handler


@contextmanager
def fake_provider() -> Iterator[FakeProvider]:
    """Run a provider until the block ends."""
    provider = FakeProvider()
    provider.tell()
    server = ThreadingHTTPServer(("127.0.0.1", 0), _handler(provider))
    provider.issuer = f"http://127.0.0.1:{server.server_address[1]}"
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield provider
    finally:
        server.shutdown()
        server.server_close()
        thread.join(timeout=10)


@contextmanager
def signing_site(provider: FakeProvider, release: Path, home: Path) -> Iterator[str]:
    """Serve a release as a site whose readers sign in with the provider, by the command a site runs."""
    (home / "release").mkdir()
    shutil.copy(release, home / "release" / "current.duckdb")
    access = home / "access.toml"
    access.write_text(ACCESS.replace("ISSUER", provider.issuer), encoding="utf-8")
    with opened(home, access, SECRETS) as served:
        yield served
