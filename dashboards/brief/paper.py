"""The finished paper of one month, to show in a notebook or to save."""

from dataclasses import dataclass
from pathlib import Path

from dashboards.brief.asof import as_of
from dashboards.brief.compose import compose
from dashboards.brief.content import Brief
from dashboards.brief.to_html import to_html
from dashboards.brief.to_pdf import to_pdf
from dashboards.data import Door
from dashboards.labels import safe
from etl.errors import EvenhandError

FORMS = ("pdf", "html")


@dataclass(frozen=True, repr=False)
class Paper:
    """A brief that shows itself in a notebook.

    Attributes
    ----------
    brief : Brief
        What it says.
    """

    brief: Brief

    def html(self) -> str:
        """Return the paper as one HTML file."""
        return to_html(self.brief)

    def pdf(self) -> bytes:
        """Return the paper as PDF/UA-1."""
        return to_pdf(self.brief)

    def save(self, path: Path | str, form: str = "") -> Path:
        """Write the paper to a file.

        Parameters
        ----------
        path : Path or str
            The file.
        form : str, default ""
            ``pdf`` or ``html``; by default what the name ends with.

        Returns
        -------
        Path
            The file.

        Raises
        ------
        EvenhandError
            If the form is neither.
        """
        target = Path(path)
        form = form or target.suffix.lstrip(".").lower()
        if form not in FORMS:
            raise EvenhandError(f"'{form[:20]}' is no form of the paper", str(target), "Write .pdf or .html.")
        target.write_bytes(self.pdf() if form == "pdf" else self.html().encode())
        return target

    def __repr__(self) -> str:
        return f"{self.brief.title}: {self.brief.edition}"

    def _repr_html_(self) -> str:
        # A frame of its own: the paper's style must not reach the notebook around it.
        return (
            f'<iframe title="{safe(self.brief.title)}" sandbox srcdoc="{safe(self.html())}" '
            'style="width:100%;height:720px;border:1px solid #d3d0c8;background:#fff"></iframe>'
        )


def brief_of(door: Door, period: str) -> Paper:
    """Return the paper of a month.

    Parameters
    ----------
    door : Door
        The open release.
    period : str
        Month, such as ``2026-10``.

    Returns
    -------
    Paper
        The same for the same edition and month.

    Raises
    ------
    EvenhandError
        If the month is not one, or not in the release.
    """
    return Paper(compose(as_of(door, period), period))
