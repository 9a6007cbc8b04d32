"""`clew run set`: change a setting during a run."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from clew.cli.options import Quantity, as_json, mill_folder, options_named
from clew.cli.output import print_json
from clew.cli.run.recording import RUN_OPTIONS, by_and_at, open_line
from clew.faults import BadInput, Fault
from clew.quantities import MASS, SPEED, TEMPERATURE

if TYPE_CHECKING:
    from clew.ledger.events.message import Message
    from clew.ledger.state.known import Run


@click.command(name="set")
@click.option(
    "--winder", "winders", multiple=True, metavar="N=COUNTS", help="Counts a winder is now set to."
)
@click.option("--target", "target_g", type=Quantity(MASS), default=None, help="Mass aimed at.")
@click.option("--turns", type=click.IntRange(1), default=None, help="Flyer turns in a ball.")
@click.option("--feed", "feed_m_per_s", type=Quantity(SPEED), default=None, help="Feed speed.")
@click.option("--belt", "belt_m_per_s", type=Quantity(SPEED), default=None, help="Belt speed.")
@click.option("--steam", "steam_c", type=Quantity(TEMPERATURE), default=None, help="Steam.")
@click.option("--dryer", "dryer_c", type=Quantity(TEMPERATURE), default=None, help="Dryer air.")
@click.option("--why", required=True, help="Why, in a few words.")
@by_and_at
@click.option("--line", "line_name", default="", help="Line; the only one when left out.")
@mill_folder
@as_json
def setting(
    winders: tuple[str, ...],
    target_g: float | None,
    turns: int | None,
    feed_m_per_s: float | None,
    belt_m_per_s: float | None,
    steam_c: float | None,
    dryer_c: float | None,
    why: str,
    author: str,
    at: str,
    line_name: str,
    mill_folder: Path,
    as_json: bool,
) -> None:
    """Record a setting that was changed during the run in progress.

    A new target moves the call-out limits by the same share.
    """
    from clew.cli.run.recording import SOURCE, new_key
    from clew.ledger.runs.setting import SetQuestion, set_message

    given = {
        "target_g": target_g, "turns": turns, "feed_m_per_s": feed_m_per_s,
        "belt_m_per_s": belt_m_per_s, "steam_c": steam_c, "dryer_c": dryer_c,
    }  # fmt: skip
    counts = _counts(winders)
    with open_line(mill_folder, line_name) as line:
        running = line.running
        with options_named(RUN_OPTIONS):
            message = set_message(
                line.line,
                SetQuestion(
                    line.moment(at), author, SOURCE, new_key(), why, counts,
                    {name: float(value) for name, value in given.items() if value is not None},
                ),
                running,
            )  # fmt: skip
        assert running is not None
        seq = line.keep(message)
    if as_json:
        print_json(_plain(message, seq))
    else:
        for words in changed_words(message, running):
            click.echo(words)


def _counts(winders: tuple[str, ...]) -> dict[int, float]:
    found: dict[int, float] = {}
    faults = []
    for text in winders:
        winder, equals, counts = (part.strip() for part in text.partition("="))
        try:
            if not equals or int(winder) in found:
                raise ValueError
            found[int(winder)] = float(counts)
        except ValueError:
            faults.append(
                Fault("no winder with its counts", "such as 4=985, each winder once",
                      key="--winder", value=repr(text[:40]))
            )  # fmt: skip
    if faults:
        raise BadInput(faults)
    return found


def _plain(message: Message, seq: int) -> dict[str, Any]:
    from clew.ledger.events.moments import show_utc

    return {
        "run": message.run, "line": message.line, "seq": seq, "at": show_utc(message.at_us),
        "by": message.author, **message.body,
    }  # fmt: skip


_SHOWN = {
    "target_g": ("target", "g", 1.0), "turns": ("turns", "", 1.0),
    "call_low_g": ("call the lead below", "g", 1.0), "call_high_g": ("above", "g", 1.0),
    "feed_m_per_s": ("feed", "m/min", 60.0), "belt_m_per_s": ("belt", "m/min", 60.0),
    "steam_c": ("steam", "°C", 1.0), "dryer_c": ("dryer", "°C", 1.0),
}  # fmt: skip


def changed_words(message: Message, before: Run) -> list[str]:
    """Say what changed, with what it was."""
    found = [f"{message.run}:"]
    for winder, counts in message.body.get("counts", {}).items():
        was = before.counts.get(winder)
        found.append(f"  winder {winder}: {counts:g} counts" + _was(was, 1.0))
    for name, (words, unit, scale) in _SHOWN.items():
        if name in message.body:
            value = f"{message.body[name] * scale:.5g} {unit}".strip()
            found.append(f"  {words}: {value}" + _was(getattr(before, name), scale))
    return found


def _was(value: float | None, scale: float) -> str:
    return "" if value is None else f", was {value * scale:.5g}"
