"""What a contract is made of: typed fields, a key and the spans that must run forwards."""

from typing import Literal

from pydantic import BaseModel, ConfigDict

Kind = Literal[
    "code", "codes", "person", "choice", "text", "integer", "mark", "decimal", "boolean", "date", "month",
    "instant", "quantity",
]  # fmt: skip

CODE_PATTERN = r"^[A-Z0-9_-]{1,32}$"
PERSON_PATTERN = r"^[A-Za-z0-9_.:-]{1,64}$"


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Field(_Frozen):
    """One field of a contract.

    Attributes
    ----------
    name : str
        The contract's name of the field; profiles map a site's column onto it.
    kind : str
        How text becomes a value. ``code`` is an upper-case code, ``choice`` a code from a closed list,
        ``codes`` several codes of a closed list separated by ``;``, ``mark`` a whole or half number,
        ``instant`` a date with a time of day, ``month`` the first day of a month, ``quantity`` a number
        with a unit.
    description : str
        One sentence for the person who prepares the export.
    required : bool
        Whether an empty cell sets the row aside.
    column : str
        Column of the person store; the same as `name` where empty.
    minimum, maximum : float or None
        Inclusive bounds, for quantities in `unit`.
    choices : tuple of str
        The closed list. A profile may add its own codes under ``[codes]``.
    refers_to : str
        ``contract.field`` that must already hold the code.
    dimension, unit, store_unit : str
        For quantities: dimension, published unit, and the unit of the store column.
    whole : bool
        For quantities: rounded half-even to a whole number of `store_unit`.
    may_be_future : bool
        Whether a date or month later than today is plausible.
    halves_where : tuple of str
        For marks: a field of the row and the codes of it that have half marks; others have whole ones only.
    default : str or None
        Text that stands for an empty cell or an unmapped field.
    max_length : int
        Longest text accepted.
    """

    name: str
    kind: Kind
    description: str
    required: bool = False
    column: str = ""
    minimum: float | None = None
    maximum: float | None = None
    choices: tuple[str, ...] = ()
    refers_to: str = ""
    dimension: str = ""
    unit: str = ""
    store_unit: str = ""
    whole: bool = False
    may_be_future: bool = False
    halves_where: tuple[str, ...] = ()
    default: str | None = None
    max_length: int = 200

    @property
    def store_column(self) -> str:
        """Column of the person store that holds the field."""
        return self.column or self.name


class Span(_Frozen):
    """Two fields of a row of which the second must not come before the first.

    Attributes
    ----------
    start, end : str
        Field names.
    max_us : int or None
        Longest span accepted, in microseconds; instants only.
    may_be_empty : bool
        Whether both may be equal.
    """

    start: str
    end: str
    max_us: int | None = None
    may_be_empty: bool = True


class Contract(_Frozen):
    """The agreed shape of one kind of source.

    Attributes
    ----------
    name : str
        Name of the contract and of its table in schema ``core``.
    title, description : str
        For people.
    fields : tuple of Field
        In the order of the store table.
    key : tuple of str
        Fields that identify a row.
    spans : tuple of Span
        Pairs of fields in time or size order.
    max_rows : int
        More rows than this refuse the file.
    """

    name: str
    title: str
    description: str
    fields: tuple[Field, ...]
    key: tuple[str, ...]
    spans: tuple[Span, ...] = ()
    max_rows: int = 2_000_000

    def field(self, name: str) -> Field:
        """Return the field called `name`.

        Parameters
        ----------
        name : str
            A field name.

        Returns
        -------
        Field
            The field.

        Raises
        ------
        KeyError
            If the contract has no such field.
        """
        for one in self.fields:
            if one.name == name:
                return one
        raise KeyError(name)
