"""A served site refuses whoever did not come through its proxy, and forged messages reach no other rows."""

import asyncio
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from bokeh.util.token import generate_jwt_token, generate_session_id
from tornado.httpclient import HTTPClientError

from tests.support.site import Session, get, payload_of, site, token_of

PROXY_SECRET = "the-proxy-secret-that-nobody-else-knows-0123456789"
SESSION_SECRET = "a-session-secret-of-enough-different-letters-9876543210"
ACCESS = """
[serve]
origins = ["127.0.0.1:PORT"]
[roles.ergonomist]
groups = ["ergonomics"]
[roles.manager.QC1]
people = ["lead@example.org"]
"""
LEAD = {"X-Remote-User": "lead@example.org", "X-Remote-Groups": "", "X-Evenhand-Proxy": PROXY_SECRET}
OTHERS = ("Quality control 2", "Sequencing", "QC2", "Cell & gene", "Low-force", "Analytical")


@pytest.fixture(scope="module")
def address(release_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    access = tmp_path_factory.mktemp("site") / "access.toml"
    access.write_text(ACCESS, encoding="utf-8")
    secrets = {"EVENHAND_PROXY_SECRET": PROXY_SECRET, "BOKEH_SECRET_KEY": SESSION_SECRET}
    with site(release_file, access, secrets) as served:
        yield served


@pytest.mark.parametrize(
    "headers",
    [
        {},
        {"X-Remote-User": "lead@example.org"},
        {**LEAD, "X-Evenhand-Proxy": "guess"},
        [*LEAD.items(), ("X-Evenhand-Proxy", "guess")],
        [*LEAD.items(), ("X-Remote-User", "boss@example.org")],
        {**LEAD, "X-Remote-User": "stranger@example.org"},
        {**LEAD, "X-Remote-User": "stranger@example.org", "X-Remote-Groups": "lead@example.org"},
        {**LEAD, "X-Remote-User": ""},
    ],
    ids=["nothing", "no secret", "wrong secret", "two secrets", "two people", "no role", "group", "nobody"],
)
def test_who_did_not_come_through_the_proxy_gets_no_page(address: str, headers: object) -> None:
    async def visit() -> None:
        for path in ("/", "/metadata", "/autoload.js?bokeh-autoload-element=1"):
            answer = await get(f"{address}{path}", headers)
            assert answer.code in (302, 403)
            assert b"token" not in answer.body
        answer = await get(f"{address}/signed-out", headers)
        assert answer.code == 403
        assert b"Not signed in" in answer.body

    asyncio.run(visit())


def test_no_page_of_the_library_stands_open(address: str) -> None:
    async def visit() -> None:
        for path in ("/admin", "/rest/session_info", "/liveness", "/login", "/index"):
            assert (await get(f"{address}{path}", LEAD)).code == 404

    asyncio.run(visit())


def test_a_token_names_the_person_and_gives_no_secret_away(address: str) -> None:
    async def visit() -> None:
        sent = {**LEAD, "Authorization": "Bearer abc", "Cookie": "sso=xyz", "X-Role": "ergonomist"}
        answer = await get(f"{address}/?room=Data&who=team.QC2&region=NECK", sent)
        page = answer.body.decode()
        assert answer.code == 200
        for hidden in (PROXY_SECRET, SESSION_SECRET, "Bearer abc", "xyz"):
            assert hidden not in page
        payload = payload_of(token_of(page))
        assert set(payload["headers"]) == {"X-Remote-User", "X-Remote-Groups"}
        assert payload["cookies"] == {}
        assert not [other for other in OTHERS if other in page]

    asyncio.run(visit())


def test_every_answer_carries_the_safe_headers(address: str) -> None:
    async def visit() -> None:
        for path, headers in (("/", {}), ("/signed-out", {}), ("/nowhere", LEAD), ("/", LEAD)):
            answer = await get(f"{address}{path}", headers)
            assert "frame-ancestors 'none'" in answer.headers["Content-Security-Policy"]
            assert "unsafe-eval" not in answer.headers["Content-Security-Policy"]
            assert answer.headers["X-Content-Type-Options"] == "nosniff"
            assert answer.headers["Referrer-Policy"] == "no-referrer"
            assert "Server" not in answer.headers
        assert answer.headers["Cache-Control"] == "no-store"

    asyncio.run(visit())


def test_forged_messages_of_a_manager_reach_no_other_rows(address: str) -> None:
    """The bar is told every value a manager may not choose, by its messages and by writing into it."""

    async def visit() -> None:
        page = (await get(f"{address}/?room=Load", LEAD)).body.decode()
        session = await Session.open(address, token_of(page), LEAD)
        before = await session.document()
        assert "Quality control 1" in before
        (bar,) = bars_of(json.loads(before.split("\n")[2]))
        data = bar["attributes"]["data"]
        assert data["attributes"]["doors"] == ["Load"]
        names = ("room", *(entry["entries"][0][1] for entry in data["attributes"]["lists"]))
        assert len(names) >= 6
        written = [{"type": "map", "entries": [["room", "Data"], ["unit", "team.QC2"]]}, ["Data", "Month"]]
        for attribute, value in zip(("values", "doors"), written, strict=True):
            event = {"kind": "ModelChanged", "model": {"id": data["id"]}, "attr": attribute, "new": value}
            await session.send("PATCH-DOC", {"events": [event]})
        for name in names:
            for value in ("Data", "team.QC2", "C1", "2025-03"):
                await session.send("PATCH-DOC", {"events": [message(bar["id"], name, value)]})
        # The messages do arrive: the month, which a manager may choose, is taken.
        taken = re.compile(r"Quality control 1 (\\u00b7|\u00b7) March 2025")
        for _ in range(60):
            if taken.search(await session.document()):
                break
            await asyncio.sleep(0.5)
        assert taken.search(session.said[-1])
        everything = "\n".join(session.said)
        assert not [other for other in OTHERS if other in everything]
        assert "With discomfort" not in everything
        session.close()

    asyncio.run(visit())


def message(model: str, name: str, value: str) -> dict[str, Any]:
    """A choice as the bar in the browser tells of it."""
    said = {"type": "map", "entries": [["name", name], ["value", value]]}
    values = {"type": "map", "entries": [["model", {"id": model}], ["data", said]]}
    sent = {"type": "event", "name": "data_event", "values": values}
    return {"kind": "MessageSent", "msg_type": "bokeh_event", "msg_data": sent}


def bars_of(node: object) -> list[dict[str, Any]]:
    """Return the parts of a document that have doors."""
    found: list[dict[str, Any]] = []
    if isinstance(node, dict):
        data = node.get("attributes", {}).get("data", {})
        if node.get("type") == "object" and isinstance(data, dict) and "doors" in data.get("attributes", {}):
            found.append(node)
        found += [bar for child in node.values() for bar in bars_of(child)]
    elif isinstance(node, list):
        found += [bar for child in node for bar in bars_of(child)]
    return found


@pytest.mark.parametrize("signed", [False, True], ids=["unsigned", "signed with a guess"])
def test_a_forged_token_opens_no_session(address: str, signed: bool) -> None:
    async def visit() -> None:
        key = b"a guess that is long enough to be one" if signed else None
        forged = {"headers": {"X-Remote-User": "x", "X-Remote-Groups": "ergonomics"}, "cookies": {}}
        token = generate_jwt_token(
            generate_session_id(secret_key=key, signed=signed),
            secret_key=key,
            signed=signed,
            extra_payload={**forged, "arguments": {}},
        )
        with pytest.raises((ConnectionError, HTTPClientError)):
            await Session.open(address, token, LEAD)

    asyncio.run(visit())


def test_a_connection_past_the_proxy_or_from_another_page_is_refused(address: str) -> None:
    async def visit() -> None:
        token = token_of((await get(f"{address}/", LEAD)).body.decode())
        for headers in ({}, {**LEAD, "X-Evenhand-Proxy": "guess"}, {**LEAD, "Origin": "http://evil.example"}):
            with pytest.raises(HTTPClientError) as refused:
                await Session.open(address, token, headers)
            assert refused.value.code == 403

    asyncio.run(visit())


def test_a_reader_cannot_connect_to_the_session_of_another(address: str) -> None:
    async def visit() -> None:
        ergonomist = {**LEAD, "X-Remote-User": "e@example.org", "X-Remote-Groups": "ergonomics"}
        token = token_of((await get(f"{address}/", ergonomist)).body.decode())
        with pytest.raises(HTTPClientError) as refused:
            await Session.open(address, token, LEAD)
        assert refused.value.code == 403
        own = await Session.open(address, token, ergonomist)
        own.close()

    asyncio.run(visit())


def test_a_session_cannot_be_chosen_by_the_reader(address: str) -> None:
    async def visit() -> None:
        answer = await get(f"{address}/?bokeh-session-id=chosen", LEAD)
        assert answer.code == 403

    asyncio.run(visit())


def test_the_ergonomist_sees_what_the_manager_does_not(address: str) -> None:
    async def visit() -> None:
        headers = {**LEAD, "X-Remote-User": "e@example.org", "X-Remote-Groups": "other, ergonomics"}
        page = (await get(f"{address}/?room=Load&who=team.QC2", headers)).body.decode()
        session = await Session.open(address, token_of(page), headers)
        document = await session.document()
        assert "Quality control 2" in document
        assert json.dumps("Month")[1:-1] in document
        session.close()

    asyncio.run(visit())
