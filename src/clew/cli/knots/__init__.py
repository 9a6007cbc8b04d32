"""`clew knots`: rates, law, cones, cutting plan, policy, price of a limit, answer to a buyer."""

from __future__ import annotations

import click

from clew.cli.knots.answer import answer
from clew.cli.knots.cones import cones
from clew.cli.knots.cut import cut
from clew.cli.knots.law import law
from clew.cli.knots.policy import policy
from clew.cli.knots.price import price
from clew.cli.knots.rates import rates


@click.group()
def knots() -> None:
    """Knots: where they come from, how many land in a ball, what fewer would cost."""


for verb in (rates, law, cones, cut, policy, price, answer):
    knots.add_command(verb)
