"""Where one institute's data lives on disk: person store, release store, keys and settings."""

import os
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Home:
    """Paths below one data home.

    The person store and the release store are separate folders so that an adopter can give the
    dashboard's operating-system user read access to ``release`` and to nothing else.

    Attributes
    ----------
    root : Path
        The data home. It must lie outside the code repository.
    """

    root: Path

    @property
    def person_dir(self) -> Path:
        """Folder of the person store (mode 0700)."""
        return self.root / "person"

    @property
    def person_db(self) -> Path:
        """DuckDB file of the person store; only the loader and the release job open it."""
        return self.person_dir / "core.duckdb"

    @property
    def release_dir(self) -> Path:
        """Folder of published editions."""
        return self.root / "release"

    @property
    def current_release(self) -> Path:
        """Symbolic link to the newest published edition."""
        return self.release_dir / "current.duckdb"

    @property
    def keys_dir(self) -> Path:
        """Folder of secret keys (mode 0700)."""
        return self.root / "keys"

    @property
    def settings_file(self) -> Path:
        """Optional TOML file with this institute's settings."""
        return self.root / "evenhand.toml"


def default_root() -> Path:
    """Return the data home used when none is named.

    Returns
    -------
    Path
        ``$EVENHAND_HOME`` where it is set, otherwise ``~/.evenhand``.
    """
    named = os.environ.get("EVENHAND_HOME")
    return Path(named) if named else Path.home() / ".evenhand"
