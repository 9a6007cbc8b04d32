"""`clew line limits`: what limits the speed of the line."""

from __future__ import annotations

import math
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from clew.cli.line.heat_terms import heat_terms_options
from clew.cli.options import as_json, checked_mill
from clew.cli.output import print_json, print_table
from clew.faults import BadInput, Fault
from clew.quantities.show import number

if TYPE_CHECKING:
    from clew.line.heat.speed_limits import SpeedLimits
    from clew.line.heat.terms import HeatTerms


@click.command()
@heat_terms_options
@as_json
def limits(
    terms: HeatTerms,
    mill_folder: Path,
    line_name: str,
    ball_name: str,
    lot_name: str,
    as_json: bool,
) -> None:
    """What limits the speed of the line, station by station, slowest first.

    Winders and hands are read off the mill file, so a ball must be named. The belt goes with the
    feed. The hands' limit knows no queue; clew line simulate does. Exit code 1: the line as it is
    run is above a limit.
    """
    from clew.line.heat.from_mill import winding_terms
    from clew.line.heat.heat_plain import plain_limits
    from clew.line.heat.speed_limits import speed_limits

    if not ball_name:
        raise BadInput(
            Fault("no ball", "--ball NAME: winders and hands are the mill's", key="--ball")
        )
    winding = winding_terms(checked_mill(mill_folder), line_name, ball_name, lot_name)
    found = speed_limits(terms, winding)
    if as_json:
        print_json({"line": terms.line_name, "ball": terms.ball_name} | plain_limits(found))
    else:
        _tell(found)
    sys.exit(0 if found.within else 1)


def _tell(found: SpeedLimits) -> None:
    from clew.line.heat.speed_limits import NO_QUEUE

    now, first = 60.0 * found.feed_m_per_s, found.first
    if first.feed_m_per_s == 0.0:
        click.echo(f"No speed will do: the {first.station}: {first.why}.")
    elif math.isinf(first.feed_m_per_s):
        click.echo("Nothing that was stated limits the speed.")
    else:
        most = 60.0 * first.feed_m_per_s
        side = "above" if now > most else "below"
        what = "limit" if first.station == "hands" else "limits"
        click.echo(
            f"The {first.station} {what} the line: {number(most, 3)} m/min of feed. It runs at "
            f"{number(now, 3)} m/min, {number(100 * abs(now / most - 1), 2)} % {side} that."
        )
    if found.feed_m_per_s < found.least_feed_m_per_s:
        click.echo(
            f"Below {number(60 * found.least_feed_m_per_s, 3)} m/min the yarn lies too long in "
            "steam: it runs slower."
        )
    click.echo("")
    print_table(
        ("station", "feed m/min", "now", "why"),
        [
            (
                one.station,
                "no limit" if math.isinf(one.feed_m_per_s) else number(60 * one.feed_m_per_s, 3),
                f"{number(100 * found.feed_m_per_s / one.feed_m_per_s, 3)} %"
                if 0.0 < one.feed_m_per_s < math.inf
                else "-",
                one.why,
            )
            for one in found.limits
        ],
    )
    click.echo(f"Not slower than {number(60 * found.least_feed_m_per_s, 3)} m/min: dwell in steam.")
    click.echo(
        f"The feed as it is asks {number(100 * found.hands_busy_frac, 2)} % of the hands' time at "
        "work."
    )
    click.echo(NO_QUEUE)
    click.echo("The shift knows queues and the buffer: clew line simulate.")
    for station in found.unknown:
        click.echo(f"Not stated: what the {station} allows.")
