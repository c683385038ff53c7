"""OpenID Connect from end to end: the command a site runs, a provider on loopback, each lie refused."""

import asyncio
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urljoin, urlsplit

import pytest
from tornado.httpclient import HTTPClientError, HTTPResponse

from dashboards.oidc_token import discovered
from etl.errors import EvenhandError
from tests.support.oidc_provider import CLIENT, FakeProvider, fake_provider, signing_site
from tests.support.site import Session, get, payload_of, token_of

LEAD = {"sub": "8", "email": "lead@example.org"}


@pytest.fixture(scope="module")
def provider() -> Iterator[FakeProvider]:
    with fake_provider() as running:
        yield running


@pytest.fixture(scope="module")
def address(
    provider: FakeProvider, release_file: Path, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[str]:
    with signing_site(provider, release_file, tmp_path_factory.mktemp("oidc")) as served:
        yield served


class Browser:
    """Keeps cookies and follows where it is sent, one step at a time."""

    def __init__(self, address: str) -> None:
        self.address, self.cookies = address, dict[str, str]()

    @property
    def headers(self) -> dict[str, str]:
        return {"Cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items())}

    async def go(self, url: str) -> HTTPResponse:
        ours = url.startswith(self.address)
        answer = await get(url, self.headers if ours else None)
        for line in answer.headers.get_list("Set-Cookie") if ours else []:
            name, _, value = line.split(";")[0].partition("=")
            self.cookies[name] = value.strip('"')
            assert "HttpOnly" in line or not self.cookies[name]
            assert "SameSite=Lax" in line or not self.cookies[name]
        self.cookies = {name: value for name, value in self.cookies.items() if value}
        return answer

    async def set_out(self) -> str:
        """Walk to the provider and return where it sends the reader back to."""
        first = await self.go(f"{self.address}/?room=Load")
        assert first.code == 302
        sent = await self.go(urljoin(f"{self.address}/", first.headers["Location"]))
        assert sent.code == 302
        return (await self.go(sent.headers["Location"])).headers["Location"]

    async def sign_in(self) -> HTTPResponse:
        """Sign in and return the page, or the refusal."""
        back = await self.go(await self.set_out())
        if back.code != 302:
            return back
        return await self.go(urljoin(f"{self.address}/login", back.headers["Location"]))


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


ROLES = [
    ({"person": {"sub": "7", "email": "chair@example.org"}}, "shown to the committee", ()),
    ({"person": LEAD}, "shown to the manager of Quality control 1", ("Quality control 2", "Sequencing")),
    ({"person": {"sub": "7", "email": "e@x.org", "groups": ["a", "ergonomics"]}}, "the ergonomist", ()),
    ({"person": {"sub": "7", "email": "e@x.org"}, "more": {"groups": ["ergonomics"]}}, "the ergonomist", ()),
]  # fmt: skip


@pytest.mark.parametrize(("said", "words", "hidden"), ROLES, ids=["person", "team", "group", "user info"])
def test_a_reader_arrives_in_the_role_the_access_file_states(
    address: str, provider: FakeProvider, said: dict[str, Any], words: str, hidden: tuple[str, ...]
) -> None:
    async def visit() -> None:
        provider.tell(**said)
        reader = Browser(address)
        page = await reader.sign_in()
        assert page.code == 200
        token = token_of(page.body.decode())
        assert set(payload_of(token)["cookies"]) <= {"user", "id_token"}
        assert "a-token" not in page.body.decode()
        session = await Session.open(address, token, reader.headers)
        document = await session.document()
        session.close()
        assert words in page.body.decode()
        assert not [other for other in hidden if other in document + page.body.decode()]

    asyncio.run(visit())


NOW = int(time.time())
LIES: dict[str, dict[str, Any]] = {
    "unknown person": {"person": {"sub": "9", "email": "stranger@example.org"}},
    "nobody": {"person": {"sub": "7"}},
    "unverified address": {"told": {"email_verified": False}},
    "another audience": {"told": {"aud": "another"}},
    "two audiences, no party": {"told": {"aud": [CLIENT, "another"]}},
    "issued to another": {"told": {"azp": "another"}},
    "another issuer": {"told": {"iss": "http://127.0.0.1:1"}},
    "expired": {"told": {"exp": NOW - 3600, "iat": NOW - 7200}},
    "never expires": {"told": {"exp": None}},
    "made tomorrow": {"told": {"iat": NOW + 86400}},
    "of another sign-in": {"told": {"nonce": "guess"}},
    "no nonce": {"told": {"nonce": None}},
    "signed by another": {"forged": True},
    "not signed": {"header": {"alg": "none"}},
    "signed with a shared secret": {"header": {"alg": "HS256"}},
    "unknown key": {"header": {"kid": "k2"}},
    "user info of another": {"more": {"sub": "another", "groups": ["ergonomics"]}},
}


@pytest.mark.parametrize("said", LIES.values(), ids=LIES.keys())
def test_a_lie_signs_nobody_in(address: str, provider: FakeProvider, said: dict[str, Any]) -> None:
    async def visit() -> None:
        provider.tell(**said)
        reader = Browser(address)
        answer = await reader.sign_in()
        stranger = "stranger" in str(said)
        assert answer.code == (403 if stranger else 401)
        assert (b"<h1>No role" if stranger else b"<h1>Not signed in") in answer.body
        assert not {"user", "id_token"} & set(reader.cookies)
        assert (await reader.go(f"{address}/")).code == 302

    asyncio.run(visit())


def test_a_state_that_was_not_given_to_this_browser_is_refused(address: str, provider: FakeProvider) -> None:
    async def visit() -> None:
        provider.tell()
        back = await Browser(address).set_out()
        code = parse_qs(urlsplit(back).query)["code"][0]
        # Another browser, one that set out itself, and one without any state: as in a link sent to a reader.
        started = Browser(address)
        await started.set_out()
        for reader, url in (
            (Browser(address), back),
            (started, back),
            (Browser(address), f"{address}/login?code={code}&state="),
            (Browser(address), f"{address}/login?code={code}"),
        ):
            asked = len(provider.asked)
            answer = await reader.go(url)
            assert answer.code == 401
            assert "user" not in reader.cookies
            assert "/token" not in provider.asked[asked:]

    asyncio.run(visit())


def test_a_code_serves_once(address: str, provider: FakeProvider) -> None:
    async def visit() -> None:
        provider.tell()
        reader = Browser(address)
        back = await reader.set_out()
        again = dict(reader.cookies)
        assert (await reader.go(back)).code == 302
        second = Browser(address)
        second.cookies = again
        assert (await second.go(back)).code == 401

    asyncio.run(visit())


def test_a_reader_cannot_connect_to_the_session_of_another(address: str, provider: FakeProvider) -> None:
    async def visit() -> None:
        provider.tell()
        chair, lead = Browser(address), Browser(address)
        token = token_of((await chair.sign_in()).body.decode())
        provider.tell(person=LEAD)
        assert (await lead.sign_in()).code == 200
        for stolen in (token, "none", "e30.e30"):
            with pytest.raises(HTTPClientError) as refused:
                await Session.open(address, stolen, lead.headers)
            assert refused.value.code == 403
        own = await Session.open(address, token, chair.headers)
        own.close()

    asyncio.run(visit())


def test_the_providers_description_must_be_its_own(provider: FakeProvider) -> None:
    assert discovered(provider.issuer).keys_url == f"{provider.issuer}/keys"
    with pytest.raises(EvenhandError, match="names another issuer"):
        discovered(f"{provider.issuer}/")
    with pytest.raises(EvenhandError, match="does not describe itself"):
        discovered(f"{provider.issuer}/elsewhere")
