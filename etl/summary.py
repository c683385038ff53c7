"""What a load tells the person who ran it. No value of any row is ever in it."""

from dataclasses import dataclass

from etl.reasons import REASONS


@dataclass(frozen=True)
class ReasonCount:
    """Rows set aside for one reason in one column."""

    reason: str
    column: str
    rows: int

    def line(self) -> str:
        """Return the count as a sentence with its remedy.

        Returns
        -------
        str
            One line.
        """
        known = REASONS[self.reason]
        where = f" in {self.column}" if self.column else ""
        rows = "1 row" if self.rows == 1 else f"{self.rows:,} rows"
        return f"{self.reason} {rows}{where}: {known.meaning}. {known.remedy}"


@dataclass(frozen=True)
class FileRecord:
    """What became of one file and contract.

    Attributes
    ----------
    file, source, contract : str
        File name, source of the profile and contract; the last two empty where none was found.
    outcome : str
        ``loaded``, ``already loaded``, ``would load`` or ``refused``.
    rows_in, rows_accepted, rows_set_aside : int
        The first is the sum of the others.
    reasons : tuple of ReasonCount
        Reasons of rows set aside. A row with two defects is counted under both.
    hints : tuple of str
        Unknown codes with near matches.
    message : str
        Why the file was refused, in one line.
    code : str
        Reason code of a refusal.
    notes : tuple of ReasonCount
        Warnings about rows that were accepted.
    seconds : float
        Time taken.
    """

    file: str
    source: str
    contract: str
    outcome: str
    rows_in: int = 0
    rows_accepted: int = 0
    rows_set_aside: int = 0
    reasons: tuple[ReasonCount, ...] = ()
    hints: tuple[str, ...] = ()
    notes: tuple[ReasonCount, ...] = ()
    message: str = ""
    code: str = ""
    seconds: float = 0.0

    def lines(self) -> tuple[str, ...]:
        """Return the record for people.

        Returns
        -------
        tuple of str
            A headline, then one indented line a reason.
        """
        if self.outcome == "refused":
            return (f"refused: {self.message}",)
        if self.outcome == "already loaded":
            return (f"{self.file} ({self.contract}): already loaded, nothing changed",)
        head = (
            f"{self.file} ({self.contract}): {self.outcome}, {self.rows_in:,} rows in ="
            f" {self.rows_accepted:,} accepted + {self.rows_set_aside:,} set aside"
        )
        return (
            head,
            *(f"  {one.line()}" for one in self.reasons),
            *(f"  not known - {one}" for one in self.hints),
            *(f"  {one.line()}" for one in self.notes),
        )


@dataclass(frozen=True)
class LoadSummary:
    """What became of all files of one call, in the order in which they were loaded."""

    files: tuple[FileRecord, ...]
    dry_run: bool = False

    @property
    def rows_in(self) -> int:
        """Rows read from files that were not refused."""
        return sum(one.rows_in for one in self.files)

    @property
    def rows_accepted(self) -> int:
        """Rows now in the person store because of this call."""
        return sum(one.rows_accepted for one in self.files)

    @property
    def rows_set_aside(self) -> int:
        """Rows set aside with a reason."""
        return sum(one.rows_set_aside for one in self.files)

    @property
    def refused(self) -> tuple[FileRecord, ...]:
        """Files of which nothing was loaded."""
        return tuple(one for one in self.files if one.outcome == "refused")

    @property
    def exit_code(self) -> int:
        """0 where no file was refused, else 1."""
        return 1 if self.refused else 0

    def lines(self) -> tuple[str, ...]:
        """Return the summary for people.

        Returns
        -------
        tuple of str
            Lines of each file and a total.
        """
        listed = [line for one in self.files for line in one.lines()]
        did = "Dry run, nothing was kept" if self.dry_run else "Done"
        listed.append(
            f"{did}: {self.rows_in:,} rows in = {self.rows_accepted:,} accepted"
            f" + {self.rows_set_aside:,} set aside; {len(self.refused)} of {len(self.files)} files refused"
        )
        return tuple(listed)

    def reason_lines(self) -> tuple[str, ...]:
        """Return the reasons of all files together, commonest first.

        Returns
        -------
        tuple of str
            One line a reason: how many rows or cells, in how many files, what it means.
        """
        found: dict[str, list[int]] = {}
        for one in self.files:
            for reason in one.reasons:
                found.setdefault(reason.reason, []).append(reason.rows)
        ordered = sorted(found.items(), key=lambda item: (-sum(item[1]), item[0]))
        return tuple(
            f"  {code} {sum(rows):,} times in {len(rows)} places: {REASONS[code].meaning}"
            for code, rows in ordered
        )
