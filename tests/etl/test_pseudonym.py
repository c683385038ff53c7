"""Pseudonyms against published vectors and a value made with another program."""

import base64
import hashlib
import hmac
import subprocess
import unicodedata
from shutil import which

import pytest
from hypothesis import given
from hypothesis import strategies as st

from etl.keys import Key
from etl.pseudonym import PSEUDONYM, SCHEME, has_invisible, normalise, pseudonym

SECRET = bytes(range(248, -1, -8))
KEY = Key("k1", SECRET)

# Made once with OpenSSL 3, outside this project, KEY being the hexadecimal digits of SECRET:
#   printf 'evenhand|v1|person|P10234' | openssl dgst -sha256 -mac HMAC -macopt hexkey:KEY -binary \
#     | base32 | cut -c1-26
GOLDEN = {
    "P10234": "k1:HJRP64KQ7FRJYUGPFWUIEJHR7F",
    "007": "k1:INW6FMJ3C63WCBTBE2OUFLVL6Y",
    "ÉLAN-7": "k1:Z7R25REMN5G6Q6CUFRHWYEMUNY",
}

# RFC 4231, sections 4.2 to 4.4 and 4.7: key, data, HMAC-SHA-256.
RFC_4231 = [
    (b"\x0b" * 20, b"Hi There", "b0344c61d8db38535ca8afceaf0bf12b881dc200c9833da726e9376c2e32cff7"),
    (
        b"Jefe",
        b"what do ya want for nothing?",
        "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843",
    ),
    (b"\xaa" * 20, b"\xdd" * 50, "773ea91e36800e46854db8ebd09181a72959098b3ef8c122d9635514ced565fe"),
    (
        b"\xaa" * 131,
        b"Test Using Larger Than Block-Size Key - Hash Key First",
        "60e431591ee0b67f0d8a26aacbf5b77f8e0bc6213728c5140546040f0ee37f54",
    ),
]


@pytest.mark.parametrize(("raw", "expected"), GOLDEN.items())
def test_pseudonyms_equal_those_made_with_another_program(raw: str, expected: str) -> None:
    assert pseudonym(KEY, raw) == expected


@pytest.mark.skipif(which("openssl") is None, reason="openssl is not installed")
@pytest.mark.parametrize("raw", ["A1", "0000", "ß-42", "x" * 300])
def test_openssl_makes_the_same_pseudonym(raw: str) -> None:
    command = ["openssl", "dgst", "-sha256", "-mac", "HMAC", "-macopt", f"hexkey:{SECRET.hex()}", "-binary"]
    message = f"evenhand|v1|person|{normalise(raw)}".encode()
    digest = subprocess.run(command, input=message, capture_output=True, check=True).stdout
    assert pseudonym(KEY, raw) == "k1:" + base64.b32encode(digest).decode()[:26]


@pytest.mark.parametrize(("secret", "data", "expected"), RFC_4231)
def test_the_mac_under_the_pseudonym_meets_rfc_4231(
    secret: bytes, data: bytes, expected: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The vectors are run through the very call that makes pseudonyms, by watching what it returns."""
    seen: list[str] = []
    real = hmac.new

    def watched(key: bytes, message: bytes, digest: object) -> object:
        assert message == f"{SCHEME}|A".encode()
        made = real(key, data, digest)  # type: ignore[arg-type]
        seen.append(made.hexdigest())
        return made

    monkeypatch.setattr("etl.pseudonym.hmac.new", watched)
    made = pseudonym(Key("k1", secret), "a")
    assert seen == [expected]
    assert made == "k1:" + base64.b32encode(bytes.fromhex(expected)).decode()[:26]


@pytest.mark.parametrize(
    ("raw", "same_as"),
    [
        ("p10234", "P10234"),
        ("  P10234\t", "P10234"),
        ("\u00a0P10234\u3000", "P10234"),
        ("Ｐ１０２３４", "P10234"),
        ("e\u0301lan-7", "ÉLAN-7"),
        ("straße", "STRASSE"),
    ],
)
def test_ways_of_writing_one_identifier_give_one_person(raw: str, same_as: str) -> None:
    assert normalise(raw) == same_as
    assert pseudonym(KEY, raw) == pseudonym(KEY, same_as)


def test_leading_zeros_and_inner_spaces_tell_persons_apart() -> None:
    ways = ["7", "07", "007", "7.0", "A 7", "A7"]
    assert len({pseudonym(KEY, way) for way in ways}) == len(ways)


@given(st.text())
def test_normalising_twice_changes_nothing_more(raw: str) -> None:
    assert normalise(normalise(raw)) == normalise(raw)


@given(st.text(), st.text(alphabet=" \t\n\u00a0\u2003\u3000"), st.text(alphabet=" \t\n\u00a0\u2003\u3000"))
def test_outer_white_space_and_unicode_form_never_matter(raw: str, before: str, after: str) -> None:
    assert normalise(before + raw + after) == normalise(raw)
    for form in ("NFC", "NFD", "NFKC", "NFKD"):
        assert normalise(unicodedata.normalize(form, raw)) == normalise(raw)


@given(st.text(alphabet="ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_/.", min_size=1))
def test_plain_identifiers_are_keyed_as_they_are(raw: str) -> None:
    """Nothing is thrown away that could tell two persons apart, leading zeros least of all."""
    assert normalise(raw) == raw
    assert normalise(raw.lower()) == raw


@given(st.text(min_size=1), st.binary(min_size=32, max_size=64))
def test_a_pseudonym_has_its_shape_and_needs_the_key(raw: str, secret: bytes) -> None:
    made = pseudonym(Key("k1", secret), raw)
    assert PSEUDONYM.fullmatch(made)
    # Bare hash of the same message: what an attacker without the key would compute.
    bare = hashlib.sha256(f"{SCHEME}|{normalise(raw)}".encode()).digest()
    assert base64.b32encode(bare).decode()[:26] not in made
    assert pseudonym(Key("k1", secret + b"!"), raw) != made


def test_every_single_character_reaches_a_fixed_point() -> None:
    """All of Unicode, once: a few capitals decompose, and only a second NFKC settles them."""
    signs = (chr(point) for point in range(0x110000) if not 0xD800 <= point < 0xE000)
    assert not [sign for sign in signs if normalise(normalise(sign)) != normalise(sign)]


@pytest.mark.parametrize(
    ("identifier", "expected"),
    [
        ("P10234", False),
        ("", False),
        ("P\u200b1", True),
        ("P\x001", True),
        ("\ufeffP1", True),
        ("É Ü", False),
    ],
)
def test_invisible_characters_are_seen(identifier: str, expected: bool) -> None:
    assert has_invisible(identifier) is expected
