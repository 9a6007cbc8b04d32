"""Printing: tables for people, JSON for programs, and files that are whole or not there."""

from __future__ import annotations

import json
import os
import tempfile
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

import click

from clew.faults import BadInput, Fault


def print_json(plain: Mapping[str, Any]) -> None:
    """Print an object as JSON; NaN never leaves the house."""
    click.echo(json.dumps(plain, indent=2, ensure_ascii=False, allow_nan=False))


def print_rows(rows: Iterable[tuple[str, str]], *, title: str = "") -> None:
    """Print name and value in two columns."""
    listed = list(rows)
    if title:
        click.echo(title)
    width = max((len(name) for name, _ in listed), default=0)
    for name, value in listed:
        click.echo(f"  {name:<{width}}  {value}")


def print_table(head: Sequence[str], rows: Iterable[Sequence[str]], *, title: str = "") -> None:
    """Print a table, first column to the left, the others to the right."""
    from rich.console import Console
    from rich.table import Table

    table = Table(
        title=title or None, title_justify="left", box=None, pad_edge=False, padding=(0, 2, 0, 0)
    )
    for number, name in enumerate(head):
        table.add_column(name, justify="left" if number == 0 else "right", overflow="fold")
    for row in rows:
        table.add_row(*row)
    Console(highlight=False, soft_wrap=False).print(table)


def write_whole(path: Path, content: bytes) -> None:
    """Write a file so that it is there whole or not at all.

    Raises
    ------
    BadInput
        When it cannot be written.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        try:
            with os.fdopen(handle, "wb") as out:
                out.write(content)
                out.flush()
                os.fsync(out.fileno())
            Path(name).chmod(0o644)
            Path(name).replace(path)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
    except OSError as error:
        raise BadInput(
            Fault(
                "cannot be written",
                expected="a folder that can be written to",
                file=str(path),
                value=str(error.strerror),
            )
        ) from None
