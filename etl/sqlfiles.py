"""SQL statements kept as files beside the code."""

from functools import cache
from importlib import resources


@cache
def sql(name: str) -> str:
    """Return the text of one SQL file of this package.

    Parameters
    ----------
    name : str
        Path below ``etl/sql`` without the suffix, such as ``facts/100_spell``.

    Returns
    -------
    str
        The statement or statements in the file.

    Raises
    ------
    FileNotFoundError
        If the package holds no such file.
    """
    return resources.files("etl").joinpath("sql", f"{name}.sql").read_text(encoding="utf-8")
