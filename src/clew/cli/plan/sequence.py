"""`clew plan sequence`: which order runs next, on which line, and what that saves."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from clew.cli.options import Quantity, as_json, checked_mill, mill_folder
from clew.cli.output import print_json, write_whole
from clew.cli.plan.materials import LARGEST_BYTES, orders_from
from clew.cli.plan.out_folder import write_out
from clew.faults import BadInput, Fault
from clew.quantities import TIME

if TYPE_CHECKING:
    from clew.mill.model import Mill
    from clew.plan.orders.answer import Materials
    from clew.plan.orders.asked import OrderAsked
    from clew.plan.sequence.change import LineNow
    from clew.plan.sequence.from_mill import PresentRun
    from clew.plan.sequence.plan import SequencePlan

MOST_WITHIN_S = 3600.0
MOST_SHOWN = 78
"""A longer progress line would break over two rows and stay."""


@dataclass(frozen=True, slots=True)
class MadePlan:
    """A plan with what it was made from.

    Attributes
    ----------
    mill : Mill
        The mill.
    orders : tuple of OrderAsked
        The orders.
    materials : Materials
        What they get from stock.
    plan : SequencePlan
        The sequence of the runs.
    """

    mill: Mill
    orders: tuple[OrderAsked, ...]
    materials: Materials
    plan: SequencePlan

    @property
    def kept(self) -> bool:
        """Whether every order can be made and none ends late."""
        return self.plan.kept and all(order.met for order in self.materials.orders)


@click.command()
@click.argument(
    "orders_csv", metavar="[ORDERS.csv]", required=False, type=click.Path(path_type=Path)
)
@click.option("--now", "now", default="", metavar="'YYYY-MM-DD HH:MM'", help="When it begins; now.")
@click.option(
    "--in-line", "in_line", multiple=True, metavar="'LINE=BALL,LOT[,FREE FROM]'",
    help="What is in a line, and when it is free; else as the ledger has it. Several times.",
)  # fmt: skip
@click.option(
    "--present", "present_csv", type=click.Path(path_type=Path), metavar="PLAN.csv",
    help="The present plan: begun from, its first hours kept.",
)  # fmt: skip
@click.option(
    "--within", "within_s", type=Quantity(TIME), default="10 s", show_default=True,
    help="Time to find the plan in.",
)  # fmt: skip
@click.option("--seed", type=int, default=1, show_default=True, help="Seed of the search.")
@click.option("--csv", "csv_out", type=click.Path(path_type=Path), help="Write the plan there.")
@click.option(
    "--out", "out", type=click.Path(path_type=Path, file_okay=False), metavar="FOLDER",
    help="Write plan, shift plans, pick lists, run cards, bands and labels there.",
)  # fmt: skip
@mill_folder
@as_json
def sequence(
    orders_csv: Path | None,
    now: str,
    in_line: tuple[str, ...],
    present_csv: Path | None,
    within_s: float,
    seed: int,
    csv_out: Path | None,
    out: Path | None,
    mill_folder: Path,
    as_json: bool,
) -> None:
    """Find the order of the runs that wastes least and is least late.

    ORDERS.csv is as for `clew plan materials`; left out, the orders of the mill file are taken. The
    exit code is 1 when an order ends late or cannot be made.
    """
    from clew.plan.orders.plain import plain_unmet
    from clew.plan.sequence.plain import plan_plain
    from clew.plan.sequence.plan_file import plan_csv

    with shown_progress(within_s) as progress:
        made = make_plan(
            mill_folder,
            orders_csv,
            now=now,
            in_line=in_line,
            present_csv=present_csv,
            within_s=within_s,
            seed=seed,
            progress=progress,
        )
        written = None if out is None else write_out(made, out, progress)
    if csv_out is not None:
        write_whole(csv_out, plan_csv(made.plan.timed).encode("utf-8"))
    if as_json:
        unmet = plain_unmet(made.materials)
        files = [] if written is None else [str(path) for path in written.files]
        left_out = [] if written is None else list(written.left_out)
        print_json({**plan_plain(made.plan), "kept": made.kept, "unmet": unmet,
                    "written": files, "left_out": left_out})  # fmt: skip
    else:
        tell(made)
        if csv_out is not None:
            click.echo(f"wrote {csv_out}")
        if written is not None:
            click.echo(f"wrote {len(written.files)} files into {out}")
            for one in written.left_out:
                click.echo(one)
    if not made.kept:
        raise SystemExit(1)


def make_plan(
    mill_folder: Path,
    orders_csv: Path | None = None,
    *,
    now: str = "",
    in_line: Sequence[str] = (),
    present_csv: Path | None = None,
    within_s: float = 10.0,
    seed: int = 1,
    progress: Callable[[str], None] | None = None,
) -> MadePlan:
    """Read mill, orders and present plan, allot the stock, and find the sequence.

    Parameters
    ----------
    mill_folder : Path
        Folder that holds mill.toml.
    orders_csv : Path, optional
        The orders; those of the mill file where left out.
    now : str
        When the plan begins, by the mill's clock; now where empty.
    in_line : sequence of str
        What is in the lines, each ``LINE=BALL,LOT`` and, behind another comma, when it is free.
    present_csv : Path, optional
        The present plan.
    within_s : float
        Time to find the plan in [s].
    seed : int
        Seed of the chance.
    progress : callable, optional
        Told in words what was reached.

    Returns
    -------
    MadePlan
        Mill, orders, materials, plan.

    Raises
    ------
    BadInput
        For anything that cannot be read or used, each with its place.
    """
    from clew.plan.orders.materials import materials_for
    from clew.plan.sequence.plan import sequence_plan

    if not 0.0 < within_s <= MOST_WITHIN_S:
        expected = f"above 0, up to {MOST_WITHIN_S:g} s"
        raise BadInput(
            Fault("no time to plan in", expected, key="--within", value=f"{within_s:g} s")
        )
    began = time.monotonic()
    mill = checked_mill(mill_folder)
    moment = _moment(now, mill, "--now")
    lines_now = {**lines_kept(mill_folder, mill), **lines_said(in_line, mill)}
    orders = orders_from(mill, orders_csv)
    present = None if present_csv is None else present_from(present_csv, mill)
    materials = materials_for(mill, orders, seed=seed)
    plan = sequence_plan(
        mill,
        materials.runs,
        now=moment,
        lines_now=lines_now,
        present=present,
        within_s=within_s,
        spent_s=time.monotonic() - began,
        seed=seed,
        progress=progress,
    )
    return MadePlan(mill, orders, materials, plan)


@contextmanager
def shown_progress(within_s: float) -> Iterator[Callable[[str], None] | None]:
    """Show one changing line on standard error while a plan is found, where that is a terminal.

    Parameters
    ----------
    within_s : float
        Time the search has [s].

    Yields
    ------
    callable or None
        What to give `make_plan`; none where nobody looks.
    """
    if not sys.stderr.isatty():
        yield None
        return
    began = time.monotonic()

    def told(said: str) -> None:
        gone = time.monotonic() - began
        words = f"planning, {gone:.0f} of {within_s:.0f} s: {said}"
        click.echo(f"\r\x1b[K{words[:MOST_SHOWN]}", err=True, nl=False)

    try:
        told("reading the mill")
        yield told
    finally:
        click.echo("\r\x1b[K", err=True, nl=False)


def tell(made: MadePlan) -> None:
    """Print a plan: words first, then each line's runs, then the money."""
    from clew.plan.orders.words import unmet_words
    from clew.plan.sequence.words import change_words, wait_words

    plan = made.plan
    for words in plan.words:
        click.echo(words)
    for order in made.materials.orders:
        if not order.met:
            for words in unmet_words(order):
                click.echo(words)
    for (name, runs), calendar in zip(plan.by_line().items(), plan.terms.calendars, strict=True):
        if not runs:
            continue
        click.echo(f"\n{name}")
        for place, one in enumerate(runs, 1):
            run, change = one.run, one.change
            early, late = (calendar.working_min(end) for end in (one.end_early, one.end_late))
            click.echo(
                f"  {place:>2}  {run.name}: {run.balls} {run.ball_name} in {run.colour_name} "
                f"{run.lot_name}\n"
                f"      {one.start:%a %d %b %H:%M} to {one.end:%a %d %b %H:%M} "
                f"±{(late - early) / 2.0:.0f} min, due {run.due:%a %d %b}"
                + (", kept where it is" if one.frozen else "")
            )
            lost = f", {change.waste_kg:.1f} kg thrown away" if change.waste_kg >= 0.05 else ""
            lost += f", {change.second_balls:.0f} mixed balls" if change.second_balls else ""
            stood = f", {change.stand_s / 60.0:.0f} min standing" if change.stand_s >= 60.0 else ""
            if one.wait_s:
                click.echo(f"      {name} {wait_words(one)}: {one.wait_cost:.2f} {plan.currency}")
            click.echo(
                f"      before it {change_words(one)}{stood}{lost}: "
                f"{change.cost:.2f} {plan.currency}"
            )
    click.echo(
        f"\nFrom {plan.now:%Y-%m-%d %H:%M}, found within {plan.within_s:g} s, seed "
        f"{plan.answer.seed}. Ends on average; 95 times of 100 within what stands behind ±, in "
        "working time."
    )


def _moment(text: str, mill: Mill, key: str) -> datetime:
    from zoneinfo import ZoneInfo

    zone = ZoneInfo(mill.mill.time_zone)
    if not text.strip():
        return datetime.now(zone).replace(second=0, microsecond=0)
    try:
        moment = datetime.fromisoformat(text.strip())
        if not 2000 <= moment.year <= 2199:
            raise ValueError
    except ValueError:
        expected = "such as '2026-11-30 06:00'"
        raise BadInput(Fault("no moment", expected, key=key, value=repr(text))) from None
    return moment.astimezone(zone) if moment.tzinfo else moment.replace(tzinfo=zone)


def lines_kept(mill_folder: Path, mill: Mill) -> dict[str, LineNow]:
    """What the ledger says stands on the lines; nothing where there is none to ask."""
    from clew.ledger.store.opening import open_ledger, url_of
    from clew.ledger.store.trouble import CannotKeep

    beside = mill_folder if mill_folder.is_dir() else mill_folder.parent
    try:
        ledger = open_ledger(url_of(beside, mill.ledger.database), make=False)
    except (BadInput, CannotKeep):
        return {}
    from clew.ledger.runs.now import lines_now

    try:
        return lines_now(ledger, mill)
    except CannotKeep:
        return {}
    finally:
        ledger.close()


def lines_said(said: Sequence[str], mill: Mill) -> dict[str, LineNow]:
    """Read what is in the lines, each ``LINE=BALL,LOT[,FREE FROM]``; raises `BadInput`."""
    from clew.plan.sequence.change import LineNow

    found: dict[str, LineNow] = {}
    faults: list[Fault] = []
    for text in said:
        line, _, what = text.partition("=")
        parts = [part.strip() for part in what.split(",")]
        if not line.strip() or len(parts) not in (2, 3) or not all(parts):
            expected = "such as 'Line 1=Querl 100,SL-207' or with ',2026-11-30 07:30' behind it"
            faults.append(
                Fault("not what is in a line", expected, key="--in-line", value=repr(text))
            )
            continue
        try:
            name = mill.find_line(line).name
            if name in found:
                faults.append(Fault("a line twice", "each once", key="--in-line", value=name))
            until = _moment(parts[2], mill, "--in-line") if len(parts) == 3 else None
            ball, lot = mill.find_ball(parts[0]), mill.find_dye_lot(parts[1])[1]
            found[name] = LineNow(ball.name, lot.lot, until)
        except BadInput as bad:
            faults += [
                Fault(one.what, one.expected, key="--in-line", value=one.value)
                for one in bad.faults
            ]
    if faults:
        raise BadInput(faults)
    return found


def present_from(path: Path, mill: Mill) -> tuple[PresentRun, ...]:
    """Read the present plan off a CSV file; raises `BadInput`."""
    from clew.plan.sequence.plan_file import present_from_csv

    file = str(path)
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise BadInput(Fault("too large a file", "at most 5 MB", file))
        text = path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as error:
        where = f"byte {error.start}"
        raise BadInput(Fault("not UTF-8 text", "CSV in UTF-8", file, value=where)) from None
    except (OSError, ValueError) as error:
        reason = (error.strerror if isinstance(error, OSError) else None) or "not a name"
        raise BadInput(Fault("cannot be read", "a CSV file", file, value=reason)) from None
    return present_from_csv(text, mill, file=file)
