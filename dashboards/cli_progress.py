"""Progress and messages on the terminal, kept apart from the commands."""

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext

import typer

Progress = Callable[[str, int, int], None]
ProgressBar = Callable[[str], AbstractContextManager[Progress]]


@contextmanager
def progress_bar(phase: str) -> Iterator[Progress]:
    """Show one bar while a long step runs; the step at work is named behind it.

    Parameters
    ----------
    phase : str
        What the command is doing, such as "Loading".

    Yields
    ------
    Callable[[str, int, int], None]
        Call it with the step's name, the steps done and the steps in all.
    """
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, TextColumn, TimeElapsedColumn
    from rich.progress import Progress as RichProgress

    columns = (
        TextColumn("{task.description}"),
        BarColumn(bar_width=24),
        MofNCompleteColumn(),
        TimeElapsedColumn(),
        TextColumn("{task.fields[step]}"),
    )
    with RichProgress(*columns, console=Console(stderr=True)) as bars:
        task = bars.add_task(phase, total=None, step="")

        def report(step: str, done: int, total: int) -> None:
            bars.update(task, completed=done, total=total, step=step)

        yield report
        bars.update(task, step="")


def say(line: str) -> None:
    """Print one line of a command's answer to standard output.

    Parameters
    ----------
    line : str
        The text.
    """
    typer.echo(line)


def no_bar(phase: str) -> AbstractContextManager[Progress]:
    """Stand in for :func:`progress_bar` where nobody watches, as in tests.

    Parameters
    ----------
    phase : str
        Not shown.

    Returns
    -------
    AbstractContextManager
        Yields a callable that ignores what it is told.
    """
    return nullcontext(lambda step, done, total: None)


def with_step_inside(progress: Progress) -> tuple[Progress, Progress]:
    """Let a long step inside a phase tell how far it is without moving the bar of the phase.

    Parameters
    ----------
    progress : Callable[[str, int, int], None]
        The bar of the phase.

    Returns
    -------
    tuple of Callable[[str, int, int], None]
        For the phase, and for the step at work inside it.
    """
    now: tuple[str, int, int] = ("", 0, 0)

    def outer(step: str, done: int, total: int) -> None:
        nonlocal now
        now = step, done, total
        progress(step, done, total)

    def inner(step: str, done: int, total: int) -> None:
        label = f"{now[0]}: audit {done} of {total}, {step}" if done < total else now[0]
        progress(label, now[1], now[2])

    return outer, inner
