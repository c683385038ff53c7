"""Signing in with OpenID Connect in a real browser: address, the institute's page, the room of one's role.

A browser keeps cookies by rules of its own (SameSite, HttpOnly, paths), which a client of ours only imitates.
"""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.support.oidc_provider import FakeProvider, fake_provider, signing_site
from tests.support.serve import eventually
from tests.ui.conftest import Visit, opened

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def provider() -> Iterator[FakeProvider]:
    with fake_provider() as running:
        yield running


@pytest.fixture(scope="module")
def site(
    chromium: Any, provider: FakeProvider, release: Path, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[str]:
    with signing_site(provider, release, tmp_path_factory.mktemp("signing")) as address:
        yield address


@pytest.fixture
def stranger(chromium: Any, provider: FakeProvider, site: str) -> Iterator[Visit]:
    """A browser without a cookie; it may ask the site and the provider, both on loopback, and nobody else."""
    provider.tell(page=True)
    visit = opened(chromium, f"{site}/", provider.issuer)
    yield visit
    visit.page.close()
    assert visit.outside == []


def _at_the_institute(visit: Visit, site: str, provider: FakeProvider, query: str = "") -> None:
    visit.page.goto(f"{site}/{query}")
    visit.page.get_by_role("heading", name="Sign-in of the institute").wait_for(timeout=30_000)
    assert visit.page.url.startswith(f"{provider.issuer}/authorize?")


def test_a_reader_is_sent_to_the_institute_and_back_into_the_room_asked_for(
    stranger: Visit, provider: FakeProvider, site: str
) -> None:
    _at_the_institute(stranger, site, provider, "?room=Changes&change=C1")
    stranger.page.get_by_role("link", name="Sign in").click()
    stranger.settled()
    assert stranger.url().startswith(f"{site}/?")
    # No code and no state stays in the address, where it would be passed on with a link.
    assert "code=" not in stranger.url()
    assert "shown to the committee" in stranger.text()
    eventually(lambda: "room=Changes" in stranger.url() and "change=C1" in stranger.url(), 30, stranger.url)
    assert stranger.headline() == "Low-force electronic pipettes: cannot tell."
    # Page scripts, ours or another's, cannot read who is signed in.
    assert stranger.page.evaluate("() => document.cookie") == ""
    kept = {cookie["name"]: cookie for cookie in stranger.page.context.cookies()}
    assert {"user", "id_token"} <= set(kept)
    assert all(kept[name]["httpOnly"] and kept[name]["sameSite"] == "Lax" for name in ("user", "id_token"))
    # Signed in stays signed in: the next page needs no provider.
    asked = len(provider.asked)
    stranger.page.goto(f"{site}/?room=Month")
    stranger.settled()
    assert "shown to the committee" in stranger.text()
    assert provider.asked[asked:] == []
    assert stranger.errors == []


def test_a_manager_arrives_at_the_own_team_only(stranger: Visit, provider: FakeProvider, site: str) -> None:
    provider.tell(page=True, person={"sub": "8", "email": "lead@example.org"})
    _at_the_institute(stranger, site, provider, "?room=Month&who=team.QC2")
    stranger.page.get_by_role("link", name="Sign in").click()
    stranger.settled()
    text = stranger.text()
    assert "shown to the manager of Quality control 1" in text
    assert "Quality control 1" in text
    assert "Quality control 2" not in text
    assert stranger.errors == []


def test_an_unknown_person_is_told_that_no_role_is_given(
    stranger: Visit, provider: FakeProvider, site: str
) -> None:
    provider.tell(page=True, person={"sub": "9", "email": "somebody@example.org"})
    _at_the_institute(stranger, site, provider)
    stranger.page.get_by_role("link", name="Sign in").click()
    stranger.page.get_by_role("heading", name="No role").wait_for(timeout=30_000)
    text = stranger.page.locator("main").inner_text()
    assert "Ask whoever runs Evenhand for one" in text
    assert "Kestrel" not in stranger.page.content()
    assert not {"user", "id_token"} & {cookie["name"] for cookie in stranger.page.context.cookies()}
    # With a role, the same browser gets in by the link on that page.
    provider.tell(page=True)
    stranger.page.get_by_role("link", name="Sign in again").click()
    stranger.page.get_by_role("link", name="Sign in", exact=True).click()
    stranger.settled()
    assert "shown to the committee" in stranger.text()


def test_signing_out_takes_all_tabs_along_and_shows_the_way_to_the_institutes_own(
    stranger: Visit, provider: FakeProvider, site: str
) -> None:
    _at_the_institute(stranger, site, provider, "?room=Load")
    stranger.page.get_by_role("link", name="Sign in").click()
    stranger.settled()
    with stranger.page.expect_popup() as opening:
        stranger.page.evaluate("() => { window.open('?room=Month') }")
    other = opening.value
    other.get_by_role("heading", level=1).first.wait_for(timeout=60_000)
    assert "shown to the committee" in other.content()
    stranger.page.get_by_role("button", name="Sign out").click()
    stranger.page.get_by_role("heading", name="Signed out").wait_for(timeout=30_000)
    assert not {"user", "id_token"} & {cookie["name"] for cookie in stranger.page.context.cookies()}
    # The other tab held a connection of its own, which the cookies no longer open.
    other.wait_for_url("**/sign-out", timeout=30_000)
    other.get_by_role("heading", name="Signed out").wait_for(timeout=30_000)
    other.close()
    stranger.page.go_back()
    eventually(lambda: "Sign-in of the institute" in stranger.page.content(), 30, stranger.url)
    stranger.page.goto(f"{site}/sign-out")
    stranger.page.get_by_role("link", name="sign out of your institute too").click()
    stranger.page.get_by_role("heading", name="Signed out of the institute").wait_for(timeout=30_000)
    assert stranger.errors == []


def test_a_link_or_another_site_signs_nobody_out(stranger: Visit, provider: FakeProvider, site: str) -> None:
    _at_the_institute(stranger, site, provider)
    stranger.page.get_by_role("link", name="Sign in").click()
    stranger.settled()
    stranger.page.goto(f"{site}/sign-out")
    stranger.page.get_by_role("heading", name="Sign out").wait_for(timeout=30_000)
    assert "Somebody is signed in here" in stranger.page.content()
    stranger.page.goto(f"{provider.issuer}/leave")
    stranger.page.evaluate(
        """site => {
          const form = document.createElement("form")
          form.method = "post"; form.action = `${site}/sign-out`
          document.documentElement.append(form); form.submit()
        }""",
        site,
    )
    stranger.page.get_by_role("heading", name="Not signed out").wait_for(timeout=30_000)
    stranger.page.goto(f"{site}/?room=Load")
    stranger.settled()
    assert "shown to the committee" in stranger.text()
    stranger.page.goto(f"{site}/sign-out")
    stranger.page.get_by_role("button", name="Sign out").click()
    stranger.page.get_by_role("heading", name="Signed out").wait_for(timeout=30_000)
