"""`clew line`: steam and dryer, what limits the speed, machines and hands; one file a verb."""

from __future__ import annotations

import click

from clew.cli.line_heat import heat
from clew.cli.line_interference import interference
from clew.cli.line_limits import limits


@click.group()
def line() -> None:
    """The line: steam and dryer, what limits its speed, how many hands it wants."""


for verb in (heat, limits, interference):
    line.add_command(verb)
