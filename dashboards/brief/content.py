"""What a brief is made of; plain text throughout, escaped where it is written out."""

from dataclasses import dataclass, field

from dashboards.labels import print_minus
from dashboards.paper.ink import Drawing


@dataclass(frozen=True)
class Words:
    """A paragraph; ``kind`` is ``text``, ``small`` or ``notice``."""

    text: str
    kind: str = "text"

    def __post_init__(self) -> None:
        print_minus(self, "text")


@dataclass(frozen=True)
class Points:
    """A list of sentences."""

    items: tuple[str, ...]

    def __post_init__(self) -> None:
        print_minus(self, "items")


@dataclass(frozen=True)
class Picture:
    """A figure.

    Attributes
    ----------
    title : str
        What it shows, with the unit.
    drawing : Drawing
        The drawing.
    words : str
        The same in words, for those who do not see it.
    """

    title: str
    drawing: Drawing
    words: str


@dataclass(frozen=True)
class Multiples:
    """Small figures on one scale, side by side.

    Attributes
    ----------
    pictures : tuple of Picture
        The figures.
    captions : tuple of str
        Reading of each.
    """

    pictures: tuple[Picture, ...]
    captions: tuple[str, ...]


@dataclass(frozen=True)
class Grid:
    """A table.

    Attributes
    ----------
    caption : str
        What it shows.
    heads : tuple of str
        Column headings with units.
    rows : tuple of tuple of str
        Printed cells; the first of a row names it.
    widths : tuple of int
        Relative widths of the columns.
    """

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    widths: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        print_minus(self, "caption", "heads", "rows")


Block = Words | Points | Picture | Multiples | Grid


@dataclass(frozen=True)
class Section:
    """A headed part of the brief."""

    title: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True)
class Brief:
    """One month's committee paper.

    Attributes
    ----------
    institute, period : str
        Whose paper, and which month in words.
    edition : str
        Number, month and day of the edition.
    content_hash : str
        Hash of the edition.
    made_at : str
        Time of the edition, ISO 8601, UTC.
    headline, lead : str
        The answer.
    facts : tuple of (str, str, str)
        Name, number, what stands behind it.
    caution : str
        Stands on every page.
    sections : tuple of Section
        The rest.
    """

    institute: str
    period: str
    edition: str
    content_hash: str
    made_at: str
    headline: str
    lead: str
    facts: tuple[tuple[str, str, str], ...]
    caution: str
    sections: tuple[Section, ...] = field(default_factory=tuple)

    @property
    def title(self) -> str:
        """Title of the document."""
        return f"Committee brief, {self.period}"
