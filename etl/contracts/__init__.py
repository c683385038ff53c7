"""The contract of every source, in the order in which they are loaded.

The order follows the references: teams before people, people and instruments before the logs that
name them.
"""

from pathlib import Path

from etl.contracts.model import CODE_PATTERN, PERSON_PATTERN, Contract, Field, Span
from etl.contracts.outcomes import CHANGES, HOURS, SURVEYS
from etl.contracts.places import INSTRUMENTS, PEOPLE, STATIONS, TEAMS
from etl.contracts.studies import DIARIES, OBSERVATIONS
from etl.contracts.table_schema import table_schema, write_schema_files
from etl.contracts.work import BOUTS, STROKES

_ALL = (
    TEAMS, PEOPLE, INSTRUMENTS, STATIONS, OBSERVATIONS, BOUTS, STROKES, DIARIES, SURVEYS, CHANGES, HOURS,
)  # fmt: skip
CONTRACTS: dict[str, Contract] = {contract.name: contract for contract in _ALL}
LOAD_ORDER: tuple[str, ...] = tuple(CONTRACTS)

__all__ = [
    "CODE_PATTERN", "CONTRACTS", "LOAD_ORDER", "PERSON_PATTERN", "Contract", "Field", "Span",
    "table_schema", "write_schemas",
]  # fmt: skip


def write_schemas(folder: Path) -> list[Path]:
    """Publish every contract as a Frictionless Table Schema file.

    Parameters
    ----------
    folder : Path
        Where ``<contract>.schema.json`` files are written; created where missing.

    Returns
    -------
    list of Path
        The files written, in load order.
    """
    return write_schema_files(CONTRACTS, folder)
