"""Whole text files with one oddity each, and what a load must make of them.

Cases follow RFC 4180, the shapes in which spreadsheets and loggers break it, and other formats under the name
of a CSV file. A case is a name, the bytes (or text, written as UTF-8) and the verdict: the code with which
the file is refused, or the reasons of rows set aside; ``()`` is a file of which every row is accepted.
"""

import gzip
import io
import tarfile

Case = tuple[str, bytes | str, str | tuple[str, ...]]
HEAD = "team,team_name,cluster,cluster_name,site\n"
GOOD = HEAD + "T1,Team 1,C1,Cluster,S1\n"
MARK = "\ufeff"


def row(name: str, rest: str = ",C1,C,S1\n") -> str:
    """Return a good file with a second row that has this raw text as its team name."""
    return f"{GOOD}T2,{name}{rest}"


def _tar() -> bytes:
    held = io.BytesIO()
    with tarfile.open(fileobj=held, mode="w") as packed:
        entry = tarfile.TarInfo("teams.csv")
        entry.size = len(GOOD)
        packed.addfile(entry, io.BytesIO(GOOD.encode()))
    return held.getvalue()


SHAPES: list[Case] = [
    ("windows line ends", GOOD.replace("\n", "\r\n"), ()),
    ("old line ends", GOOD.replace("\n", "\r"), ()),
    ("no last line end", GOOD[:-1], ()),
    ("blank line between", GOOD + "\nT2,a,C1,C,S1\n", ()),
    ("blank lines at the end", GOOD + "\n\n\n", ()),
    ("comma in quotes", row('"a, b"'), ()),
    ("quotes in quotes", row('"a ""b"""'), ()),
    ("all quoted", GOOD.replace("T1,Team 1,C1", '"T1","Team 1","C1"'), ()),
    ("apostrophes are no quotes", row("it's"), ()),
    ("quote inside a bare cell", row('5" rack'), ()),
    ("spaces around cells", row("  a  "), ()),
    ("quoted header", GOOD.replace("team,", '"team",', 1), ()),
    ("spaces in the header", GOOD.replace("site", " site ", 1), ()),
    ("byte order mark", MARK + GOOD, ()),
    ("mark and quoted header", MARK + GOOD.replace("team,", '"team",', 1), ()),
    ("decomposed letters", row("Te\u0301am"), ()),
    ("right-to-left script", row("\u05e9\u05dc\u05d5\u05dd"), ()),
    ("stacked marks", row("T\u0334\u0322e\u0337am"), ()),
    ("empty quotes", row('""'), ("E_REQUIRED",)),
    ("spaces only", row("   "), ("E_REQUIRED",)),
    ("line end in quotes", row('"a\nb"'), ("E_CTRL",)),
    ("tab in a cell", row("a\tb"), ("E_CTRL",)),
    ("vertical tab", row("a\x0bb"), ("E_CTRL",)),
    ("zero byte", row("a\x00b"), ("E_CTRL",)),
    ("escape sequence", row("\x1b[2Ja"), ("E_CTRL",)),
    ("joined emoji", row("\U0001f469\u200d\U0001f52c"), ("E_CTRL",)),
    ("reversed text", row("a\u202eb"), ("E_CTRL",)),
    ("invisible tag", row("a\U000e0041b"), ("E_CTRL",)),
    ("formula", row("=1+1"), ("E_FORMULA",)),
    ("call of a program", row("=cmd|'/C calc'!A0"), ("E_FORMULA",)),
    ("at sign", row("@SUM(1)"), ("E_FORMULA",)),
    ("quoted formula", row('"=HYPERLINK(""x"")"'), ("E_FORMULA",)),
    ("error of a formula", row("#N/A"), ("E_FORMULA",)),
    ("script", row("<script>alert(1)</script>"), ("E_TEXT",)),
    ("object notation in a cell", row('"{""a"": 1}"'), ("E_TEXT",)),
    ("total line", GOOD + "Total,,,,\n", ("E_NOTDATA",)),
    ("header again", GOOD + HEAD, ("E_NOTDATA",)),
    ("line of commas", GOOD + ",,,,\n", ("E_NOTDATA",)),
    ("text after a quote", row('"a"b'), "E_SHAPE"),
    ("backslash before a quote", row('"a\\"b"'), "E_SHAPE"),
    ("delimiter at a line's end", GOOD.replace("S1\n", "S1,\n"), "E_SHAPE"),
    ("empty quotes beyond the header", GOOD.replace("S1\n", 'S1,""\n'), "E_SHAPE"),
    ("bare quote before a long row", row('5" rack') + "T3,a,C1,C,S1,\n", "E_SHAPE"),
    ("two delimiters at a line's end", GOOD.replace("S1\n", "S1,,\n"), "E_SHAPE"),
    ("one cell short", row("a", ",C1,C\n"), "E_SHAPE"),
    ("open quote in the header", GOOD.replace("team,", '"team,', 1), "E_SHAPE"),
    ("end mark of an old system", GOOD + "\x1a", "E_SHAPE"),
    ("note below the table", GOOD + "exported by the logger\n", "E_SHAPE"),
    ("nameless last column", GOOD.replace("\n", ",\n"), "E_EXTRA"),
    ("separator line of a spreadsheet", "sep=,\n" + GOOD, "E_HEADER"),
    ("comment before the header", "# export\n" + GOOD, "E_HEADER"),
    ("title before the header", "Teams of 2026,,,,\n" + GOOD, "E_HEADER"),
    ("no header", "T1,Team 1,C1,Cluster,S1\n", "E_HEADER"),
    ("header in capitals", GOOD.replace("site", "SITE", 1), "E_HEADER"),
    ("tabs", GOOD.replace(",", "\t"), "E_HEADER"),
    ("bars", GOOD.replace(",", "|"), "E_HEADER"),
    ("two marks", MARK * 2 + GOOD, "E_HEADER"),
    ("web page", "<html><table><tr><td>team</td></tr></table></html>", "E_HEADER"),
    ("objects", '[{"team": "T1"}]', "E_HEADER"),
    ("mark only", MARK, "E_EMPTY"),
    ("spaces before all", "   \n" + GOOD, "E_EMPTY"),
    ("line ends only", "\r\n\r\n", "E_EMPTY"),
    ("telephone number", row("+41 44 123 45 67"), "E_PII"),
    ("e-mail address in quotes", row('"jo@example.org"'), "E_PII"),
    ("cell of 11,000 letters", row("x" * 11_000), "E_SIZE"),
    ("lone surrogate", row("").encode().replace(b"T2,", b"T2,\xed\xa0\x80"), "E_ENCODING"),
    ("overlong letter", row("").encode().replace(b"T2,", b"T2,\xc0\xaf"), "E_ENCODING"),
    ("letter cut off", GOOD.encode() + b"T2,a,C1,C,S\xc3", "E_ENCODING"),
    ("windows text", row("Zürich").encode("cp1252"), "E_ENCODING"),
    ("shift-jis", row("研究").encode("shift-jis"), "E_ENCODING"),
    ("utf-16 with mark", GOOD.encode("utf-16"), "E_ENCODING"),
    ("utf-32", GOOD.encode("utf-32"), "E_ENCODING"),
    ("utf-16 without mark", GOOD.encode("utf-16-le"), "E_CONTAINER"),
    ("utf-16 the other way", GOOD.encode("utf-16-be"), "E_CONTAINER"),
    ("compressed", gzip.compress(GOOD.encode()), "E_CONTAINER"),
    ("archive", _tar(), "E_CONTAINER"),
    ("document", b"%PDF-1.7\n" + GOOD.encode(), "E_CONTAINER"),
    ("photograph", b"\xff\xd8\xff\xe0" + b"a" * 40, "E_CONTAINER"),
    ("old workbook", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"a" * 50, "E_CONTAINER"),
    ("database", b"SQLite format 3\x00" + b"a" * 40, "E_CONTAINER"),
    ("parquet under another name", b"PAR1" + b"a" * 40 + b"PAR1", "E_CONTAINER"),
]
