"""`clew mill`: make a mill file, check it, show it, carry it over."""

from __future__ import annotations

from pathlib import Path

import click

from clew.cli.options import as_json, checked_mill, mill_folder
from clew.cli.output import print_json, print_rows, write_whole


@click.group()
def mill() -> None:
    """The mill file: make one, check it, show it, carry it over."""


@mill.command()
@click.argument("folder", type=click.Path(path_type=Path))
def init(folder: Path) -> None:
    """Write the demo mill into FOLDER, to be made into your own."""
    from clew.mill import write_demo

    for path in write_demo(folder):
        click.echo(f"wrote {path}")
    click.echo(f"Next: clew mill check --mill {folder}")


@mill.command()
@mill_folder
@as_json
def check(mill_folder: Path, as_json: bool) -> None:
    """Read the mill file and name everything that is wrong with it."""
    found = checked_mill(mill_folder)
    if as_json:
        print_json({"mill": found.mill.name, "faults": []})
        return
    lines = f"{len(found.line)} line{'s' if len(found.line) > 1 else ''}"
    click.echo(
        f"{found.mill.name}: {len(found.yarn)} yarns, {len(found.ball)} balls, {lines}, "
        f"{len(found.colour)} colours, {len(found.order)} orders. Nothing is wrong with it."
    )


@mill.command()
@mill_folder
@as_json
def show(mill_folder: Path, as_json: bool) -> None:
    """Print the mill whole, in inside units; each name says its unit."""
    from clew.mill import mill_to_plain

    found = checked_mill(mill_folder)
    if as_json:
        print_json(mill_to_plain(found))
        return
    print_rows(_flat("", mill_to_plain(found)))


def _flat(prefix: str, value: object) -> list[tuple[str, str]]:
    """Name every value by its path, for reading and for searching with a text tool."""
    if isinstance(value, dict):
        return [
            row
            for key, inner in value.items()
            for row in _flat(f"{prefix}.{key}" if prefix else key, inner)
        ]
    if isinstance(value, list):
        rows: list[tuple[str, str]] = []
        for number, inner in enumerate(value, 1):
            name = (
                inner.get("name") or inner.get("lot") or inner.get("number")
                if isinstance(inner, dict)
                else None
            )
            rows += _flat(f'{prefix} "{name}"' if name else f"{prefix} {number}", inner)
        return rows
    if value is None:
        return [(prefix, "not given")]
    return [(prefix, f"{value:.6g}" if isinstance(value, float) else str(value))]


@mill.command()
@mill_folder
@click.option(
    "--out", type=click.Path(path_type=Path), help="File to write; standard output when left out."
)
def export(mill_folder: Path, out: Path | None) -> None:
    """Write the mill file as JSON, in the file's own keys and words."""
    from clew.mill import mill_text, text_to_json

    checked_mill(mill_folder)
    text = text_to_json(mill_text(mill_folder))
    if out is None:
        click.echo(text)
        return
    write_whole(out, text.encode())
    click.echo(f"wrote {out}")


@mill.command("import")
@click.argument("file", type=click.Path(path_type=Path))
@click.argument("folder", type=click.Path(path_type=Path))
def import_(file: Path, folder: Path) -> None:
    """Write a mill file from JSON.

    FOLDER/mill.toml from a FILE that `clew mill export` made.
    """
    from clew.ball.mill_checks import MILL_CHECKS
    from clew.faults import BadInput, Fault
    from clew.mill import json_to_text, mill_from_text

    target = folder / "mill.toml"
    if target.exists():
        raise BadInput(
            Fault("is there already", expected="a folder without a mill file", file=str(target))
        )
    try:
        text = json_to_text(file.read_text(encoding="utf-8"))
    except UnicodeDecodeError:
        raise BadInput(Fault("not UTF-8 text", expected="JSON in UTF-8", file=str(file))) from None
    mill_from_text(text, str(file), MILL_CHECKS)
    write_whole(target, text.encode())
    click.echo(f"wrote {target}")
