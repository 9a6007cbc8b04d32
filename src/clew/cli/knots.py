"""`clew knots`: rates, law, cutting plan; one file a verb."""

from __future__ import annotations

import click

from clew.cli.knots_cut import cut
from clew.cli.knots_law import law
from clew.cli.knots_rates import rates


@click.group()
def knots() -> None:
    """Knots: where they come from, how many land in a ball, where to part the strand."""


for verb in (rates, law, cut):
    knots.add_command(verb)
