"""The invented release with markup in every field of words, as if all checks at the gate had failed."""

from pathlib import Path

import duckdb

from tests.support import fake_release

MARKUP = "<img src=x onerror=ran()><script>ran()</script>"
# Words, names and codes that are shown; keys that rooms look rows up by stay as they are.
WORDS = {
    "unit": ("name", "site"),
    "change": ("title", "why", "owner_role"),
    "change_check": ("sentence",),
    "change_effect": ("title", "sentence", "method_words", "checks", "settle", "cost", "weaker", "reason"),
    "change_event": ("reason",),
    "change_reach": ("reason", "teams", "n_band"),
    "change_history": ("lot",),
    "coverage": ("reason",),
    "dose": ("basis", "guide_words", "reason"),
    "driver_budget": ("sentence", "averaged", "reason"),
    "driver_check": ("sentence",),
    "driver_effect": ("sentence", "reason"),
    "driver_importance": ("feature",),
    "driver_node": ("words",),
    "driver_prediction": ("calibration",),
    "driver_share": ("assumptions",),
    "driver_statement": ("adjusted", "sentence"),
    "edition": ("note", "tool_version"),
    "exposure": ("reason",),
    "exposure_part": ("part",),
    "health": ("reason",),
    "method": ("text", "source", "title"),
    "audit_report": ("sentence", "detail"),
    "plan": ("title", "cannot", "cost_words"),
    "set_aside_reason": ("meaning", "remedy"),
    "station_fit": ("station", "best_change"),
}


def write(path: Path) -> Path:
    """Write the release; columns that the release does not have are an error.

    Parameters
    ----------
    path : Path
        File to make.

    Returns
    -------
    Path
        The file.
    """
    fake_release.write(path)
    with duckdb.connect(str(path)) as con:
        for table, columns in WORDS.items():
            for column in columns:
                # The key of a table may hold the column; each value stays as different as it was.
                con.execute(
                    f"update {table} set {column} = {column} || ? where coalesce({column}, '') <> ''",
                    [MARKUP],
                )
    return path
