"""The contract of every source, in the order in which they are loaded.

The order follows the references: teams before people, people and instruments before the logs that
name them.
"""

from pathlib import Path

from etl.contracts.model import CODE_PATTERN, PERSON_PATTERN, Contract, Field, Span
from etl.contracts.outcomes import CHANGES, HOURS, SURVEYS
from etl.contracts.places import INSTRUMENTS, PEOPLE, STATIONS, TEAMS
from etl.contracts.table_schema import table_schema, write_schema_files
from etl.contracts.work import BOUTS, STROKES

CONTRACTS: dict[str, Contract] = {
    contract.name: contract
    for contract in (TEAMS, PEOPLE, INSTRUMENTS, STATIONS, BOUTS, STROKES, SURVEYS, CHANGES, HOURS)
}
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
