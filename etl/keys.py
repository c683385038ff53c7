"""Secret keys on disk: make one, read one after checking how it is kept, show its fingerprint.

A key file is one line of text, ``evenhand-key LABEL HEX``. The label is kept with the key, so that the key
of the pseudonyms and the key of the rounding cannot be taken for one another. Two kinds are in use: the
sending side's pseudonym key (labels such as ``k1``) and the release job's rounding key.

The checks are those of a file that must stay secret: it belongs to the account that reads it, nobody else
can read it, and it does not lie in a git work tree, where it would one day be committed.
"""

import hashlib
import os
import re
import secrets
import stat
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path

from etl.errors import EvenhandError

KEY_BYTES = 32
"""Least length of a key: the output length of SHA-256, as RFC 2104 section 3 advises for HMAC."""

RELEASE_KEY_FILE = "release.key"
RELEASE_KEY_LABEL = "release1"

# 32 random bytes hold about 30 different values; fewer than 16 has a chance below 1e-10.
_DISTINCT_BYTES = 16
_MARK = "evenhand-key"
_LABEL = re.compile(r"[a-z][a-z0-9]{0,7}")
_LONGEST_FILE = 4096


@dataclass(frozen=True)
class Key:
    """A secret key and the label it is known by. Its ``repr`` shows the fingerprint, never the secret.

    Attributes
    ----------
    label : str
        Short name, such as ``k1``.
    secret : bytes
        The key itself.
    """

    label: str
    secret: bytes = field(repr=False)

    @property
    def fingerprint(self) -> str:
        """First 8 hexadecimal digits of SHA-256(label || key)."""
        return fingerprint(self.label, self.secret)

    def __repr__(self) -> str:
        return f"Key(label={self.label!r}, fingerprint={self.fingerprint!r})"


SecretKey = Key


def fingerprint(label: str, key: bytes) -> str:
    """Return what may be shown of a key.

    Parameters
    ----------
    label : str
        Label of the key.
    key : bytes
        The key.

    Returns
    -------
    str
        First 8 hexadecimal digits of SHA-256(label || key).
    """
    return hashlib.sha256(label.encode("ascii") + key).hexdigest()[:8]


def create_key(path: Path, label: str) -> Key:
    """Make a new random key file, readable by its owner only (mode 0400).

    Parameters
    ----------
    path : Path
        File to make; it must not exist.
    label : str
        Label of the key: a small letter, then up to seven small letters or digits.

    Returns
    -------
    Key
        The new key.

    Raises
    ------
    EvenhandError
        If the label is malformed, the file exists, its folder is missing, or it lies in a git work tree.
    """
    if not _LABEL.fullmatch(label):
        raise EvenhandError(
            "A key label is a small letter and up to seven small letters or digits",
            str(path),
            "Use a label such as k1.",
        )
    _refuse_work_tree(path)
    key = Key(label, secrets.token_bytes(KEY_BYTES))
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o400)
    except FileExistsError:
        raise EvenhandError(
            "The key file exists and is not overwritten: its pseudonyms would be lost",
            str(path),
            "Name another file, or use the key that is there.",
        ) from None
    except OSError as error:
        raise EvenhandError(
            f"The key file cannot be written: {error.strerror}", str(path), "Name a folder you may write to."
        ) from None
    with os.fdopen(handle, "w", encoding="ascii") as file:
        file.write(f"{_MARK} {label} {key.secret.hex()}\n")
        file.flush()
        os.fsync(file.fileno())
    return key


def read_key(path: Path, label: str | None = None) -> Key:
    """Read a key file, and refuse one that is not kept as a secret or is not random.

    Parameters
    ----------
    path : Path
        The key file.
    label : str, optional
        The label the key must have; by default any.

    Returns
    -------
    Key
        The key.

    Raises
    ------
    EvenhandError
        If the file is missing, lies in a git work tree, is not a plain file, belongs to another account,
        can be read by others, is malformed, carries another label, or holds a short or constant key.
    """
    _refuse_work_tree(path)
    text = _read_guarded(path)
    parts = text.split()
    if len(parts) != 3 or parts[0] != _MARK or not _LABEL.fullmatch(parts[1]):
        raise _refused("This is not a key file of this tool", path)
    if label is not None and parts[1] != label:
        raise EvenhandError(
            f"The key is labelled {parts[1]}, {label} is needed", str(path), f"Name the key file of {label}."
        )
    try:
        key = Key(parts[1], bytes.fromhex(parts[2]))
    except ValueError:
        # "from None": the chained error would carry a piece of the key into a traceback.
        raise _refused("The key is not written in hexadecimal digits", path) from None
    if len(key.secret) < KEY_BYTES:
        raise _refused(f"The key has {len(key.secret)} bytes, {KEY_BYTES} are needed", path)
    if not _looks_random(key.secret):
        raise _refused("The key is constant or repeats itself", path)
    return key


def release_key(keys_dir: Path) -> Key:
    """Return the key of the rounding, made at the first call.

    Parameters
    ----------
    keys_dir : Path
        Folder of keys; made with mode 0700.

    Returns
    -------
    Key
        The key. It has to be kept for as long as editions are added: a new key would re-draw numbers
        that were published for the same people.

    Raises
    ------
    EvenhandError
        If the key or its folder can be read by others, or the key cannot serve as a secret.
    """
    path = keys_dir / RELEASE_KEY_FILE
    keys_dir.mkdir(mode=0o700, parents=True, exist_ok=True)
    if keys_dir.stat().st_mode & (stat.S_IRWXG | stat.S_IRWXO):
        raise EvenhandError(
            "Others can reach the folder of keys", str(keys_dir), f"Run: chmod 700 {keys_dir}"
        )
    if not path.exists():
        create_key(path, RELEASE_KEY_LABEL)
    return read_key(path, RELEASE_KEY_LABEL)


def _read_guarded(path: Path) -> str:
    """Read a small text file through one handle, so that what was checked is what is read."""
    try:
        # O_NONBLOCK: opening a named pipe must come to the refusal below instead of waiting for a writer.
        handle = os.open(path, os.O_RDONLY | os.O_NONBLOCK)
    except OSError as error:
        raise EvenhandError(
            f"The key file cannot be read: {error.strerror}",
            str(path),
            "Restore it from its safe copy; a new one is made with 'evenhand pseudonymise --new-key FILE'.",
        ) from None
    with os.fdopen(handle, "rb") as file:
        facts = os.fstat(file.fileno())
        if not stat.S_ISREG(facts.st_mode):
            raise EvenhandError("The key is not a plain file", str(path), "Name the key file.")
        if facts.st_uid != os.geteuid():
            raise EvenhandError(
                "The key file belongs to another account",
                str(path),
                "Run the command as the account that owns the key.",
            )
        if facts.st_mode & (stat.S_IRWXG | stat.S_IRWXO):
            raise EvenhandError(
                f"Others can reach the key file (mode {stat.S_IMODE(facts.st_mode):04o})",
                str(path),
                f"If nobody else has read it: chmod 400 {path}",
            )
        return file.read(_LONGEST_FILE).decode("ascii", errors="replace")


def _refuse_work_tree(path: Path) -> None:
    """Refuse a key that lies below a folder under git, by its real place (links followed)."""
    real = path.resolve()
    for folder in real.parents:
        if (folder / ".git").exists():
            raise EvenhandError(
                "The key lies in a git work tree, where it may be committed",
                str(path),
                f"Keep keys outside {folder}.",
            )


def _looks_random(secret: bytes) -> bool:
    """Tell a random key from one byte repeated, a short pattern, or bytes counted up."""
    steps = {(after - before) % 256 for before, after in pairwise(secret)}
    return len(set(secret)) >= _DISTINCT_BYTES and len(steps) > 1


def _refused(what: str, path: Path) -> EvenhandError:
    return EvenhandError(
        what,
        str(path),
        "Restore it from its safe copy, or make one with 'evenhand pseudonymise --new-key FILE'.",
    )
