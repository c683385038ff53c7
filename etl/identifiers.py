"""Direct identifiers in a table: headers and values that name or reach a person.

The one detector of the project. The sending side asks it before a file leaves, the loader asks it before a
row is kept. It errs towards refusing: a file that is refused costs a second export, a name in the store
costs a person. What it finds is told by column, kind and row; the value itself is never repeated.

A value pattern is written once, in the common part of Python's and RE2's syntax (no look-around, no
back-reference), so that the loader can run the same pattern inside DuckDB over millions of rows.
"""

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass

_BEFORE = r"(?:^|[^0-9A-Za-z+])"
_AFTER = r"(?:$|[^0-9A-Za-z])"

VALUE_PATTERNS: dict[str, str] = {
    # The local part and domain are kept loose on purpose: a mistyped address still reaches somebody.
    "e-mail address": r"[^\s@<>,;]+@[^\s@<>,;]+\.[A-Za-z]{2,}",
    # Written forms of two national insurance numbers: 3-2-4 digits, and 756 with 4-4-2 digits.
    "insurance number": (
        rf"{_BEFORE}(?:[0-9]{{3}}-[0-9]{{2}}-[0-9]{{4}}|756\.[0-9]{{4}}\.[0-9]{{4}}\.[0-9]{{2}}){_AFTER}"
    ),
    # ITU-T E.123: "+", country code, 7 to 14 more digits in groups; a national number starts with 0 and has
    # at least one gap, which numbers, dates and times have not; the third form is 3-3-4 digits.
    "phone number": (
        rf"{_BEFORE}(?:\+[1-9](?:[ ()/-]{{0,2}}[0-9]){{7,14}}"
        r"|\(?0[1-9][0-9]{1,4}\)?[ /-](?:[ -]?[0-9]){5,9}"
        r"|\(?[2-9][0-9]{2}\)?[ .-][0-9]{3}[ .-][0-9]{4}"
        rf"|[0-9]{{2,3}}(?:\.[0-9]{{2}}){{4}}){_AFTER}"
    ),
}
"""Kind of identifier -> pattern to search for anywhere in a value."""

_PEOPLE = (
    "first|last|full|given|family|middle|maiden|birth|legal|preferred|display|nick|user|login|christian|"
    "employee|staff|person|worker|operator|participant|patient|subject|contact|manager|supervisor|analyst|member"
)
_WORK = "staff|employee|personnel|payroll|badge|worker|pers|clock|hr"
HEADER_PATTERNS: dict[str, str] = {
    "name of a person": (
        rf"names?|(?:.* )?(?:{_PEOPLE}) names?|(?:.* )?(?:surname|forename|initials)|"
        r"(?:full|first|last|user)name|"
        r"vorname|nachname|familienname|prenom|nom|nom de famille|apellidos?|nombre|cognome"
    ),
    "e-mail address": r"(?:.* )?(?:e ?mail|mail)(?: address| addr)?",
    "phone number": (
        # "mobile phase" and "cell line" are laboratory words: those two count only at the end.
        r"(?:.* )?(?:phone|telephone|telefon)(?: .*)?|"
        r"(?:.* )?(?:tel|mobile|cell ?phone|fax|pager)(?: no| nr| number)?"
    ),
    "date of birth": r"(?:.* )?(?:birth ?date|birth ?day|date of birth|dob|born|geburtsdatum)(?: on)?",
    "home address": r"(?:.* )?(?:address|street|post ?code|zip ?code|zip)(?: line)?(?: [0-9])?",
    "insurance number": (
        r"(?:.* )?(?:ssn|social security|national insurance|insurance|passport|tax|national|ahv)"
        r" ?(?:no|nr|number|id)?|ni number"
    ),
    "staff number": (
        rf"(?:.* )?(?:{_WORK}) ?(?:no|nr|num|number|id|code|ref)|"
        r"personalnummer|personalnr|matricule|login|user ?id"
    ),
}
"""Kind of identifier -> pattern that a whole header, in small letters with single spaces, must match."""

_HEADERS = {kind: re.compile(pattern) for kind, pattern in HEADER_PATTERNS.items()}
_VALUES = {kind: re.compile(pattern) for kind, pattern in VALUE_PATTERNS.items()}
_STAFF = "staff number"
_CAMEL = re.compile(r"(?<=[a-z0-9])(?=[A-Z])")
_BREAKS = re.compile(r"[^0-9a-z]+")
# The shortest value any pattern can match is an address such as a@b.ch; anything shorter is passed at once.
_SHORTEST = 6


@dataclass(frozen=True)
class Finding:
    """A direct identifier in a file, told without the value itself.

    Attributes
    ----------
    column : str
        Header of the column.
    kind : str
        What it looks like, a key of `HEADER_PATTERNS` or `VALUE_PATTERNS`.
    row : int or None
        Data row, counted from 1; None where the header itself gives it away.
    """

    column: str
    kind: str
    row: int | None

    def __str__(self) -> str:
        where = "its header" if self.row is None else f"row {self.row}"
        return f"column {self.column!r} looks like a {self.kind} ({where})"


def header_kind(header: str) -> str | None:
    """Tell which direct identifier a header announces.

    Parameters
    ----------
    header : str
        The header as written in the file.

    Returns
    -------
    str or None
        A key of `HEADER_PATTERNS`, or None. A header that names a thing (``team_name``) announces nobody.
    """
    # Accents are taken off by decomposition, so that "Prénom" and "prenom" are one header.
    plain = unicodedata.normalize("NFKD", _CAMEL.sub(" ", header))
    plain = "".join(sign for sign in plain if not unicodedata.combining(sign)).replace("#", " no")
    words = _BREAKS.sub(" ", plain.casefold()).strip()
    return next((kind for kind, pattern in _HEADERS.items() if pattern.fullmatch(words)), None)


def value_kind(value: str, staff_pattern: re.Pattern[str] | None = None) -> str | None:
    """Tell which direct identifier a value holds.

    Parameters
    ----------
    value : str
        One cell.
    staff_pattern : re.Pattern, optional
        How this institute writes its staff numbers; a value that matches it as a whole is one.

    Returns
    -------
    str or None
        A key of `VALUE_PATTERNS`, ``staff number``, or None.
    """
    if staff_pattern is not None and staff_pattern.fullmatch(value.strip()):
        return _STAFF
    if len(value) < _SHORTEST:
        return None
    return next((kind for kind, pattern in _VALUES.items() if pattern.search(value)), None)


def header_findings(headers: Iterable[str]) -> tuple[Finding, ...]:
    """Return the headers that announce a direct identifier.

    Parameters
    ----------
    headers : Iterable of str
        Headers to look at; leave out the columns that are known to hold pseudonyms.

    Returns
    -------
    tuple of Finding
        One a header, in the order given.
    """
    kinds = ((header, header_kind(header)) for header in headers)
    return tuple(Finding(header, kind, None) for header, kind in kinds if kind is not None)
