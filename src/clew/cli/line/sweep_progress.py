"""How a sweep is shown while it runs, and how it says that it was stopped."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from clew.campaign.sweep import Progress

INTERRUPTED = 130
"""Exit code of a command stopped by Ctrl-C, as shells have it: neither done, nor a no."""


@contextmanager
def sweep_progress(words: str) -> Iterator[Progress | None]:
    """Show a sweep's progress on standard error, where that is a terminal.

    Results go to standard output, so that a bar never mixes with a table or with JSON.

    Parameters
    ----------
    words : str
        What is worked out, in a word or two.

    Yields
    ------
    callable or None
        What to give a sweep as its ``progress``; none where nobody looks.

    Raises
    ------
    click.exceptions.Exit
        With code 130 when the sweep was stopped by Ctrl-C; what was done is said before.
    """
    try:
        if sys.stderr.isatty():
            with _bar(words) as told:
                yield told
        else:
            yield None
    except KeyboardInterrupt as stopped:
        click.echo(f"clew: {str(stopped) or 'stopped'}", err=True)
        raise click.exceptions.Exit(INTERRUPTED) from None


@contextmanager
def _bar(words: str) -> Iterator[Progress]:
    from rich.console import Console
    from rich.progress import (
        BarColumn,
        MofNCompleteColumn,
        Progress,
        TextColumn,
        TimeElapsedColumn,
        TimeRemainingColumn,
    )

    with Progress(
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeElapsedColumn(),
        TimeRemainingColumn(),
        console=Console(stderr=True),
        transient=True,
    ) as bar:
        task = bar.add_task(words, total=None)

        def told(done: int, total: int) -> None:
            bar.update(task, completed=done, total=total)

        yield told
