"""Whether a site's configuration is safe to serve; each fault in one line with its remedy."""

import importlib.util
import os
import re
import stat
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from dashboards.access import Access
from dashboards.oidc_token import LOOPBACK, kept_private
from etl.errors import EvenhandError
from etl.home import Home

LEAST_SECRET = 32
LEAST_DISTINCT = 12
MOST_SESSIONS = 200
# Headers that name or carry credentials; a token that the page can read must never hold them.
CREDENTIALS = ("authorization", "cookie", "proxy-authorization", "set-cookie", "x-forwarded-access-token")


@dataclass(frozen=True)
class Fault:
    """One reason not to serve.

    Attributes
    ----------
    what, remedy : str
        What was found, and what to do.
    """

    what: str
    remedy: str

    def __str__(self) -> str:
        return f"{self.what}. {self.remedy}"


def faults(
    access: Access | None,
    path: Path | None,
    home: Home,
    env: Mapping[str, str],
    may_read: Callable[[Path], bool] = lambda path: os.access(path, os.R_OK),
    opens: Callable[[Path], object] | None = None,
) -> list[Fault]:
    """Return every reason why a configuration is unsafe for a site.

    Parameters
    ----------
    access : Access or None
        The access file's content; None where there is none.
    path : Path or None
        The access file.
    home : Home
        Data home.
    env : mapping of str to str
        Environment.
    may_read : callable
        Whether this process may read a path.
    opens : callable, optional
        Makes a page of a release, or raises; by default the page that is served.

    Returns
    -------
    list of Fault
        Empty if it may be served.
    """
    if access is None or path is None:
        return [
            Fault(
                "No access file: whoever reaches the port would see every room",
                "Write one (DEVELOPERS.md, 'Serving for a site') and name it with --access.",
            )
        ]
    return [
        *_file(path),
        *_serving(access),
        *_sign_in(access, env),
        *_environment(env),
        *_roles(access),
        *_places(home, may_read, opens or _page),
    ]


def _file(path: Path) -> list[Fault]:
    mode = path.stat().st_mode
    if mode & (stat.S_IWGRP | stat.S_IWOTH):
        return [Fault(f"Others may write the access file {path}", f"chmod 640 {path}")]
    return []


def _serving(access: Access) -> list[Fault]:
    serving, found = access.serving, []
    if serving.address not in LOOPBACK:
        found.append(
            Fault(
                f"The rooms would listen on {serving.address}, past the proxy",
                "Set address = '127.0.0.1' in [serve]; the proxy is the only door.",
            )
        )
    if not serving.origins:
        found.append(Fault("No origin is named", "List the readers' host in origins of [serve]."))
    for origin in serving.origins:
        if not re.fullmatch(r"[A-Za-z0-9]([A-Za-z0-9.-]*[A-Za-z0-9])?(:\d{1,5})?", origin):
            found.append(
                Fault(f"'{origin}' is no exact origin", "Write a host such as 'rooms.example.org', no '*'.")
            )
    if not 1 <= serving.sessions <= MOST_SESSIONS:
        found.append(
            Fault(f"{serving.sessions} open pages are allowed", f"Set sessions to 1 to {MOST_SESSIONS}.")
        )
    return found


def _sign_in(access: Access, env: Mapping[str, str]) -> list[Fault]:
    sign_in = access.sign_in
    if sign_in.kind == "demo":
        return [
            Fault("The demo sign-in asks nobody who they are", "Set kind = 'proxy' or 'oidc' in [sign_in].")
        ]
    found = _secret(env, "BOKEH_SECRET_KEY", "signs sessions")
    if sign_in.kind == "proxy":
        return (
            found
            + _secret(env, "EVENHAND_PROXY_SECRET", "shows that the proxy sent a request")
            + _headers(access)
        )
    if not all(map(importlib.util.find_spec, ("cryptography", "jwt"))):
        found.append(
            Fault("The packages that check a provider's tokens are missing", "pip install 'evenhand[oidc]'")
        )
    for name in ("client", "issuer", "redirect_url"):
        value = getattr(sign_in, name)
        if not value:
            found.append(Fault(f"'{name}' of the provider is missing", f"Set {name} in [sign_in]."))
        elif name != "client" and not kept_private(value):
            found.append(Fault(f"'{name}' is not encrypted", f"Write an https address as {name}."))
    found += _secret(env, "EVENHAND_COOKIE_SECRET", "signs the sign-in cookie")
    if env.get("EVENHAND_COOKIE_SECRET") and env.get("EVENHAND_COOKIE_SECRET") == env.get("BOKEH_SECRET_KEY"):
        found.append(
            Fault("Cookies and sessions share one secret", "Make a second one for EVENHAND_COOKIE_SECRET.")
        )
    if not env.get("EVENHAND_OIDC_SECRET"):
        found.append(
            Fault("The client's secret is missing", "Set EVENHAND_OIDC_SECRET in the service's environment.")
        )
    if not re.fullmatch(r"[A-Za-z0-9_-]{43}=", env.get("EVENHAND_COOKIE_KEY", "")):
        found.append(
            Fault(
                "EVENHAND_COOKIE_KEY, which encrypts the sign-in cookie, is no key of 32 bytes in base64",
                'Make one: python -c "import base64, os; '
                'print(base64.urlsafe_b64encode(os.urandom(32)).decode())"',
            )
        )
    return found


def _secret(env: Mapping[str, str], name: str, use: str) -> list[Fault]:
    value = env.get(name, "")
    remedy = f'Make one: python -c "import secrets; print(secrets.token_urlsafe(48))" and set {name}.'
    if not value:
        return [Fault(f"{name}, which {use}, is not set", remedy)]
    if len(value.encode()) < LEAST_SECRET:
        return [Fault(f"{name} is shorter than {LEAST_SECRET} bytes", remedy)]
    if len(set(value)) < LEAST_DISTINCT:
        return [Fault(f"{name} is made of few characters and can be guessed", remedy)]
    return []


def _headers(access: Access) -> list[Fault]:
    sign_in, found = access.sign_in, []
    names = [sign_in.user_header, sign_in.groups_header, sign_in.secret_header]
    for name in names:
        if name.lower() in CREDENTIALS or not re.fullmatch(r"[A-Za-z][A-Za-z0-9-]+", name):
            found.append(
                Fault(
                    f"'{name}' cannot carry what the proxy says",
                    "Name a header of your own, like X-Remote-User.",
                )
            )
    if len({name.lower() for name in names}) < len(names):
        found.append(
            Fault("Two of the proxy's headers share a name", "Give person, groups and secret one each.")
        )
    return found


def _environment(env: Mapping[str, str]) -> list[Fault]:
    found = []
    if env.get("BOKEH_SIGN_SESSIONS", "yes").lower() in ("0", "false", "no", "off"):
        found.append(Fault("BOKEH_SIGN_SESSIONS switches signed sessions off", "Unset it."))
    if env.get("BOKEH_ALLOW_WS_ORIGIN"):
        found.append(Fault("BOKEH_ALLOW_WS_ORIGIN overrules the origins of the access file", "Unset it."))
    for name in (
        "PANEL_ADMIN_ENDPOINT",
        "PANEL_BASIC_AUTH",
        "PANEL_OAUTH_GUEST_ENDPOINTS",
        "PANEL_OAUTH_OPTIONAL",
    ):
        if env.get(name):
            found.append(Fault(f"{name} opens a page past the sign-in", "Unset it."))
    return found


def _roles(access: Access) -> list[Fault]:
    named = [access.ergonomist, access.committee, *access.managers.values()]
    if not any(members.groups or members.people for members in named):
        return [Fault("No role is given to anybody", "Name groups or people below [roles].")]
    return []


def _page(release: Path) -> object:
    from dashboards.app import build, door_of

    return build(door_of(release))


def _places(home: Home, may_read: Callable[[Path], bool], opens: Callable[[Path], object]) -> list[Fault]:
    found = []
    for path, what in ((home.person_dir, "person store"), (home.keys_dir, "release key")):
        if path.exists() and may_read(path):
            found.append(
                Fault(
                    f"The serving user may read the {what} ({path})",
                    "Serve as a user of its own that may read the release folder and nothing else.",
                )
            )
    try:
        opens(home.current_release)
    except EvenhandError as error:
        found.append(Fault(f"There is no release to serve ({error.what})", error.remedy))
    return found
