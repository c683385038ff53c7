"""What is wrong on purpose: defects of each kind of source. Those of bouts stand in `dirt_bouts`."""

import numpy as np
import pyarrow as pa

from demo_data.dirt_bouts import bout_defects
from demo_data.planting import NO_PERSON, Bed, Planted, Row, weave
from demo_data.sheets import Sheet

SHARE = 0.003
# Kinds of defect among bouts and among surveys, to turn the share into a number of each.
_BOUT_KINDS, _SURVEY_KINDS = 18, 6


def _survey_defects(bed: Bed, each: int) -> None:
    sheet = bed.sheet
    answers, wide = sheet.answers, sheet.answers > 1
    person = sheet.column("person")
    score = "neck" if wide else sheet.column("score")
    empty: Row = dict.fromkeys(sheet.table.column_names)
    for _ in range(each):
        number, row = bed.template()
        bed.plant("unknown person", "E_PERSON", number, row | {person: NO_PERSON}, rows=answers)
        number, row = bed.template()
        bed.plant("exact repeat", "D_ROW", number, row, rows=answers)
        number, row = bed.template()
        total = empty | {person: "Total", score: "812"}
        bed.plant("Total row", "E_NOTDATA", number, total, rows=answers)
        for kind, text in (
            ("score of 11", "11"),
            ("score with a fraction", _half(sheet)),
            ("score nan", "nan"),
        ):
            number, row = bed.template()
            while row[score] is None:
                number, row = bed.template()
            # A spoilt cell takes a true answer with it, as it would in life.
            bed.plant(kind, "E_RANGE", number, row | {score: text})
            bed.replaced.add(number)
            bed.planted.clean_lost += 1


def _half(sheet: Sheet) -> str:
    return "5,5" if sheet.dialect.toml.get("decimal") == "," else "5.5"


def _people_defects(bed: Bed) -> None:
    sheet = bed.sheet
    column = {name: sheet.column(name) for name in sheet.dialect.fields("people")}
    number, row = bed.template()
    lone = row | {column["person"]: "k1:YYYYYYYYYYYYYYYY"}
    bed.plant("unknown team", "E_CODE", number, lone | {column["team"]: "T99"})
    before, after = sheet.dialect.dates(np.array(["2024-02-01", "2024-03-01"], "datetime64[D]"))
    number, row = bed.template()
    backwards = {column["valid_from"]: after, column["valid_to"]: before}
    bed.plant("spell that ends before it starts", "E_ORDER", number, row | lone | backwards | {
        column["team"]: row[column["team"]]})  # fmt: skip
    number, row = bed.template()
    bed.plant("exact repeat", "D_ROW", number, row)


def _instrument_defects(bed: Bed) -> None:
    """Plant one instrument whose forces were typed in newtons into a column of kgf."""
    number, row = bed.template()
    forces = ("plunger_force", "blow_out_force", "tip_mount_force", "ejection_force")
    newtons = dict(zip(forces, ("115,0", "220,0", "270,0", "310,0"), strict=True))
    typed = {bed.sheet.column(name): text for name, text in newtons.items()}
    bed.plant(
        "force in the wrong unit",
        "E_RANGE",
        number,
        row | typed | {bed.sheet.column("instrument"): "N-MAN-OLD"},
    )


def plant(sheet: Sheet, rng: np.random.Generator) -> tuple[pa.Table, Planted]:
    """Plant defects in one sheet.

    Parameters
    ----------
    sheet : Sheet
        The clean sheet.
    rng : numpy.random.Generator
        Chooses the rows.

    Returns
    -------
    pyarrow.Table
        Clean and planted rows; clean rows keep their order and every cell.
    Planted
        What was planted and what a loader must make of it.
    """
    bed = Bed(sheet, Planted(), iter(rng.permutation(sheet.table.num_rows).tolist()))
    if sheet.contract == "bouts":
        bout_defects(bed, max(1, round(SHARE * sheet.table.num_rows / _BOUT_KINDS)))
    elif sheet.contract == "surveys":
        _survey_defects(bed, max(1, round(SHARE * sheet.table.num_rows / _SURVEY_KINDS)))
    elif sheet.contract == "people":
        _people_defects(bed)
    elif sheet.contract == "instruments" and sheet.site == "NORTH":
        _instrument_defects(bed)
    return weave(sheet.table, bed.rows, bed.replaced), bed.planted
