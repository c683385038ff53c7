"""Look for exact bytes in files, to see whether something that was removed is really gone."""

import re
from collections.abc import Collection, Iterable
from pathlib import Path

_CHUNK = 1 << 22
_LONGEST_NAME = 64


def holds(path: Path, needles: Iterable[bytes]) -> bool:
    """Tell whether a file holds any of some byte strings.

    Parameters
    ----------
    path : Path
        The file.
    needles : Iterable of bytes
        What to look for; none of them empty.

    Returns
    -------
    bool
        True if one of them stands anywhere in the file.
    """
    wanted = tuple(needles)
    overlap = max((len(needle) for needle in wanted), default=1) - 1
    tail = b""
    with path.open("rb") as file:
        while chunk := file.read(_CHUNK):
            # The end of the last chunk is kept, because a needle may lie across the border.
            block = tail + chunk
            if any(needle in block for needle in wanted):
                return True
            tail = block[-overlap:] if overlap else b""
    return False


def files_holding(folder: Path, needles: Iterable[bytes]) -> tuple[Path, ...]:
    """Return the files below a folder that hold any of some byte strings.

    Parameters
    ----------
    folder : Path
        Folder, searched with all folders below it; links are not followed.
    needles : Iterable of bytes
        What to look for.

    Returns
    -------
    tuple of Path
        The files, sorted.
    """
    wanted = tuple(needles)
    files = sorted(path for path in folder.rglob("*") if path.is_file() and not path.is_symlink())
    return tuple(path for path in files if holds(path, wanted))


def files_naming(place: Path, pattern: re.Pattern[bytes], names: Collection[bytes]) -> tuple[Path, ...]:
    """Return the files that hold any of many names of one form; one pass over a file, however many they are.

    Parameters
    ----------
    place : Path
        A file, or a folder searched with all folders below it; links are not followed.
    pattern : re.Pattern of bytes
        What a name looks like, in its first group, as one may begin inside another; up to 64 bytes.
    names : collection of bytes
        The names.

    Returns
    -------
    tuple of Path
        The files, sorted.
    """
    files = [place] if place.is_file() else sorted(p for p in place.rglob("*") if p.is_file())
    return tuple(path for path in files if not path.is_symlink() and _names_any(path, pattern, names))


def _names_any(path: Path, pattern: re.Pattern[bytes], names: Collection[bytes]) -> bool:
    tail = b""
    with path.open("rb") as file:
        while chunk := file.read(_CHUNK):
            block = tail + chunk
            if any(found[1] in names for found in pattern.finditer(block)):
                return True
            tail = block[-_LONGEST_NAME:]
    return False
