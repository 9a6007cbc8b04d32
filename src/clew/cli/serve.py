"""`clew serve`: the workbench, on this machine only."""

from __future__ import annotations

from pathlib import Path

import click

from clew.cli.options import mill_folder


@click.command()
@mill_folder
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=8340,
    show_default=True,
    help="Port; 0 for any that is free.",
)
def serve(mill_folder: Path, port: int) -> None:
    """Open the workbench in a browser on this machine. Ctrl-C stops it."""
    from clew.ball.mill_checks import MILL_CHECKS
    from clew.mill import read_mill
    from clew.web.serve import serve as open_workbench

    read_mill(mill_folder, MILL_CHECKS)
    open_workbench(mill_folder, port=port)
