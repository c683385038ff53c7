"""A site's profile: the TOML file that maps its exports onto the contracts.

Nothing is guessed: a column that is neither mapped nor listed under ``ignore`` refuses the file.

Format
------
Top level::

    profile = "north-lab"                # name written to the ledger
    time_zone = "Europe/Zurich"          # IANA zone of times without an offset (default "UTC")
    encoding = "utf-8"                   # any Python codec; a UTF-8 byte order mark is accepted
    delimiter = ","                      # one character: , ; | or a tab
    decimal = "."                        # "." or ","
    thousands = ""                       # "" or one of . , ' or a blank; must differ from decimal
    missing = [""]                       # texts that mean an empty cell; "" always does
    date_format = "iso"                  # see Formats
    datetime_format = "iso"
    month_format = "iso"

    [codes]                              # extra codes of closed lists, or a closed list for an open one
    region = ["CHEST"]                   # key = name of a contract field

    [sources.bouts]                      # any name; one table a source, at least one
    contract = "bouts"                   # teams people instruments stations bouts strokes ...
    files = ["bouts_*.csv"]              # globs of file names; a file may match several sources
    ignore = ["comment"]                 # columns of the file that are not loaded (their content is not kept)
    sheet = "Log"                        # Excel only; default: the file's only sheet

    [sources.bouts.fields]               # contract field = where it comes from
    person = "operator"                  # short form: the site's column name, exactly as in the header
    start = { column = "begin", format = "%d.%m.%Y %H:%M" }
    task = { column = "protocol", map = { "pcr set-up" = "PCR" }, upper = true }
    instrument = { value = "P200" }      # a constant, in the contract's own notation

Each of the top-level keys from ``time_zone`` to ``month_format`` may be repeated in a source, where it
replaces the general one.

Keys of a field's table: ``column`` or ``value`` (exactly one); ``map`` (site's text = contract text,
applied first; texts not listed pass unchanged); ``upper`` (fold codes to upper case); ``format`` (this
column's date, time or month format); ``unit`` (needed for every quantity that comes from a column) or
``unit_column`` (a column that holds the unit of each row); ``origin`` and ``step_months`` (months
counted from an origin).

Units: force N mN cN kgf gf lbf ozf; length mm cm m in; mass g kg lb oz; duration s ms min h.

Formats
-------
``iso``
    Dates ``2026-10-31``; instants ``2026-10-31 14:05[:00[.123456]]`` with blank or ``T`` and an optional
    ``Z`` or ``+01:00``; months ``2026-10`` or any day of the month. ISO 8601 is accepted beside any other
    format because it cannot be mistaken for one.
``%d.%m.%Y %H:%M``
    Any pattern of ``%d %m %Y %y %H %M %S %f %I %p %b`` and literal text.
``excel-1900``, ``excel-1904``
    Spreadsheet serial numbers (dates and months). Without this declaration they are set aside.
``epoch-s``, ``epoch-ms``
    Instants as whole seconds or milliseconds since 1970-01-01 UTC.
``date``
    Months given as any day of the month in ``date_format``.
``index``
    Months as whole numbers counted from ``origin = "2026-01"`` in steps of ``step_months`` (default 1).

Wide surveys
------------
A source of contract ``surveys`` may give one column a body region; each row becomes one row a column::

    [sources.survey.wide]
    neck = { region = "NECK" }
    sh_l = { region = "SHOULDER", side = "LEFT", hindered = "sh_l_h", trouble_7d = "sh_l_7" }

Items with columns of their own: ``hindered``, ``trouble_7d``, ``trouble_12m``, ``hindered_12m``. What is
the same for all rows (``scale``, ``questionnaire``, ``version``, ``mode``) is a constant under ``fields``.
The ledger then counts answers, not lines of the file.
"""

import tomllib
from fnmatch import fnmatchcase
from pathlib import Path
from typing import Any, Self

from pydantic import BaseModel, ConfigDict, ValidationError, field_validator, model_validator
from pydantic import Field as Key

from etl.contracts import CONTRACTS, Contract
from etl.errors import EvenhandError
from etl.profile_rules import WIDE_ITEMS, Conventions, check_fields, check_format


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class FieldMap(_Frozen):
    """Where one contract field comes from. The keys are described in the module's format reference."""

    column: str | None = None
    value: str | None = None
    map: dict[str, str] = Key(default_factory=dict)
    upper: bool = False
    format: str | None = None
    unit: str | None = None
    unit_column: str | None = None
    origin: str | None = None
    step_months: int = Key(default=1, ge=1, le=120)

    @model_validator(mode="after")
    def _one_origin(self) -> Self:
        if (self.column is None) == (self.value is None):
            raise ValueError("give either column or value")
        if self.format is not None:
            check_format(self.format)
        return self


class WideColumn(_Frozen):
    """Which region and side a column of a wide survey asks about, and the columns of its other items."""

    region: str
    side: str = "NONE"
    hindered: str | None = None
    trouble_7d: str | None = None
    trouble_12m: str | None = None
    hindered_12m: str | None = None

    def items(self) -> dict[str, str | None]:
        """Return the column of each item beside the score, None where it is not asked."""
        return {name: getattr(self, name) for name in WIDE_ITEMS}


class Source(_Frozen):
    """One kind of file of the site, mapped onto one contract."""

    contract: str
    files: tuple[str, ...] = Key(min_length=1)
    fields: dict[str, FieldMap]
    wide: dict[str, WideColumn] = Key(default_factory=dict)
    ignore: tuple[str, ...] = ()
    sheet: str | None = None
    encoding: str | None = None
    delimiter: str | None = None
    decimal: str | None = None
    thousands: str | None = None
    missing: tuple[str, ...] | None = None
    date_format: str | None = None
    datetime_format: str | None = None
    month_format: str | None = None
    time_zone: str | None = None

    @field_validator("fields", mode="before")
    @classmethod
    def _short_form(cls, given: Any) -> Any:
        if not isinstance(given, dict):
            return given
        return {name: {"column": one} if isinstance(one, str) else one for name, one in given.items()}

    @model_validator(mode="after")
    def _fits_contract(self) -> Self:
        if self.contract not in CONTRACTS:
            raise ValueError(f"contract {self.contract!r} is not one of {', '.join(CONTRACTS)}")
        if self.wide and self.contract != "surveys":
            raise ValueError("wide is for contract surveys only")
        check_fields(CONTRACTS[self.contract], self.fields, wide=bool(self.wide))
        return self

    @property
    def agreed(self) -> Contract:
        """The contract the source is mapped onto."""
        return CONTRACTS[self.contract]

    def columns(self) -> tuple[str, ...]:
        """Return the site's columns that are read, without repeats.

        Returns
        -------
        tuple of str
            In order of first use.
        """
        used: dict[str, None] = {}
        for one in self.fields.values():
            for name in (one.column, one.unit_column):
                if name is not None:
                    used[name] = None
        for name, item in self.wide.items():
            used[name] = None
            used |= {column: None for column in item.items().values() if column is not None}
        return tuple(used)


class Profile(_Frozen):
    """All sources of one site with its conventions."""

    profile: str
    time_zone: str = "UTC"
    encoding: str = "utf-8"
    delimiter: str = ","
    decimal: str = "."
    thousands: str = ""
    missing: tuple[str, ...] = ("",)
    date_format: str = "iso"
    datetime_format: str = "iso"
    month_format: str = "iso"
    codes: dict[str, tuple[str, ...]] = Key(default_factory=dict)
    sources: dict[str, Source] = Key(min_length=1)

    @model_validator(mode="after")
    def _conventions_hold(self) -> Self:
        for name in self.sources:
            self.conventions(name)
        return self

    def conventions(self, source: str) -> Conventions:
        """Return the conventions of a source: its own where given, else the profile's.

        Parameters
        ----------
        source : str
            Name of a source.

        Returns
        -------
        Conventions
            Checked encoding, delimiter, signs, formats and time zone.
        """
        own = self.sources[source]
        return Conventions(
            **{
                name: getattr(self, name) if getattr(own, name) is None else getattr(own, name)
                for name in Conventions.model_fields
            }
        )

    def sources_for(self, file_name: str, only: str | None = None) -> tuple[str, ...]:
        """Return the sources a file feeds, in load order of their contracts.

        Parameters
        ----------
        file_name : str
            Name of the file, without its folder.
        only : str or None
            Consider this source only, whatever the file is called.

        Returns
        -------
        tuple of str
            Names of sources; empty where none matches.
        """
        order = list(CONTRACTS)
        matching = [
            name
            for name, source in self.sources.items()
            if (name == only if only else any(fnmatchcase(file_name, glob) for glob in source.files))
        ]
        return tuple(sorted(matching, key=lambda name: order.index(self.sources[name].contract)))


def load_profile(path: Path) -> Profile:
    """Read and check a profile.

    Parameters
    ----------
    path : Path
        A TOML file in the format described above.

    Returns
    -------
    Profile
        The profile.

    Raises
    ------
    EvenhandError
        If the file is missing, is not TOML, or a key is unknown, missing or out of bounds; the message
        names the key.
    """
    try:
        return Profile.model_validate(tomllib.loads(path.read_text(encoding="utf-8")))
    except OSError as error:
        raise EvenhandError(
            f"The profile cannot be read: {error.strerror}",
            str(path),
            "Name an existing profile.",
            "E_PROFILE",
        ) from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise EvenhandError(
            f"Not a TOML file: {error}", str(path), "Correct the place named.", "E_PROFILE"
        ) from error
    except ValidationError as error:
        first = error.errors()[0]
        key = ".".join(str(part) for part in first["loc"]) or "profile"
        why = first["msg"].removeprefix("Value error, ").replace("\n", " ")
        raise EvenhandError(
            f"Key {key}: {why}", str(path), "Correct or remove that key; see etl/profile.py.", "E_PROFILE"
        ) from error
