"""Sign-in through an OpenID Connect provider, by the server library's own code flow."""

from collections.abc import Mapping
from typing import Any

import panel as pn

from dashboards.access import Access
from dashboards.signin import claims_grant

# A day: who lost a role yesterday has to sign in again today.
SIGNED_IN_DAYS = 1
# The session's token, which the reader's own page can read, carries these two and no access token.
COOKIES = ("user", "id_token")


def oidc_options(access: Access, env: Mapping[str, str]) -> dict[str, Any]:
    """Return the server's options for OpenID Connect.

    The identity token comes from the provider's own endpoint over its own connection, in exchange for
    a code; it is never taken from the browser. Cookies are signed and encrypted.

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
    """
    from cryptography.fernet import Fernet

    sign_in = access.sign_in
    key = env["EVENHAND_COOKIE_KEY"].encode("ascii")
    # The library annotates these settings as read-only, and sets them itself in this way.
    config: Any = pn.config
    config.oauth_encryption_key = key
    config.oauth_expiry = SIGNED_IN_DAYS
    pn.state.encryption = Fernet(key)

    def authorised(claims: Any) -> bool:
        return claims_grant(access, pn.state.user, claims or {}) is not None

    # A person without a role gets 403 before a session is made for the page.
    config.authorize_callback = authorised
    urls = {
        "AUTHORIZE_URL": sign_in.authorize_url,
        "TOKEN_URL": sign_in.token_url,
        "USER_URL": sign_in.user_url,
        "USER_KEY": sign_in.person_claim,
    }
    return {
        "include_cookies": list(COOKIES),
        "oauth_provider": sign_in.provider,
        "oauth_key": sign_in.client,
        "oauth_secret": env["EVENHAND_OIDC_SECRET"],
        "oauth_redirect_uri": sign_in.redirect_url,
        "oauth_extra_params": {name: value for name, value in urls.items() if value},
        "cookie_secret": env["EVENHAND_COOKIE_SECRET"],
    }
