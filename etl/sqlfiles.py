"""Read the SQL that ships with the package."""

from functools import cache
from importlib import resources


@cache
def sql(name: str) -> str:
    """Return the text of one SQL file below ``etl/sql``.

    Parameters
    ----------
    name : str
        Path below ``etl/sql`` without the extension, such as ``"store/010_core"``.

    Returns
    -------
    str
        The SQL text.

    Raises
    ------
    FileNotFoundError
        If no such file ships with the package.
    """
    return resources.files("etl").joinpath("sql", *f"{name}.sql".split("/")).read_text(encoding="utf-8")


def quote(text: str) -> str:
    """Return an SQL string literal.

    Parameters
    ----------
    text : str
        Any text.

    Returns
    -------
    str
        The text in single quotes, inner quotes doubled.
    """
    return "'" + text.replace("'", "''") + "'"
