"""`clew ball`: turns, build, first balls, run card; one file a verb."""

from __future__ import annotations

import click

from clew.cli.ball.build import build
from clew.cli.ball.card import card
from clew.cli.ball.first import first_balls
from clew.cli.ball.turns import turns


@click.group()
def ball() -> None:
    """What a ball is: turns, build, first balls, run card."""


for verb in (turns, build, first_balls, card):
    ball.add_command(verb)
