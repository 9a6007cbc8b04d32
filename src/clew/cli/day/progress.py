"""How a played day is shown while it runs: a bar on a terminal, a line a step elsewhere."""

from __future__ import annotations

import signal
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import click

Tell = Callable[[float, str], None]


@contextmanager
def day_progress() -> Iterator[Tell]:
    """Show on standard error how much of a day is played.

    Yields
    ------
    callable
        Told how much is done [1], and what is done now.
    """
    if sys.stderr.isatty():
        with _bar() as told:
            yield told
        return
    said = ""

    def lines(done: float, words: str) -> None:
        nonlocal said
        if words != said:
            said = words
            click.echo(f"{100.0 * done:3.0f} %  {words}", err=True)

    yield lines


@contextmanager
def _bar() -> Iterator[Tell]:
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn, TimeElapsedColumn

    with Progress(
        BarColumn(),
        TaskProgressColumn(),
        TimeElapsedColumn(),
        TextColumn("{task.description}"),
        console=Console(stderr=True),
        transient=True,
    ) as bar:
        task = bar.add_task("", total=1.0)

        def told(done: float, words: str) -> None:
            bar.update(task, completed=done, description=words)

        yield told


@contextmanager
def ctrl_c_between_steps(tell: Tell) -> Iterator[Tell]:
    """Let Ctrl-C stop a day only where a step is told: compiled code bears no interruption.

    Parameters
    ----------
    tell : callable
        Told of each step.

    Yields
    ------
    callable
        The same; it raises `KeyboardInterrupt` where Ctrl-C came since the step before.
    """
    if threading.current_thread() is not threading.main_thread():
        yield tell
        return
    before, heard = signal.getsignal(signal.SIGINT), False

    def hear(_number: int, _frame: object) -> None:
        nonlocal heard
        heard = True

    def told(done: float, words: str) -> None:
        # anew each time: the solver of the plan takes Ctrl-C for itself and does not give it back
        signal.signal(signal.SIGINT, hear)
        if heard:
            raise KeyboardInterrupt
        tell(done, words)

    try:
        yield told
    finally:
        signal.signal(signal.SIGINT, before)
