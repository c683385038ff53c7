"""Sign-in through an OpenID Connect provider: code flow with state, nonce and code challenge."""

import base64
import hashlib
import hmac
import json
import logging
from collections.abc import Callable, Mapping
from typing import Any, ClassVar
from urllib.parse import urlencode

import panel as pn
from bokeh.server.auth_provider import AuthProvider
from panel.auth import STATE_COOKIE_NAME, OAuthLoginHandler
from tornado.httpclient import HTTPError as HTTPClientError
from tornado.httpclient import HTTPRequest
from tornado.web import HTTPError, RequestHandler, decode_signed_value

from dashboards.access import Access
from dashboards.oidc_token import Provider, TokenRefused, checked_claims, discovered, person_of
from dashboards.sign_out import LOGOUT, SignOutPage
from dashboards.signin import claims_grant, page_of, session_of

LOG = logging.getLogger("evenhand.sign_in")
# A day: who lost a role yesterday has to sign in again today.
SIGNED_IN_DAYS = 1
# From setting out to coming back.
ON_THE_WAY_DAYS = 15 / 24 / 60
# The session's token, which the reader's own page can read, carries these two and no access token.
COOKIES = ("user", "id_token")
SCOPES = ("openid", "email", "profile")
LOGIN = "/login"


class SignInPage(OAuthLoginHandler):
    """Sends a reader to the provider, and takes the reader back with a code.

    The library keeps the state; what the provider answers is checked here, since the library believes it.
    """

    access: ClassVar[Access]
    provider: ClassVar[Provider]

    def set_state_cookie(self, state: str) -> None:
        """Remember for a while that this browser set out to sign in."""
        self._keep(STATE_COOKIE_NAME, state, ON_THE_WAY_DAYS)

    async def get_authenticated_user(
        self,
        redirect_uri: str,
        client_id: str,
        state: str,
        client_secret: str | None = None,
        code: str | None = None,
    ) -> str | None:
        """Send the reader to the provider, or, with a code, sign the reader in.

        Raises
        ------
        HTTPError
            401 where the provider's answer cannot be believed, 403 where the person has no role.
        """
        if not code:
            self.redirect(f"{self.provider.authorize_url}?{urlencode(self._asked(redirect_uri, state))}")
            return None
        # An empty state would match the absence of a cookie: somebody else's sign-in, pushed on a reader.
        if not state:
            raise HTTPError(401, reason="No sign-in was begun here")
        try:
            claims = await self._claims(code, redirect_uri, client_secret or "", state)
            person = person_of(claims, self.access.sign_in.person_claim)
        except (TokenRefused, HTTPClientError, OSError, ValueError) as error:
            # The reason is for whoever runs the site; the reader could do nothing with it.
            LOG.warning("sign-in refused: %s", error)
            raise HTTPError(401, reason="The provider's answer was not accepted") from error
        if claims_grant(self.access, person, claims) is None:
            raise HTTPError(403, reason="No role")
        named = {self.access.sign_in.groups_claim: claims.get(self.access.sign_in.groups_claim, [])}
        encoded = base64.urlsafe_b64encode(json.dumps(named).encode()).rstrip(b"=")
        self._keep("user", person, SIGNED_IN_DAYS)
        self._keep("id_token", pn.state.encryption.encrypt(encoded), SIGNED_IN_DAYS)
        return person

    def _asked(self, redirect_uri: str, state: str) -> dict[str, str]:
        challenge = hashlib.sha256(self._derived("code", state).encode()).digest()
        return {
            "response_type": "code",
            "client_id": self.access.sign_in.client,
            "redirect_uri": redirect_uri,
            "scope": " ".join(SCOPES),
            "state": state,
            "nonce": self._derived("nonce", state),
            "code_challenge": base64.urlsafe_b64encode(challenge).decode().rstrip("="),
            "code_challenge_method": "S256",
        }

    async def _claims(self, code: str, redirect_uri: str, secret: str, state: str) -> dict[str, Any]:
        sign_in, provider = self.access.sign_in, self.provider
        form = {
            "grant_type": "authorization_code",
            "client_id": sign_in.client,
            "client_secret": secret,
            "code": code,
            "redirect_uri": redirect_uri,
            "code_verifier": self._derived("code", state),
        }
        answer = await self._json(HTTPRequest(provider.token_url, "POST", body=urlencode(form)))
        keys = await self._json(HTTPRequest(provider.keys_url))
        nonce = self._derived("nonce", state)
        claims = checked_claims(str(answer.get("id_token", "")), keys, provider, sign_in.client, nonce)
        wanted = {sign_in.person_claim, sign_in.groups_claim}
        if provider.user_url and not wanted <= set(claims):
            bearer = {"Authorization": f"Bearer {answer.get('access_token', '')}"}
            more = await self._json(HTTPRequest(provider.user_url, headers=bearer))
            if more.get("sub") != claims["sub"]:
                raise TokenRefused("the provider told of another person")
            claims = {**more, **claims}
        return claims

    async def _json(self, request: HTTPRequest) -> dict[str, Any]:
        request.headers["Accept"] = "application/json"
        request.follow_redirects = False
        said = json.loads((await self.get_auth_http_client().fetch(request)).body)
        if not isinstance(said, dict):
            raise TokenRefused(f"{request.url} did not answer with an object")
        return said

    def _derived(self, use: str, state: str) -> str:
        # Nobody without the server's secret can tell it from the state, which goes through the browser.
        key = str(self.settings["cookie_secret"]).encode()
        digest = hmac.new(key, f"{use} {state}".encode(), hashlib.sha256).digest()
        return base64.urlsafe_b64encode(digest).decode().rstrip("=")

    def _keep(self, name: str, value: str | bytes, days: float) -> None:
        secure = self.access.sign_in.redirect_url.startswith("https://")
        self.set_secure_cookie(
            name, value, days, httponly=True, secure=secure, samesite="Lax", path=pn.config.cookie_path
        )

    def write_error(self, status_code: int, **kwargs: Any) -> None:
        """Say that nobody was signed in, and how to go on."""
        for name in COOKIES:
            self.clear_cookie(name, path=pn.config.cookie_path)
        self.set_header("Cache-Control", "no-store")
        self.finish(page_of(status_code, known=True))


class OidcSignIn(AuthProvider):
    """Lets a request in whose signed cookie names a person; holds for pages and connections alike.

    Parameters
    ----------
    access : Access
        Roles and claims.
    provider : Provider
        Where readers sign in.
    """

    def __init__(self, access: Access, provider: Provider) -> None:
        self._access = access
        self._page = type("SignInPage", (SignInPage,), {"access": access, "provider": provider})
        known = {"provider": provider, "client": access.sign_in.client, "cookies": COOKIES}
        self._leaving = type("SignOutPage", (SignOutPage,), known)
        super().__init__()

    @property
    def get_user(self) -> Callable[[Any], Any]:
        """Function from a request to the person, or to None."""
        return self._user

    def _user(self, handler: RequestHandler) -> str | None:
        raw = handler.get_secure_cookie("user", max_age_days=SIGNED_IN_DAYS)
        person = raw.decode() if raw else None
        if person is None:
            return None
        session = session_of(handler)
        if session is None:
            return person
        # A connection carries a session's token: it must be of a page made for the same person.
        secret = handler.settings["cookie_secret"]
        own = decode_signed_value(secret, "user", session.get("cookies", {}).get("user", ""))
        return person if own == raw else None

    @property
    def login_url(self) -> str:
        """Where a stranger is sent."""
        return LOGIN

    @property
    def login_handler(self) -> type[RequestHandler]:
        """What answers there."""
        return self._page

    @property
    def logout_url(self) -> str:
        """Where a reader leaves."""
        return LOGOUT

    @property
    def logout_handler(self) -> type[RequestHandler]:
        """What answers there."""
        return self._leaving


def oidc_options(access: Access, env: Mapping[str, str]) -> dict[str, Any]:
    """Return the server's options for OpenID Connect; asks the provider for its addresses.

    Parameters
    ----------
    access : Access
        Client, addresses and roles.
    env : mapping of str to str
        ``EVENHAND_OIDC_SECRET``, ``EVENHAND_COOKIE_SECRET`` and ``EVENHAND_COOKIE_KEY``.

    Returns
    -------
    dict
        Options of the server; the library's process-wide settings are set too.

    Raises
    ------
    EvenhandError
        If the provider does not describe itself, or not soundly.
    """
    from cryptography.fernet import Fernet

    # The library annotates these settings as read-only, and sets them itself in this way.
    config: Any = pn.config
    config.oauth_expiry = SIGNED_IN_DAYS
    pn.state.encryption = Fernet(env["EVENHAND_COOKIE_KEY"].encode("ascii"))
    return {
        "include_cookies": list(COOKIES),
        "auth_provider": OidcSignIn(access, discovered(access.sign_in.issuer)),
        "oauth_key": access.sign_in.client,
        "oauth_secret": env["EVENHAND_OIDC_SECRET"],
        "oauth_redirect_uri": access.sign_in.redirect_url,
        "cookie_secret": env["EVENHAND_COOKIE_SECRET"],
    }
