"""What an OpenID Connect provider says of itself, and whether a token is its own, for us, and fresh."""

import hmac
import json
import urllib.error
import urllib.request
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlsplit

from etl.errors import EvenhandError

DESCRIPTION = "/.well-known/openid-configuration"
# Signatures with the provider's own key pair only: with a shared secret, or none, anybody could sign.
ALGORITHMS = ("RS256", "PS256", "ES256")
LEEWAY_SECONDS = 30
LOOPBACK = ("127.0.0.1", "::1", "localhost")
_SECONDS = 10


@dataclass(frozen=True)
class Provider:
    """Addresses of a provider, as its document names them (OpenID Connect Discovery 1.0, section 3).

    Attributes
    ----------
    issuer, authorize_url, token_url, keys_url : str
        Who signs, where readers sign in, where a code is exchanged, where the public keys are.
    user_url, end_url : str
        Where more of a person's claims are, and where readers sign out (RP-Initiated Logout 1.0); empty if
        there is no such place.
    """

    issuer: str
    authorize_url: str
    token_url: str
    keys_url: str
    user_url: str = ""
    end_url: str = ""


class TokenRefused(Exception):
    """An identity token or a set of claims that must not sign anybody in; the message is for the log."""


def kept_private(url: str) -> bool:
    """Return whether what is sent to an address cannot be read on the way: https, or this machine itself."""
    parts = urlsplit(url)
    return parts.scheme == "https" or (parts.scheme == "http" and parts.hostname in LOOPBACK)


def discovered(issuer: str) -> Provider:
    """Ask a provider for its addresses.

    Parameters
    ----------
    issuer : str
        The provider's identifier, an address.

    Returns
    -------
    Provider
        Its addresses.

    Raises
    ------
    EvenhandError
        If the document cannot be read, names another issuer, or names an address that is not encrypted.
    """
    place = issuer.rstrip("/") + DESCRIPTION
    remedy = "Check 'issuer' in [sign_in], and that this machine reaches the provider."
    try:
        with urllib.request.urlopen(place, timeout=_SECONDS) as answer:
            said = json.loads(answer.read())
    except (OSError, ValueError) as error:
        raise EvenhandError(f"The provider does not describe itself: {error}", place, remedy) from error
    # Section 4.3: a document of another issuer would let that one sign people in.
    if said.get("issuer") != issuer:
        raise EvenhandError("The provider names another issuer", place, f"Write it as issuer: {issuer}.")
    names = ("authorization_endpoint", "token_endpoint", "jwks_uri")
    also = ("userinfo_endpoint", "end_session_endpoint")
    found = {name: str(said.get(name) or "") for name in (*names, *also)}
    for name, url in found.items():
        if (url or name in names) and not kept_private(url):
            raise EvenhandError(f"The provider's '{name}' is missing or not encrypted", place, remedy)
    return Provider(issuer, *found.values())


def checked_claims(
    token: str, keys: Mapping[str, Any], provider: Provider, client: str, nonce: str
) -> dict[str, Any]:
    """Return the claims of an identity token that may sign somebody in.

    Parameters
    ----------
    token : str
        Identity token.
    keys : mapping
        The provider's public keys (JSON Web Key Set).
    provider : Provider
        Who must have issued it.
    client : str
        For whom it must be.
    nonce : str
        What was sent along when this reader set out to sign in.

    Returns
    -------
    dict
        Claims.

    Raises
    ------
    TokenRefused
        If signature, issuer, audience, times or nonce are not as OpenID Connect Core 1.0, section 3.1.3.7,
        wants them.
    """
    import jwt

    try:
        named = jwt.get_unverified_header(token).get("kid")
        usable = [key for key in jwt.PyJWKSet.from_dict(dict(keys)).keys if named in (None, key.key_id)]
        if len(usable) != 1:
            raise TokenRefused("no one key of the provider fits the token")
        claims = jwt.decode(
            token,
            usable[0],
            algorithms=list(ALGORITHMS),
            audience=client,
            issuer=provider.issuer,
            leeway=LEEWAY_SECONDS,
            options={"require": ["exp", "iat", "aud", "iss", "sub"]},
        )
    except jwt.PyJWTError as error:
        raise TokenRefused(f"{type(error).__name__}: {error}") from error
    several = isinstance(claims["aud"], list) and len(claims["aud"]) > 1
    if claims.get("azp", client if not several else None) != client:
        raise TokenRefused("the token was issued to another client")
    if not hmac.compare_digest(str(claims.get("nonce", "")).encode(), nonce.encode()):
        raise TokenRefused("the token belongs to another sign-in")
    return claims


def person_of(claims: Mapping[str, Any], person_claim: str) -> str:
    """Return the person that claims name.

    Parameters
    ----------
    claims : mapping
        Checked claims.
    person_claim : str
        Claim that names the person.

    Returns
    -------
    str
        Identity.

    Raises
    ------
    TokenRefused
        If nobody is named, or by an address that the provider says it has not verified: whoever may write
        any address into a profile could name anybody.
    """
    person = claims.get(person_claim)
    if not isinstance(person, str) or not person.strip():
        raise TokenRefused(f"the token has no '{person_claim}'")
    if person_claim == "email" and claims.get("email_verified", True) is not True:
        raise TokenRefused("the address is not verified")
    return person
