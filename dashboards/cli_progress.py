"""Progress and messages on the terminal, kept apart from the commands."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager

import typer

Progress = Callable[[str, int, int], None]


@contextmanager
def progress_bar() -> Iterator[Progress]:
    """Show one bar a label while a long step runs.

    Yields
    ------
    Callable[[str, int, int], None]
        Call it with a label, the steps done and the steps in all.
    """
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, TextColumn, TimeElapsedColumn
    from rich.progress import Progress as RichProgress

    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn())
    with RichProgress(*columns, console=Console(stderr=True)) as bars:
        tasks: dict[str, int] = {}

        def report(label: str, done: int, total: int) -> None:
            if label not in tasks:
                tasks[label] = bars.add_task(label, total=total)
            bars.update(tasks[label], completed=done, total=total)  # type: ignore[arg-type]

        yield report


def say(line: str) -> None:
    """Print one line of a command's answer to standard output.

    Parameters
    ----------
    line : str
        The text.
    """
    typer.echo(line)
