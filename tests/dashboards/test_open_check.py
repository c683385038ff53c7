"""`evenhand open --check`: a safe site passes, and each way to be unsafe is one line with its remedy."""

import dataclasses
import os
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from dashboards.access import Access, Members, Serving, SignIn, read_access
from dashboards.check import faults
from dashboards.cli import app
from etl.errors import EvenhandError
from etl.home import Home
from etl.release_door import open_release

GOOD = {
    "BOKEH_SECRET_KEY": "a-session-secret-of-enough-different-letters-9876543210",
    "EVENHAND_PROXY_SECRET": "the-proxy-secret-that-nobody-else-knows-0123456789",
}
OIDC = {
    "BOKEH_SECRET_KEY": GOOD["BOKEH_SECRET_KEY"],
    "EVENHAND_COOKIE_SECRET": "a-cookie-secret-with-enough-other-letters-0987654321",
    "EVENHAND_OIDC_SECRET": "given-by-the-provider",
    "EVENHAND_COOKIE_KEY": "A" * 43 + "=",
}
PROVIDER = {
    "kind": "oidc",
    "client": "evenhand",
    "issuer": "https://id.example.org",
    "redirect_url": "https://rooms.example.org/login",
}


@pytest.fixture(scope="module")
def home(release_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Home:
    root = tmp_path_factory.mktemp("site")
    (root / "release").mkdir()
    (root / "release" / "current.duckdb").symlink_to(release_file)
    return Home(root)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "access.toml"
    path.write_text("[serve]\norigins = ['rooms.example.org']\n[roles.committee]\ngroups = ['safety']\n")
    path.chmod(0o640)
    return path


def said(
    home: Home, file: Path, env: dict[str, str] = GOOD, sign_in: dict[str, Any] | None = None, **serve: Any
) -> list[str]:
    access = read_access(file)
    access = dataclasses.replace(
        access,
        sign_in=dataclasses.replace(access.sign_in, **(sign_in or {})),
        serving=dataclasses.replace(access.serving, **serve),
    )
    return [str(fault) for fault in faults(access, file, home, env, lambda path: False, open_release)]


def test_a_safe_site_has_no_fault(home: Home, file: Path) -> None:
    assert said(home, file) == []
    assert said(home, file, OIDC, PROVIDER) == []
    assert said(home, file, origins=("rooms.example.org", "10.0.0.7:8443", "localhost:5006")) == []


@pytest.mark.parametrize(
    ("serve", "what"),
    [
        ({"address": "0.0.0.0"}, "would listen on 0.0.0.0"),
        ({"address": ""}, "would listen on"),
        ({"origins": ()}, "No origin is named"),
        ({"origins": ("*",)}, "'*' is no exact origin"),
        ({"origins": ("*.example.org",)}, "is no exact origin"),
        ({"origins": ("https://rooms.example.org",)}, "is no exact origin"),
        ({"origins": ("rooms.example.org:5006.evil.example",)}, "is no exact origin"),
        ({"sessions": 0}, "0 open pages"),
        ({"sessions": 100_000}, "100000 open pages"),
    ],
)
def test_where_it_is_served(home: Home, file: Path, serve: dict[str, Any], what: str) -> None:
    (line,) = said(home, file, **serve)
    assert what in line
    assert line.endswith(".")


@pytest.mark.parametrize(
    ("name", "value", "what"),
    [
        ("BOKEH_SECRET_KEY", "", "BOKEH_SECRET_KEY, which signs sessions, is not set"),
        ("BOKEH_SECRET_KEY", "short", "shorter than 32 bytes"),
        ("BOKEH_SECRET_KEY", "a" * 64, "can be guessed"),
        ("EVENHAND_PROXY_SECRET", "", "is not set"),
        ("EVENHAND_PROXY_SECRET", "0" * 40, "can be guessed"),
        ("BOKEH_SIGN_SESSIONS", "no", "switches signed sessions off"),
        ("BOKEH_ALLOW_WS_ORIGIN", "*", "overrules the origins"),
        ("PANEL_ADMIN_ENDPOINT", "/a", "opens a page past the sign-in"),
        ("PANEL_BASIC_AUTH", "pw", "opens a page past the sign-in"),
    ],
)
def test_secrets_and_environment(home: Home, file: Path, name: str, value: str, what: str) -> None:
    (line,) = said(home, file, {**GOOD, name: value})
    assert what in line
    assert value not in line or len(value) < 6


@pytest.mark.parametrize(
    ("sign_in", "what"),
    [
        ({"kind": "demo"}, "asks nobody who they are"),
        ({"user_header": "Authorization"}, "'Authorization' cannot carry"),
        ({"groups_header": "Cookie"}, "'Cookie' cannot carry"),
        ({"user_header": "X User"}, "'X User' cannot carry"),
        ({"groups_header": "x-remote-user"}, "share a name"),
        ({"secret_header": "X-Remote-User"}, "share a name"),
    ],
)
def test_sign_in_by_proxy(home: Home, file: Path, sign_in: dict[str, Any], what: str) -> None:
    (line,) = said(home, file, sign_in=sign_in)
    assert what in line


@pytest.mark.parametrize(
    ("sign_in", "env", "what"),
    [
        ({"client": ""}, {}, "'client' of the provider is missing"),
        ({"issuer": ""}, {}, "'issuer' of the provider is missing"),
        ({"issuer": "http://id.example.org"}, {}, "'issuer' is not encrypted"),
        ({"issuer": "http://127.0.0.1.example.org"}, {}, "'issuer' is not encrypted"),
        ({}, {"EVENHAND_COOKIE_SECRET": ""}, "signs the sign-in cookie, is not set"),
        ({}, {"EVENHAND_COOKIE_SECRET": OIDC["BOKEH_SECRET_KEY"]}, "share one secret"),
        ({}, {"EVENHAND_OIDC_SECRET": ""}, "client's secret is missing"),
        ({}, {"EVENHAND_COOKIE_KEY": "short"}, "no key of 32 bytes"),
    ],
)
def test_sign_in_by_openid(
    home: Home, file: Path, sign_in: dict[str, Any], env: dict[str, str], what: str
) -> None:
    (line,) = said(home, file, {**OIDC, **env}, {**PROVIDER, **sign_in})
    assert what in line


def test_no_role_no_file_and_no_release(home: Home, file: Path, tmp_path: Path) -> None:
    nobody = Access(SignIn(), Serving(origins=("rooms.example.org",)), committee=Members())
    (line,) = [str(f) for f in faults(nobody, file, home, GOOD, lambda path: False, open_release)]
    assert "No role is given to anybody" in line
    (line,) = [str(f) for f in faults(None, None, home, GOOD)]
    assert "No access file" in line
    (line,) = said(Home(tmp_path / "empty"), file)
    assert "There is no release to serve (Nothing is published yet)" in line


def test_a_file_that_others_may_write(home: Home, file: Path) -> None:
    file.chmod(0o666)
    (line,) = said(home, file)
    assert "Others may write the access file" in line


def test_a_user_that_may_read_the_person_store(home: Home, file: Path) -> None:
    home.person_dir.mkdir()
    try:
        found = [str(f) for f in faults(read_access(file), file, home, GOOD, lambda path: True, open_release)]
    finally:
        home.person_dir.rmdir()
    assert len(found) == 1
    assert "may read the person store" in found[0]


def test_the_command_prints_a_line_each_and_fails(
    home: Home, file: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(os, "environ", {"PATH": os.environ["PATH"], "HOME": str(home.root)})
    words = ["open", "--check", "--access", str(file), "--home", str(home.root)]
    done = CliRunner().invoke(app, words)
    assert done.exit_code != 0
    assert isinstance(done.exception, EvenhandError)
    assert "2 faults: not safe to serve" in str(done.exception)
    lines = done.stderr.strip().splitlines()
    assert [line.split(",")[0] for line in lines] == [
        "evenhand: BOKEH_SECRET_KEY", "evenhand: EVENHAND_PROXY_SECRET",
    ]  # fmt: skip
    assert all("Make one: python -c" in line for line in lines)


def test_the_command_says_that_a_safe_site_is_safe(
    home: Home, file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name, value in GOOD.items():
        monkeypatch.setenv(name, value)
    words = ["open", "--check", "--access", str(file), "--home", str(home.root)]
    done = CliRunner().invoke(app, words, catch_exceptions=False)
    assert done.exit_code == 0
    assert "safe to serve" in done.stdout


def test_without_an_access_file_the_check_fails(home: Home) -> None:
    done = CliRunner().invoke(app, ["open", "--check", "--home", str(home.root)])
    assert isinstance(done.exception, EvenhandError)
    assert "No access file" in done.stderr


def test_the_demo_sign_in_is_no_sites_sign_in(home: Home, file: Path) -> None:
    words = ["open", "--demo-sign-in", "--access", str(file), "--home", str(home.root)]
    done = CliRunner().invoke(app, words)
    assert isinstance(done.exception, EvenhandError)
    assert "is no site's sign-in" in str(done.exception)
