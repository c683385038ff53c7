"""Pseudonyms: a keyed, one-way name for a person, made where the raw identifier lives.

A plain hash of a staff number hides nothing: all six-digit numbers are hashed in a second. With a secret
key nobody without it can try numbers. Who holds the key can, so pseudonyms remain personal data.

Source: HMAC, RFC 2104; SHA-256, FIPS 180-4; base 32, RFC 4648 section 6.
"""

import base64
import hashlib
import hmac
import re
import unicodedata

from etl.keys import Key

SCHEME = "evenhand|v1|person"
"""Domain of the message, so that the same key used elsewhere would give other values."""

PSEUDONYM = re.compile(r"[a-z][a-z0-9]{0,7}:[A-Z2-7]{26}")
"""What a pseudonym looks like: label of its key, colon, 26 base-32 signs (130 of the 256 bits)."""

_SIGNS = 26


def normalise(identifier: str) -> str:
    """Bring the ways of writing one identifier to one.

    Compatibility forms are unified (NFKC), outer white space goes, letters become capitals. Leading zeros
    stay: an identifier is text, and 007 is not 7. A few capitals decompose, so NFKC closes the work too;
    the result is a fixed point.

    Parameters
    ----------
    identifier : str
        Raw identifier, such as a staff number.

    Returns
    -------
    str
        The form that is keyed; empty where there was nothing but white space.
    """
    capitals = unicodedata.normalize("NFKC", identifier).strip().upper()
    return unicodedata.normalize("NFKC", capitals).strip()


def has_invisible(identifier: str) -> bool:
    """Tell whether an identifier holds control or format characters, which would split one person in two.

    Parameters
    ----------
    identifier : str
        Normalised identifier.

    Returns
    -------
    bool
        True with any character of Unicode's categories C*.
    """
    return any(unicodedata.category(sign).startswith("C") for sign in identifier)


def pseudonym(key: Key, identifier: str) -> str:
    """Return the pseudonym of a raw identifier.

    Formula: ``label:`` then the first 26 signs of base32(HMAC-SHA256(key, SCHEME | normalise(identifier))).

    Parameters
    ----------
    key : Key
        Key of the sending side.
    identifier : str
        Raw identifier.

    Returns
    -------
    str
        For instance ``k1:`` and 26 signs of A-Z and 2-7.
    """
    message = f"{SCHEME}|{normalise(identifier)}".encode()
    digest = hmac.new(key.secret, message, hashlib.sha256).digest()
    return f"{key.label}:{base64.b32encode(digest).decode('ascii')[:_SIGNS]}"
