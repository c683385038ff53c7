"""Turn one text into one value, or say why not.

Every distinct text of a column passes here once, so the rules are plain Python and strict: no cast of a
database is trusted with input (``try_cast`` takes 'nan', '1_000' and rounds '5.7').
"""

import dataclasses
import re
import unicodedata
from collections.abc import Callable, Collection
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal

from etl.contracts import CODE_PATTERN, PERSON_PATTERN, Field
from etl.dates import DateReader
from etl.tombstones import digest
from etl.units import UNITS, convert

# Control, invisible and direction-changing characters (Unicode TR 36, bidirectional text spoofing).
CONTROL = re.compile(
    "[\x00-\x1f\x7f-\x9f\u00ad\u061c\u180e\u200b-\u200f\u2028-\u202e\u2060-\u2069\ufeff\ufff9-\ufffb"
    "\U000e0000-\U000e007f]"
)
_FORMULA = re.compile(r"^[=+@]|^-(?![\d.,])")
_ERROR = re.compile(r"^#(REF!|N/A|DIV/0!|NAME\?|VALUE!|NUM!|NULL!|SPILL!)$", re.IGNORECASE)
_SIGNED = re.compile(r"^(\+[0-9]|-inf)", re.IGNORECASE)
_CODE = re.compile(CODE_PATTERN)
_PERSON = re.compile(PERSON_PATTERN)
_PARTS = re.compile(r"[A-Za-z0-9_.:-]+").findall
_MARKUP = re.compile(r"[<>{}]")
_TRUE, _FALSE = {"true", "1", "yes"}, {"false", "0", "no"}


@dataclass(frozen=True)
class Reading:
    """What a text says.

    Attributes
    ----------
    value : object
        The value for the store; None where there is a reason.
    reason : str
        Reason code, or empty.
    contradicts : bool
        Whether the text shows that the declared format is wrong for the whole file.
    """

    value: object = None
    reason: str = ""
    contradicts: bool = False


@dataclass
class ValueReader:
    """Reader of one mapped field.

    Attributes
    ----------
    field : Field
        The contract's field.
    dates : DateReader
        Reads dates and months in the declared format.
    codes : dict of str to str
        The site's own texts and what they stand for.
    upper : bool
        Whether codes are folded to upper case.
    decimal, thousands : str
        Signs of numbers.
    unit : str
        Unit of a quantity; empty where each text carries its own after a unit separator.
    known : collection of str or None
        Codes that exist; None where any well-formed code will do.
    unknown : str
        Reason given for a code that does not exist.
    withdrawn : collection of str
        Tombstones of persons who are not taken in again.
    """

    field: Field
    dates: DateReader
    codes: dict[str, str] = dataclasses.field(default_factory=dict)
    upper: bool = False
    decimal: str = "."
    thousands: str = ""
    unit: str = ""
    known: Collection[str] | None = None
    unknown: str = "E_CODE"
    withdrawn: Collection[str] = ()

    def read(self, text: str) -> Reading:
        """Read one trimmed, non-empty text.

        Parameters
        ----------
        text : str
            The cell.

        Returns
        -------
        Reading
            A value or a reason.
        """
        text = self.codes.get(text, text)
        # Asked first: the reasons below keep the cell, and a withdrawn person may stand in a spoilt one.
        if self.field.kind == "person" and any(digest(part) in self.withdrawn for part in _PARTS(text)):
            return Reading(reason="X_WITHDRAWN")
        if CONTROL.search(text.replace(UNIT_SEPARATOR, "")):
            return Reading(reason="E_CTRL")
        if _FORMULA.match(text) and not (self.field.kind in _NUMERIC and _SIGNED.match(text)):
            return Reading(reason="E_FORMULA")
        if _ERROR.match(text):
            return Reading(reason="E_FORMULA")
        return _READERS[self.field.kind](self, text)

    def _code(self, text: str) -> Reading:
        code = unicodedata.normalize("NFKC", text)
        code = code.upper() if self.upper else code
        if not _CODE.match(code) or (self.known is not None and code not in self.known):
            return Reading(reason=self.unknown)
        return Reading(code)

    def _codes(self, text: str) -> Reading:
        read = [self._code(part.strip()) for part in text.split(";")]
        bad = next((one.reason for one in read if one.reason), "")
        return Reading(reason=bad) if bad else Reading(";".join(sorted({str(one.value) for one in read})))

    def _person(self, text: str) -> Reading:
        if not _PERSON.match(text) or (self.known is not None and text not in self.known):
            return Reading(reason="E_PERSON")
        return Reading(text)

    def _text(self, text: str) -> Reading:
        text = unicodedata.normalize("NFC", text)
        if len(text) > self.field.max_length or _MARKUP.search(text):
            return Reading(reason="E_TEXT")
        return Reading(text)

    def _boolean(self, text: str) -> Reading:
        low = text.lower()
        return Reading(low in _TRUE) if low in _TRUE | _FALSE else Reading(reason="E_CODE")

    def _bounded(self, number: Decimal, stored: object) -> Reading:
        low, high = self.field.minimum, self.field.maximum
        if (low is not None and number < Decimal(str(low))) or (
            high is not None and number > Decimal(str(high))
        ):
            return Reading(reason="E_RANGE")
        return Reading(stored)

    def _integer(self, text: str) -> Reading:
        number = read_number(text, self.decimal, self.thousands)
        if isinstance(number, Reading):
            return number
        # Among whole numbers, 1.000 is a thousand written elsewhere before it is a one with three zeros.
        if _GROUPED.match(text) and text.count(self.decimal) == 1:
            return Reading(reason="E_DECIMAL", contradicts=True)
        if number != number.to_integral_value():
            return Reading(reason="E_RANGE")
        return self._bounded(number, int(number))

    def _mark(self, text: str) -> Reading:
        number = read_number(text, self.decimal, self.thousands)
        if isinstance(number, Reading):
            return number
        if _GROUPED.match(text) and text.count(self.decimal) == 1:
            return Reading(reason="E_DECIMAL", contradicts=True)
        if 2 * number != (2 * number).to_integral_value():
            return Reading(reason="E_RANGE")
        # A double holds halves exactly, so that marks compare as written.
        return self._bounded(number, float(number))

    def _decimal(self, text: str) -> Reading:
        number = read_number(text, self.decimal, self.thousands)
        return number if isinstance(number, Reading) else self._bounded(number, float(number))

    def _quantity(self, text: str) -> Reading:
        text, _, row_unit = text.partition(UNIT_SEPARATOR)
        unit = self.unit or row_unit
        if unit not in UNITS[self.field.dimension]:
            return Reading(reason="E_UNIT")
        number = read_number(text, self.decimal, self.thousands)
        if isinstance(number, Reading):
            return number
        stored = convert(number, self.field.dimension, unit, self.field.store_unit)
        whole = int(stored.to_integral_value(ROUND_HALF_EVEN)) if self.field.whole else float(stored)
        return self._bounded(convert(number, self.field.dimension, unit, self.field.unit), whole)

    def _date(self, text: str) -> Reading:
        return Reading(*self.dates.date(text, may_be_future=self.field.may_be_future))

    def _month(self, text: str) -> Reading:
        return Reading(*self.dates.month(text, may_be_future=self.field.may_be_future))

    def _instant(self, text: str) -> Reading:
        return Reading(*self.dates.why_no_instant(text))


UNIT_SEPARATOR = "\x1f"
_NUMERIC = frozenset({"integer", "mark", "decimal", "quantity"})
_READERS: dict[str, Callable[[ValueReader, str], Reading]] = {
    "code": ValueReader._code,
    "choice": ValueReader._code,
    "codes": ValueReader._codes,
    "person": ValueReader._person,
    "text": ValueReader._text,
    "integer": ValueReader._integer,
    "mark": ValueReader._mark,
    "decimal": ValueReader._decimal,
    "quantity": ValueReader._quantity,
    "boolean": ValueReader._boolean,
    "date": ValueReader._date,
    "month": ValueReader._month,
    "instant": ValueReader._instant,
}
_PLAIN = {
    ".": re.compile(r"^-?[0-9]{1,18}(\.[0-9]{1,18})?$"),
    ",": re.compile(r"^-?[0-9]{1,18}(,[0-9]{1,18})?$"),
}
_GROUPED = re.compile(r"^-?[1-9][0-9]{0,2}[.,][0-9]{3}$")
_NOT_FINITE = {"nan", "inf", "-inf", "infinity", "-infinity"}
_OTHER_SIGN = re.compile(r"^-?[0-9]+([.,' ][0-9]+)+$")


def read_number(text: str, decimal: str, thousands: str) -> Decimal | Reading:
    """Read a plain number: ASCII digits, one sign, no exponent, no underscore.

    Parameters
    ----------
    text : str
        The cell.
    decimal : str
        ``.`` or ``,``.
    thousands : str
        Sign between groups of three digits, or empty.

    Returns
    -------
    Decimal or Reading
        The exact number, or why it is none. A number written with other signs contradicts the
        declaration, because every number of the file would then be in doubt.
    """
    plain = text
    if thousands and re.match(rf"^-?\d{{1,3}}({re.escape(thousands)}\d{{3}})+(?!\d)", text):
        plain = text.replace(thousands, "")
    if _PLAIN[decimal].match(plain):
        return Decimal(plain.replace(",", "."))
    if text.lower() in _NOT_FINITE:
        return Reading(reason="E_RANGE")
    if _OTHER_SIGN.match(text):
        return Reading(reason="E_DECIMAL", contradicts=True)
    return Reading(reason="E_NUMBER")
