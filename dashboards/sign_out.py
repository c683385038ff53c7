"""Leaving: the signed cookies go, other tabs follow, and the institute's own sign-out is one link away."""

from collections.abc import Sequence
from typing import ClassVar
from urllib.parse import urlencode

import panel as pn
from tornado.web import RequestHandler

from dashboards.labels import safe
from dashboards.oidc_token import Provider
from dashboards.signin import plain_page

LOGOUT = "/sign-out"
_DONE = "This browser is signed out of Evenhand, in all its tabs."
_KNOWN = (
    " Your institute may still know you here, and would let the next person at this desk in without asking: "
    '<a href="%s">sign out of your institute too</a>.'
)
_UNKNOWN = (
    " Your institute may still know you here, and would let the next person at this desk in without asking: "
    "sign out there too, or close the browser."
)
_AGAIN = '</p><p><a href="./">Sign in again</a>'
_ASK = '</p><form method="post" action="sign-out"><button type="submit">Sign out</button></form><p>'
# Tabs that stand open hold a connection of their own; they come here by themselves (page.js).
_TELL = '<script>new BroadcastChannel("evenhand").postMessage("signed out")</script>'


class SignOutPage(RequestHandler):
    """Signs a reader out who asks for it on a page of ours.

    Attributes
    ----------
    provider : Provider
        Where readers signed in.
    client : str
        Our name there.
    cookies : sequence of str
        What signs a reader in.
    """

    provider: ClassVar[Provider]
    client: ClassVar[str]
    cookies: ClassVar[Sequence[str]]

    def get(self) -> None:
        """Say whether somebody is signed in, and offer what is left to do; a link signs nobody out."""
        if self.get_secure_cookie(self.cookies[0]):
            self._say("Sign out", f"Somebody is signed in here.{_ASK}")
        else:
            self._say("Signed out", self._words())

    def post(self) -> None:
        """Take the cookies back."""
        # Browsers say where a form was sent from; another site's page must not sign our readers out. One that
        # is too old to say it is believed: the worst that follows is a new sign-in.
        if self.request.headers.get("Sec-Fetch-Site", "same-origin") != "same-origin":
            self.set_status(403)
            self._say("Not signed out", f"That was asked by another site.{_ASK}")
            return
        for name in self.cookies:
            self.clear_cookie(name, path=pn.config.cookie_path)
        self._say("Signed out", self._words(), _TELL)

    def _words(self) -> str:
        if not self.provider.end_url:
            return f"{_DONE}{_UNKNOWN}{_AGAIN}"
        # OpenID Connect RP-Initiated Logout 1.0, section 2: the client names itself, no token is kept for it.
        asked = f"{self.provider.end_url}?{urlencode({'client_id': self.client})}"
        return f"{_DONE}{_KNOWN % safe(asked)}{_AGAIN}"

    def _say(self, title: str, markup: str, more: str = "") -> None:
        self.set_header("Cache-Control", "no-store")
        self.finish(plain_page(title, markup, more))
