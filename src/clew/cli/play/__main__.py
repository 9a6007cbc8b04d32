"""`python -m clew.cli.play`: a line that plays a shift, a process of its own."""

from __future__ import annotations

import json
import os
import time
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from clew.cli.play.share import Share

if TYPE_CHECKING:
    from clew.cli.play.player import Standing, Ways
    from clew.cli.play.unruly import Unruly

_SAY_EVERY_S, _SHIFT_EVERY_S = 10.0, 300.0


@click.command()
@click.option("--to", "url", required=True, help="The workbench, such as http://127.0.0.1:8340.")
@click.option("--mqtt", default="", help="A broker for what machines tell, mqtt://host:1883.")
@click.option(
    "--folder", type=click.Path(path_type=Path), help="Watched folder for what the scale tells."
)
@click.option(
    "--mill",
    type=click.Path(path_type=Path),
    help="Folder of a mill with the demo mill's names; the demo mill where left out.",
)
@click.option(
    "--speed",
    type=click.FloatRange(min=1.0),
    default=1.0,
    show_default=True,
    help="Seconds of the shift in a second; above 1 it plays the hours up to now.",
)
@click.option(
    "--minutes", type=click.FloatRange(min=0.1), help="Minutes of the shift to play; all of it."
)
@click.option(
    "--go-on", is_flag=True, help="After --minutes at --speed, go on as fast as the clock."
)
@click.option("--seed", type=click.IntRange(min=0), default=7, show_default=True)
@click.option(
    "--unruly",
    "share",
    type=Share(),
    default="2%",
    show_default=True,
    help="Share of messages late; as many doubled, out of order, lost.",
)
@click.option("--every", type=click.FloatRange(min=0.5), default=10.0, show_default=True,
              help="Seconds between two readings of a counter.")  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="Say at the end what was sent, as JSON.")
def play_shift(
    url: str,
    mqtt: str,
    folder: Path | None,
    mill: Path | None,
    speed: float,
    minutes: float | None,
    go_on: bool,
    seed: int,
    share: float,
    every: float,
    as_json: bool,
) -> None:
    """Play a simulated shift of the demo mill to a workbench, as machines and hands would.

    A token for the workbench is read from the environment, CLEW_TOKEN. Ctrl-C ends it.
    """
    from clew.cli.play.pace import Pace
    from clew.cli.play.player import play
    from clew.cli.play.shift_script import SHIFT_S, shift_script
    from clew.cli.play.unruly import unruly
    from clew.faults import BadInput

    try:
        fast_s = 0.0 if speed == 1.0 else 60.0 * minutes if minutes else SHIFT_S
        pace = Pace(speed, fast_s, go_on)
        start = pace.start(datetime.now(UTC))
        script = shift_script(
            _mill(mill), seed=seed, start=start, minutes=None if go_on else minutes, every_s=every
        )
        spoilt = unruly(script.messages, script.at_s, seed=seed, share=share)
        ways = _ways(url, mqtt, folder, f"{start:%y%m%d%H%M%S}-{seed}")
    except BadInput as bad:
        for fault in bad.faults:
            click.echo(f"clew: {fault}", err=True)
        raise SystemExit(2) from None
    said = _Saying(fast_s if go_on and speed > 1.0 else 0.0)
    told = None
    try:
        for told in play(spoilt.sendings, ways, pace):
            if not as_json:
                said.now(told)
    except KeyboardInterrupt:
        pass
    finally:
        for way in ways.all():
            way.close()
    refused = [why for way in ways.all() for why in way.refused]
    waiting = told.waiting if told else 0
    if as_json:
        click.echo(json.dumps(_summary(spoilt, told, refused)))
    else:
        click.echo(_words(spoilt, told, refused))
    raise SystemExit(1 if refused or waiting else 0)


def _mill(folder: Path | None) -> Any:
    if folder is None:
        return None
    from clew.ball.mill_checks import MILL_CHECKS
    from clew.mill import read_mill

    return read_mill(folder, MILL_CHECKS)


def _ways(url: str, mqtt: str, folder: Path | None, name: str) -> Ways:
    from clew.cli.play.player import Ways
    from clew.cli.play.senders import IntoFolder, OverHttp, OverMqtt

    http = OverHttp(url, token=os.environ.get("CLEW_TOKEN", ""))
    scale = None if folder is None else IntoFolder(folder, f"scale-{name}.csv")
    return Ways(http, OverMqtt(mqtt, name=f"clew-play-{name}") if mqtt else None, scale)


class _Saying:
    """Says now and then how far the play is: seldom where the shift goes as slow as the clock.

    Parameters
    ----------
    catches_up_s : float
        Moment of the shift from which on it goes as the clock does; 0 where there is none [s].
    """

    def __init__(self, catches_up_s: float = 0.0) -> None:
        self.said_s, self.shift_s = float("-inf"), float("-inf")
        self.catches_up_s = catches_up_s

    def now(self, told: Standing) -> None:
        """Say it, if it is time."""
        now_s = time.monotonic()
        if self.catches_up_s and told.shift_s >= self.catches_up_s and not told.waiting:
            self.catches_up_s, self.said_s, self.shift_s = 0.0, now_s, told.shift_s
            click.echo(f"{_line(told)}. From here on the line goes as the clock does.")
        moved_s = told.shift_s - self.shift_s
        if now_s - self.said_s >= _SAY_EVERY_S and (moved_s >= _SHIFT_EVERY_S or told.trouble):
            self.said_s, self.shift_s = now_s, told.shift_s
            click.echo(_line(told))


def _line(told: Standing) -> str:
    hours, minutes = divmod(int(told.shift_s) // 60, 60)
    waits = f", {told.waiting} not acknowledged yet" if told.waiting else ""
    trouble = f" ({told.trouble})" if told.trouble else ""
    sent = f"{told.sent} of {told.of} messages sent"
    return f"{hours} h {minutes:02d} min into the shift: {sent}{waits}{trouble}"


def _summary(spoilt: Unruly, told: Standing | None, refused: list[str]) -> dict[str, Any]:
    counts = spoilt.counts()
    return {
        "sent": told.sent if told else 0,
        "of": len(spoilt.sendings),
        "late": counts["late"],
        "doubled": counts["again"],
        "out_of_order": counts["swapped"],
        "lost": counts["lost"],
        "not_acknowledged": told.waiting if told else 0,
        "refused": refused,
    }


def _words(spoilt: Unruly, told: Standing | None, refused: list[str]) -> str:
    found = _summary(spoilt, told, refused)
    words = (
        f"Sent {found['sent']} of {found['of']}: {found['late']} late, {found['doubled']} doubled, "
        f"{found['out_of_order']} out of order; {found['lost']} were lost on the way."
    )
    if found["not_acknowledged"]:
        words += f" {found['not_acknowledged']} were not acknowledged."
    return "\n".join([words, *(f"refused: {why}" for why in refused[:10])])


if __name__ == "__main__":
    play_shift()
