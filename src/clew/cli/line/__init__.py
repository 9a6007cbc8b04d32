"""`clew line`: a shift, steam and dryer, limits of speed, machines and hands; one file a verb."""

from __future__ import annotations

import click

from clew.cli.line.crew import crew
from clew.cli.line.heat import heat
from clew.cli.line.interference import interference
from clew.cli.line.limits import limits
from clew.cli.line.simulate import simulate
from clew.cli.line.sweep import sweep
from clew.cli.line.where import where


@click.group()
def line() -> None:
    """The line: a shift of it, steam and dryer, what limits its speed, how many hands it wants."""


for verb in (simulate, crew, sweep, where, heat, limits, interference):
    line.add_command(verb)
