"""Commands about keys: pseudonyms on the sending side, and a new key for a store that has some."""

import re
from pathlib import Path
from typing import Annotated

import typer

from dashboards.cli_options import HomeOption, home_of
from dashboards.cli_progress import progress_bar, say
from etl.errors import EvenhandError


def pseudonymise(
    file: Annotated[
        Path | None, typer.Argument(help="CSV file with raw identifiers.", metavar="FILE")
    ] = None,
    column: Annotated[
        list[str] | None, typer.Option("--column", help="Header of a column to replace; may be repeated.")
    ] = None,
    key: Annotated[
        Path | None, typer.Option("--key", help="Key file (mode 0400, outside any repository).")
    ] = None,
    to: Annotated[Path | None, typer.Option("--to", help="File to write; it must not exist.")] = None,
    delimiter: Annotated[str, typer.Option("--delimiter", help="Sign between cells; 'tab' for tabs.")] = ",",
    encoding: Annotated[str, typer.Option("--encoding", help="Encoding of the file.")] = "utf-8",
    staff_pattern: Annotated[
        str | None,
        typer.Option("--staff-pattern", help="Regular expression of your staff numbers, refused elsewhere."),
    ] = None,
    new_key: Annotated[
        Path | None, typer.Option("--new-key", help="Only make a key file, then stop.", metavar="KEYFILE")
    ] = None,
    label: Annotated[str, typer.Option("--label", help="Label of a new key.")] = "k1",
    next_key: Annotated[
        Path | None,
        typer.Option(
            "--next-key",
            help="Write the crosswalk from --key to this key for 'evenhand rekey', not a file to load.",
            metavar="KEYFILE",
        ),
    ] = None,
) -> None:
    """Replace staff numbers by keyed pseudonyms, on the machine where the staff numbers live.

    Example: evenhand pseudonymise bouts.csv --column "Staff no" --key ~/keys/k1 --to bouts_to_send.csv

    A new key for everybody, once a year: evenhand pseudonymise all_people.csv --column "Staff no"
    --key ~/keys/k1 --next-key ~/keys/k2 --to crosswalk.csv
    """
    from etl.keys import create_key, read_key

    if new_key is not None:
        made = create_key(new_key, label)
        say(f"Key {made.label} made in {new_key}, fingerprint {made.fingerprint}. Keep a safe copy.")
        return
    if file is None or not column or key is None or to is None:
        raise EvenhandError(
            "FILE, --column, --key and --to are needed",
            "evenhand pseudonymise",
            "See 'evenhand pseudonymise --help'.",
        )
    sign = "\t" if delimiter == "tab" else delimiter
    secret = read_key(key)
    if next_key is not None:
        from etl.crosswalk import write_crosswalk

        made = write_crosswalk(
            file, column, (secret, read_key(next_key)), to, delimiter=sign, encoding=encoding
        )
        say(f"{to}: {len(made.pairs)} persons from key {made.old} to key {made.new}.")
        say("It undoes the change of keys: send it apart from other files, and delete it once applied.")
        return
    from etl.pseudonymise import pseudonymise as rewrite

    try:
        pattern = re.compile(staff_pattern) if staff_pattern else None
    except re.error as error:
        raise EvenhandError(
            f"Not a regular expression: {error}", "--staff-pattern", "Write it as [A-Z][0-9]{5}."
        ) from error
    with progress_bar("Pseudonyms") as progress:
        summary = rewrite(
            file,
            column,
            secret,
            to,
            delimiter=sign,
            encoding=encoding,
            staff_pattern=pattern,
            progress=progress,
        )
    say(str(summary))


def rekey(
    crosswalk: Annotated[
        Path,
        typer.Argument(help="File of 'evenhand pseudonymise --next-key'; deleted once applied."),
    ],
    home: HomeOption = None,
) -> None:
    """Give everybody in the person store the pseudonym of a new key; published numbers and rounding stay.

    Example: evenhand rekey crosswalk.csv
    """
    from etl.rekey import rekey as apply

    with progress_bar("New key") as progress:
        summary = apply(home_of(home), crosswalk, progress=progress)
    say(str(summary))
