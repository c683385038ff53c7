"""OpenID Connect: a stranger is sent to the provider; cookies the server did not sign open nothing."""

import asyncio
import base64
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.support.site import get, site

ACCESS = """
[serve]
origins = ["127.0.0.1:PORT"]
[sign_in]
kind = "oidc"
client = "evenhand"
authorize_url = "https://id.example.org/authorize"
token_url = "https://id.example.org/token"
redirect_url = "https://rooms.example.org/login"
[roles.committee]
people = ["chair@example.org"]
"""
SECRETS = {
    "BOKEH_SECRET_KEY": "a-session-secret-of-enough-different-letters-9876543210",
    "EVENHAND_COOKIE_SECRET": "a-cookie-secret-with-enough-other-letters-0987654321",
    "EVENHAND_COOKIE_KEY": base64.urlsafe_b64encode(bytes(range(32))).decode(),
    "EVENHAND_OIDC_SECRET": "given-by-the-provider",
}


@pytest.fixture(scope="module")
def address(release_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    access = tmp_path_factory.mktemp("oidc") / "access.toml"
    access.write_text(ACCESS, encoding="utf-8")
    with site(release_file, access, SECRETS) as served:
        yield served


@pytest.mark.parametrize(
    "cookie",
    ["", "user=chair@example.org", 'user="2|1:0|10:1|4:user|8:Y2hhaXI=|0"; id_token=x', "is_guest=1"],
    ids=["none", "plain", "badly signed", "guest"],
)
def test_a_stranger_gets_no_page(address: str, cookie: str) -> None:
    async def visit() -> None:
        headers = {"Cookie": cookie, "X-Remote-User": "chair@example.org"}
        for path in ("/", "/metadata", "/autoload.js?bokeh-autoload-element=1"):
            answer = await get(f"{address}{path}", headers)
            assert answer.code in (302, 403)
            assert b"token" not in answer.body

    asyncio.run(visit())


def test_the_sign_in_leads_to_the_provider_and_back_here(address: str) -> None:
    async def visit() -> None:
        answer = await get(f"{address}/login")
        assert answer.code == 302
        place = answer.headers["Location"]
        assert place.startswith("https://id.example.org/authorize?response_type=code")
        assert "redirect_uri=https%3A%2F%2Frooms.example.org%2Flogin" in place
        forged = await get(f"{address}/login?code=stolen&state=guess")
        assert forged.code == 401

    asyncio.run(visit())
