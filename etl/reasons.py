"""Every reason code: what it means to a reader, and what to do about it.

Codes that start with ``E_`` are errors, ``D_`` duplicates that lose nothing, ``W_`` warnings that keep the
row, ``X_`` rows taken out on purpose. Some set a row aside, some refuse a file, some do both by share.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Reason:
    """One reason code.

    Attributes
    ----------
    meaning : str
        What was found, in plain words.
    remedy : str
        What the sender of the file can do.
    """

    meaning: str
    remedy: str


REASONS: dict[str, Reason] = {
    "D_FILE": Reason("the same file was loaded before", "Nothing to do; no row was added."),
    "D_ROW": Reason("the same row was loaded before", "Nothing to do; the first one counts."),
    "E_CODE": Reason("a code that is not known", "Correct it, or add it to the register or profile."),
    "E_CONFLICT": Reason(
        "two rows with the same key say different things", "Take both files back, and load the right one."
    ),
    "E_CONTAINER": Reason("not a plain CSV, Parquet or Excel file", "Export a plain file and name that."),
    "E_CTRL": Reason("invisible control characters in a cell", "Export again as plain text."),
    "E_DATE": Reason("a date that is not in the declared format", "Correct it, or declare the format used."),
    "E_DAY": Reason(
        "more than 24 hours of bouts of one person on one day",
        "Check the loggers; none of that day counts.",
    ),
    "E_DECIMAL": Reason("a number with another decimal sign", "Declare the sign used, or export one only."),
    "E_DISK": Reason("not enough room on the disk", "Make room and load the file again."),
    "E_DSTFOLD": Reason(
        "a local time that happens twice when clocks go back", "Export times with their offset from UTC."
    ),
    "E_DSTGAP": Reason(
        "a local time skipped when clocks go forward", "Check the time zone declared and the logger's clock."
    ),
    "E_DURATION": Reason("a bout that ends before it starts, or lasts over 16 h", "Correct start and end."),
    "E_EMPTY": Reason("a file without content", "Export it again."),
    "E_ENCODING": Reason("text in another encoding than declared", "Declare the encoding in the profile."),
    "E_EXTRA": Reason(
        "columns that the profile neither maps nor ignores", "Leave them out of the export, or list them."
    ),
    "E_FORMULA": Reason(
        "a spreadsheet formula, or the error one left behind", "Export values, not formulas."
    ),
    "E_FUTURE": Reason("a time that has not come yet", "Check the clock and the date format."),
    "E_HEADER": Reason("a header that does not fit the profile", "Use the right profile or another header."),
    "E_KEY": Reason("pseudonyms made with another key", "Send the file again with the earlier key."),
    "E_NOFILE": Reason("no such file", "Check the path."),
    "E_NOSOURCE": Reason("a file the profile has no source for", "Name its source, or add its name to one."),
    "E_NOTDATA": Reason("a header, total or blank line among the data", "Export data rows only."),
    "E_NUMBER": Reason("text where a number should be", "Correct the cell, or declare it as missing."),
    "E_ORDER": Reason("two fields of a row that contradict each other", "Correct the row."),
    "E_OVERLAP": Reason(
        "a bout that lies within another one of the same person", "Check the two loggers; it counts once."
    ),
    "E_PERIOD": Reason(
        "late: the month is published; frozen", "Nothing to do; published numbers are not changed."
    ),
    "E_PERSON": Reason("a person who is not in the people register", "Load the people file first."),
    "E_PII": Reason("something that identifies a person", "Leave that column out and send pseudonyms only."),
    "E_PROFILE": Reason("a profile that is not understood", "Correct the key named."),
    "E_RANGE": Reason("a number out of bounds, or between two marks", "Correct the cell."),
    "E_REQUIRED": Reason("an empty cell that must be filled", "Fill it in."),
    "E_SCALE": Reason(
        "scores that run the other way than before", "Check which end of the scale means no discomfort."
    ),
    "E_SERIAL": Reason("a spreadsheet serial number instead of a date", "Export dates as 2026-10-31."),
    "E_SERIES": Reason(
        "people asked in another way than before",
        "Begin a new series or bridge the scales; two ways of asking are not mixed.",
    ),
    "E_SHAPE": Reason("rows that do not have the header's columns", "Repair the line named."),
    "E_SIZE": Reason("more than is plausible for one file", "Split the export."),
    "E_STORE": Reason("a person store that cannot be used", "See the message."),
    "E_TEXT": Reason("text that is too long or holds markup", "Shorten it to plain words."),
    "E_TWOTEAMS": Reason(
        "a team spell that begins while the person is on another team",
        "Take the people file back, and load one that closes the earlier spell.",
    ),
    "E_UNIT": Reason("a unit that is not known or cannot be right", "Correct it in the file or profile."),
    "E_XLSX": Reason("a workbook with parts that are not accepted", "Save one plain sheet as .xlsx or .csv."),
    "W_CLIP": Reason("a bout that began before the last one ended", "Check the clock; it counts once."),
    "W_LATE": Reason(
        "kept, but came after its month was published", "Nothing to do; later numbers use it, old ones stay."
    ),
    "W_SCALE": Reason("scores that a person confirmed against appearance", "Nothing to do; they are kept."),
    "W_SERIES": Reason(
        "asked in another way than before, as a person confirmed", "Nothing to do; see the series in use."
    ),
    "W_UNIT": Reason("a unit that a person confirmed against appearance", "Nothing to do; it is kept."),
    "X_WITHDRAWN": Reason("a person who withdrew", "Leave the person out of later exports."),
}  # fmt: skip

# Position in this tuple is the number a reason has while rows are checked; 0 means none.
REASON_CODES: tuple[str, ...] = ("", *REASONS)


def number_of(code: str) -> int:
    """Return the number that stands for a reason code inside a load.

    Parameters
    ----------
    code : str
        A reason code, or ``""`` for none.

    Returns
    -------
    int
        Its position in ``REASON_CODES``.
    """
    return REASON_CODES.index(code)
