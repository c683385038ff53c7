"""Who a session belongs to: a trusted proxy's headers, OpenID Connect, or a choice that says it is none."""

import hmac
import zlib
from collections.abc import Callable, Mapping
from typing import Any

import panel as pn
from bokeh.server.auth_provider import AuthProvider
from bokeh.util.token import get_token_payload
from tornado.web import RequestHandler
from tornado.websocket import WebSocketHandler

from dashboards.access import COMMITTEE, ERGONOMIST, Access, Grant, manager_of
from dashboards.labels import safe

DENIED = "/signed-out"
_PAGE = (
    '<!doctype html><html lang="en"><head><meta charset="utf-8"><title>Evenhand: %s</title>'
    '<meta name="viewport" content="width=device-width"><style>'
    ":root{color-scheme:light dark}body{font:16px/1.5 sans-serif;margin:8vh auto;"
    "max-width:36em;padding:0 16px}</style>"
    "</head><body><main><h1>%s</h1><p>%s</p></main>%s</body></html>"
)
_WORDS = {
    401: "The sign-in was not completed: it took too long, was begun in another window, or what came back "
    'from your institute could not be accepted. <a href="./">Sign in again</a>; if it fails again, tell '
    "whoever runs Evenhand.",
    403: "These rooms open only through the sign-in of your institute, and only for people who have a role. "
    "Ask whoever runs Evenhand for one.",
}
_NO_ROLE = (
    "Your institute knows you, and no role is given to you here: you are not signed in. Ask whoever runs "
    'Evenhand for one, then <a href="./">sign in again</a>.'
)


class DeniedPage(RequestHandler):
    """The page of whoever is not known or has no role."""

    def get(self) -> None:
        """Say so, with the status that says it to machines."""
        self.set_status(403)
        self.set_header("Cache-Control", "no-store")
        self.set_header("X-Content-Type-Options", "nosniff")
        self.finish(page_of(403))


def page_of(status: int, known: bool = False) -> str:
    """Return the page of a refusal, plain and of one piece.

    Parameters
    ----------
    status : int
        What the answer tells machines: 403 without a role, anything else for a sign-in that failed.
    known : bool, default False
        Whether it is certain who asks; behind a proxy a stranger and a person without a role look alike.

    Returns
    -------
    str
        The page.
    """
    if status == 403 and known:
        return plain_page("No role", _NO_ROLE)
    return plain_page("Not signed in", _WORDS[403 if status == 403 else 401])


def plain_page(title: str, markup: str, more: str = "") -> str:
    """Return a page of one piece that needs nothing else.

    Parameters
    ----------
    title : str
        Heading.
    markup : str
        What stands below it; whatever is not ours in it is escaped already.
    more : str, default ""
        Markup after it.

    Returns
    -------
    str
        The page.
    """
    return _PAGE % (title[:1].lower() + title[1:], title, markup, more)


def session_of(handler: RequestHandler) -> dict[str, Any] | None:
    """Return what the session's token of a connection says; None for a request that brings none.

    The server checks the token's signature itself, when it opens the connection. It does not ask whether
    the token was made for the person who brings it: that is compared with this.

    Parameters
    ----------
    handler : tornado.web.RequestHandler
        The request.

    Returns
    -------
    dict or None
        Headers and cookies of the page the token was made for; empty for what is no token.
    """
    if not isinstance(handler, WebSocketHandler):
        return None
    offered = handler.request.headers.get("Sec-WebSocket-Protocol", "").split(",")
    try:
        return dict(get_token_payload(offered[-1].strip()))
    except (ValueError, KeyError, TypeError, zlib.error):
        return {}


class ProxySignIn(AuthProvider):
    """Lets a request in only if the proxy sent it and the person it names has a role.

    Holds for pages, for the rooms' connections and for metadata alike, as the server asks before each.

    Parameters
    ----------
    access : Access
        Roles and header names.
    secret : str
        What the proxy sends to show that it is the proxy.
    """

    def __init__(self, access: Access, secret: str) -> None:
        self._access, self._secret = access, secret
        super().__init__()

    @property
    def get_user(self) -> Callable[[Any], Any]:
        """Function from a request to the person, or to None."""
        return self._user

    def _user(self, handler: RequestHandler) -> str | None:
        sign_in = self._access.sign_in
        given = handler.request.headers.get_list(sign_in.secret_header)
        # One header and no more: a reader's own copy beside the proxy's must not help.
        if len(given) != 1 or not hmac.compare_digest(given[0].encode(), self._secret.encode()):
            return None
        people = handler.request.headers.get_list(sign_in.user_header)
        groups = handler.request.headers.get_list(sign_in.groups_header)
        if len(people) != 1 or len(groups) > 1:
            return None
        named = people[0].strip()
        session = session_of(handler)
        # A connection carries a session's token: it must be of a page made for the same person.
        if session is not None and _named_in(session.get("headers", {}), sign_in.user_header) != named:
            return None
        return named if self._access.grant(named, groups_of("".join(groups))) else None

    @property
    def login_url(self) -> str:
        """Where a stranger is sent."""
        return DENIED

    @property
    def login_handler(self) -> type[RequestHandler]:
        """What answers there."""
        return DeniedPage


def groups_of(text: str) -> tuple[str, ...]:
    """Return the groups of a header, parted by commas or semicolons."""
    return tuple(part.strip() for part in text.replace(";", ",").split(",") if part.strip())


def session_grant(access: Access) -> Grant | None:
    """Return what the present session may open.

    Parameters
    ----------
    access : Access
        Roles and sign-in.

    Returns
    -------
    Grant or None
        None where nobody is signed in or the person has no role.
    """
    if access.sign_in.kind == "proxy":
        headers = pn.state.headers or {}
        person = _named_in(headers, access.sign_in.user_header)
        return access.grant(person, groups_of(_named_in(headers, access.sign_in.groups_header)))
    if access.sign_in.kind == "oidc":
        return claims_grant(access, pn.state.user, pn.state.user_info or {})
    return None


def _named_in(headers: Mapping[str, Any], name: str) -> str:
    # Names of headers have no case, and the library spells them its own way.
    value = {str(key).lower(): value for key, value in headers.items()}.get(name.lower(), "")
    return _one(value).strip()


def _one(value: Any) -> str:
    return ",".join(map(str, value)) if isinstance(value, list) else str(value)


def claims_grant(access: Access, person: str | None, claims: Mapping[str, Any]) -> Grant | None:
    """Return what the person of an OpenID Connect token may open.

    Parameters
    ----------
    access : Access
        Roles and the name of the claim that lists groups.
    person : str or None
        Identity, None where nobody is signed in.
    claims : mapping
        Claims of the token.

    Returns
    -------
    Grant or None
        None without a role.
    """
    groups = claims.get(access.sign_in.groups_claim, [])
    listed = groups if isinstance(groups, list) else [groups]
    return access.grant(person or "", [str(group) for group in listed])


def demo_grants(access: Access) -> dict[str, Grant]:
    """Return the pages of the demo sign-in, which checks nothing.

    Parameters
    ----------
    access : Access
        Names the teams that have a manager.

    Returns
    -------
    dict of str to Grant
        Path -> grant.
    """
    teams = {f"/as-manager-{team}": manager_of(team) for team in sorted(access.managers)}
    return {"/as-ergonomist": ERGONOMIST, "/as-committee": COMMITTEE, **teams}


def demo_markup(grants: Mapping[str, Grant]) -> str:
    """Return the choice of the demo sign-in.

    Parameters
    ----------
    grants : mapping of str to Grant
        Path -> grant.

    Returns
    -------
    str
        Markup that says it is a demo.
    """
    items = "".join(
        f'<li><a href="{safe(path.lstrip("/"))}">{safe(grant.words)}</a></li>'
        for path, grant in grants.items()
    )
    return (
        '<h1>Demo sign-in</h1><div class="notice" role="note">This is a demonstration: nobody is asked who '
        "they are, and whoever reaches this page may choose any role.</div><p>Look at the rooms as</p>"
        f"<ul>{items}</ul>"
    )
