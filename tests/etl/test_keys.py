"""Keys on disk: what is made, and every way of keeping one that is refused."""

import hashlib
import os
import re
import stat
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from etl import keys
from etl.errors import EvenhandError

GOOD = bytes(range(0, 256, 8))[::-1] + bytes([7])


def write_key(path: Path, text: str, mode: int = 0o400) -> Path:
    path.write_text(text, encoding="ascii")
    path.chmod(mode)
    return path


def line(secret: bytes, label: str = "k1") -> str:
    return f"evenhand-key {label} {secret.hex()}\n"


def test_a_new_key_is_random_private_and_reads_back(tmp_path: Path) -> None:
    first, second = keys.create_key(tmp_path / "a", "k1"), keys.create_key(tmp_path / "b", "k1")
    assert stat.S_IMODE((tmp_path / "a").stat().st_mode) == 0o400
    assert len(first.secret) == 32
    assert first.secret != second.secret
    assert keys.read_key(tmp_path / "a") == keys.read_key(tmp_path / "a", "k1") == first


def test_fingerprint_is_the_head_of_a_plain_hash() -> None:
    """Outside check: the definition, written out with hashlib."""
    assert keys.fingerprint("k1", GOOD) == hashlib.sha256(b"k1" + GOOD).hexdigest()[:8]


def test_repr_shows_the_fingerprint_and_not_the_secret() -> None:
    key = keys.Key("k1", GOOD)
    shown = f"{key!r} {key}"
    assert key.fingerprint in shown
    assert GOOD.hex() not in shown
    assert repr(GOOD) not in shown


@pytest.mark.parametrize("label", ["", "K1", "1k", "k-1", "k1:", "averylonglabel", "k1\n"])
def test_a_malformed_label_is_refused(tmp_path: Path, label: str) -> None:
    with pytest.raises(EvenhandError, match="label such as k1"):
        keys.create_key(tmp_path / "a", label)
    assert not (tmp_path / "a").exists()


def test_a_key_is_never_overwritten(tmp_path: Path) -> None:
    before = keys.create_key(tmp_path / "a", "k1")
    with pytest.raises(EvenhandError, match="not overwritten"):
        keys.create_key(tmp_path / "a", "k1")
    assert keys.read_key(tmp_path / "a") == before


def test_a_missing_folder_is_named(tmp_path: Path) -> None:
    with pytest.raises(EvenhandError, match="cannot be written: No such file"):
        keys.create_key(tmp_path / "nowhere" / "a", "k1")


@pytest.mark.parametrize("mode", [0o440, 0o404, 0o644, 0o420, 0o401])
def test_a_key_that_others_reach_is_refused(tmp_path: Path, mode: int) -> None:
    path = write_key(tmp_path / "key", line(GOOD), mode)
    with pytest.raises(EvenhandError, match=f"mode {mode:04o}.*chmod 400"):
        keys.read_key(path)


@pytest.mark.parametrize("mode", [0o400, 0o600])
def test_a_key_that_only_its_owner_reaches_is_read(tmp_path: Path, mode: int) -> None:
    assert keys.read_key(write_key(tmp_path / "key", line(GOOD), mode)).secret == GOOD


@pytest.mark.parametrize("git", ["folder", "file"])
def test_a_key_in_a_git_work_tree_is_refused(tmp_path: Path, git: str) -> None:
    """A linked work tree has a file ``.git`` where a clone has a folder."""
    (tmp_path / ".git").mkdir() if git == "folder" else (tmp_path / ".git").write_text("gitdir: x")
    (tmp_path / "deep").mkdir()
    for call in (
        lambda: keys.create_key(tmp_path / "deep" / "a", "k1"),
        lambda: keys.read_key(tmp_path / "b"),
    ):
        with pytest.raises(EvenhandError, match="git work tree"):
            call()
    assert not (tmp_path / "deep" / "a").exists()


def test_a_link_from_outside_into_a_work_tree_is_refused(tmp_path: Path) -> None:
    (tmp_path / "repo" / ".git").mkdir(parents=True)
    write_key(tmp_path / "repo" / "key", line(GOOD))
    (tmp_path / "link").symlink_to(tmp_path / "repo" / "key")
    with pytest.raises(EvenhandError, match="git work tree"):
        keys.read_key(tmp_path / "link")


def test_a_key_of_another_account_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = write_key(tmp_path / "key", line(GOOD))
    monkeypatch.setattr(os, "geteuid", lambda: path.stat().st_uid + 1)
    with pytest.raises(EvenhandError, match="another account"):
        keys.read_key(path)


@pytest.mark.parametrize(
    ("secret", "says"),
    [
        (GOOD[:31], "31 bytes, 32 are needed"),
        (b"", "not a key file"),
        (b"\x00" * 32, "constant"),
        (b"\x0b" * 64, "constant"),
        (b"secret" * 8, "constant"),
        (bytes(range(40)), "constant"),
        (bytes(range(80, 0, -2)), "constant"),
    ],
)
def test_a_short_or_constant_key_is_refused(tmp_path: Path, secret: bytes, says: str) -> None:
    with pytest.raises(EvenhandError, match=says):
        keys.read_key(write_key(tmp_path / "key", line(secret)))


@pytest.mark.parametrize(
    "text", ["", GOOD.hex(), f"k1 {GOOD.hex()}", f"evenhand-key K1 {GOOD.hex()}", "evenhand-key k1 a b"]
)
def test_a_file_that_is_no_key_is_refused(tmp_path: Path, text: str) -> None:
    with pytest.raises(EvenhandError, match="not a key file"):
        keys.read_key(write_key(tmp_path / "key", text))


def test_a_key_not_in_hexadecimal_is_refused_without_showing_it(tmp_path: Path) -> None:
    secret = "canary" + "z" * 60
    with pytest.raises(EvenhandError, match="hexadecimal") as caught:
        keys.read_key(write_key(tmp_path / "key", f"evenhand-key k1 {secret}"))
    assert "canary" not in str(caught.value)
    assert caught.value.__suppress_context__


def test_the_wrong_label_is_refused(tmp_path: Path) -> None:
    path = write_key(tmp_path / "key", line(GOOD, "k1"))
    with pytest.raises(EvenhandError, match="labelled k1, r1 is needed"):
        keys.read_key(path, "r1")


def test_a_missing_key_names_the_command_that_makes_one(tmp_path: Path) -> None:
    with pytest.raises(EvenhandError, match=r"No such file.*--new-key"):
        keys.read_key(tmp_path / "none")


def test_what_is_no_plain_file_is_refused(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe", 0o600)
    with pytest.raises(EvenhandError, match="not a plain file"):
        keys.read_key(tmp_path / "pipe")


@given(secret=st.binary(min_size=32, max_size=32).filter(lambda value: len(set(value)) > 20))
def test_random_keys_are_not_refused(secret: bytes) -> None:
    """Only a counted-up run of bytes may be refused among keys with many different bytes."""
    steps = {(b - a) % 256 for a, b in pairwise(secret)}
    assert keys._looks_random(secret) == (len(steps) > 1)


def test_created_keys_pass_their_own_check(tmp_path: Path) -> None:
    for number in range(50):
        key = keys.create_key(tmp_path / str(number), "k1")
        assert re.fullmatch(r"[0-9a-f]{8}", keys.read_key(tmp_path / str(number)).fingerprint)
        assert keys._looks_random(key.secret)


def test_the_release_key_is_made_once_in_a_private_folder(tmp_path: Path) -> None:
    first = keys.release_key(tmp_path / "home" / "keys")
    assert stat.S_IMODE((tmp_path / "home" / "keys").stat().st_mode) == 0o700
    assert keys.release_key(tmp_path / "home" / "keys") == first
    assert first.label == keys.RELEASE_KEY_LABEL


def test_a_pseudonym_key_in_the_place_of_the_release_key_is_refused(tmp_path: Path) -> None:
    (tmp_path / "keys").mkdir(mode=0o700)
    keys.create_key(tmp_path / "keys" / keys.RELEASE_KEY_FILE, "k1")
    with pytest.raises(EvenhandError, match="labelled k1, release1 is needed"):
        keys.release_key(tmp_path / "keys")


def test_a_folder_of_keys_that_others_reach_is_refused(tmp_path: Path) -> None:
    (tmp_path / "keys").mkdir()
    (tmp_path / "keys").chmod(0o750)
    with pytest.raises(EvenhandError, match="chmod 700"):
        keys.release_key(tmp_path / "keys")
    assert not list((tmp_path / "keys").iterdir())
