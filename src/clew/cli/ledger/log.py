"""`clew ledger log`: what was recorded, in words or for programs."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from clew.cli.ledger.mill_ledger import chain_named, opened
from clew.cli.ledger.moments import day_or_moment
from clew.cli.options import as_json, mill_folder
from clew.cli.output import print_json
from clew.faults import BadInput, Fault

if TYPE_CHECKING:
    from sqlalchemy import ColumnElement

    from clew.ledger.events.message import Record
    from clew.ledger.store.ledger import Ledger
    from clew.mill.model import Mill

_UNITS = {"_m_per_s": " m/s", "_g": " g", "_m": " m", "_c": " °C"}
"""Ends of a field's name, and the unit that each says."""


@click.command()
@click.option("--line", "lines", multiple=True, help='Line; "(mill)" for the mill\'s own chain.')
@click.option("--kind", "kinds", multiple=True, help='Kind of event, such as "doff".')
@click.option("--lane", type=click.IntRange(0), default=None, help="Lane; 0: the whole line.")
@click.option("--from", "from_", default="", metavar="MOMENT", help="A day or a moment, mill time.")
@click.option("--upto", default="", metavar="MOMENT", help="A day or a moment, mill time.")
@click.option("--run", "run_name", default="", metavar="NAME", help="What names this run.")
@click.option("--cone", default="", metavar="NAME", help="What names this cone.")
@click.option("--lot", default="", metavar="NAME", help="What names this dye lot.")
@click.option("--package", default="", metavar="NAME", help="What names this case or pallet.")
@click.option("--token", default="", metavar="NAME", help="What names this ball's token or tray.")
@click.option("--latest", type=click.IntRange(1), default=None, help="Only the latest so many.")
@mill_folder
@as_json
def log(
    lines: tuple[str, ...],
    kinds: tuple[str, ...],
    lane: int | None,
    from_: str,
    upto: str,
    run_name: str,
    cone: str,
    lot: str,
    package: str,
    token: str,
    latest: int | None,
    mill_folder: Path,
    as_json: bool,
) -> None:
    """Print what was recorded, in the order in which it happened, a record a line.

    Times are those of the mill's clock.
    """
    from clew.ledger.events.kinds import KINDS

    for kind in kinds:
        if kind not in KINDS:
            raise BadInput(
                Fault("no such kind", "one of " + ", ".join(KINDS), key="--kind", value=kind)
            )
    named = {"run": run_name, "cone": cone, "lot": lot, "package": package, "token": token}
    with opened(mill_folder) as (mill, ledger):
        zone = mill.mill.time_zone
        wanted = _wanted(
            tuple(_chain(one, mill, ledger) for one in lines), kinds, lane, named,
            day_or_moment(from_, zone, "--from") if from_ else None,
            day_or_moment(upto, zone, "--upto", end=True) if upto else None,
        )  # fmt: skip
        records = _records(ledger, wanted, latest)
        if as_json:
            print_json({"zone": zone, "records": [_plain(one, zone) for one in records]})
            return
        none = True
        for one in records:
            none = False
            click.echo(record_words(one, zone))
    if none:
        click.echo("Nothing of the kind was recorded.")


def _chain(name: str, mill: Mill, ledger: Ledger) -> str:
    """Read the name of a chain, so that a slip is not taken for a line without records."""
    from clew.ledger.store.reading import lines_of

    chain = chain_named(name)
    there = dict.fromkeys([*(one.name for one in mill.line), *filter(None, lines_of(ledger))])
    if chain and chain not in there:
        expected = f'one of {", ".join(there)}, or "(mill)"'
        raise BadInput(Fault("no such line", expected, key="--line", value=name))
    return chain


def _wanted(
    lines: tuple[str, ...],
    kinds: tuple[str, ...],
    lane: int | None,
    named: dict[str, str],
    from_us: int | None,
    upto_us: int | None,
) -> list[ColumnElement[bool]]:
    from clew.ledger.store.schema import EVENT

    column = EVENT.c
    wanted: list[ColumnElement[bool]] = []
    if lines:
        wanted.append(column.line.in_(lines))
    if kinds:
        wanted.append(column.kind.in_(kinds))
    if lane is not None:
        wanted.append(column.lane == lane)
    for name, value in named.items():
        if value:  # the second condition is what the index over filled rows asks for
            wanted += [column[name] == value, column[name] != ""]
    if from_us is not None:
        wanted.append(column.at_us >= from_us)
    if upto_us is not None:
        wanted.append(column.at_us <= upto_us)
    return wanted


def _records(
    ledger: Ledger, wanted: list[ColumnElement[bool]], latest: int | None
) -> Iterator[Record]:
    from sqlalchemy import select

    from clew.ledger.store.reading import run
    from clew.ledger.store.schema import EVENT

    order = (EVENT.c.at_us, EVENT.c.line, EVENT.c.seq)
    query = select(EVENT).where(*wanted)
    if latest is None:
        return run(ledger, query.order_by(*order))
    backwards = query.order_by(*(one.desc() for one in order)).limit(latest)
    return iter(list(run(ledger, backwards))[::-1])


def record_words(record: Record, zone: str) -> str:
    """Write one record on a line, by the mill's clock.

    Parameters
    ----------
    record : Record
        The record.
    zone : str
        The mill's time zone.
    """
    from clew.ledger.events.moments import show_local

    place = f"{record.line or 'mill'} {record.seq}"
    where = f"lane {record.lane}" if record.lane else ""
    if record.ball is not None:
        where += f"{', ' if where else ''}ball {record.ball}"
    said = [
        f"{name} {value}"
        for name in ("run", "cone", "lot", "package", "token")
        if (value := getattr(record, name))
    ]
    said += [
        str(value) if name == record.kind else _field_words(name, value)  # a note is its own name
        for name, value in record.fields().items()
    ]
    who = f"by {record.author}" if record.author else f"from {record.source}"
    flags = f" [{', '.join(record.flag_words())}]" if record.flags else ""
    about = f": {'; '.join(said)}" if said else ""
    return " ".join(
        f"{show_local(record.at_us, zone)}  {place}  {where + '  ' if where else ''}"
        f"{record.kind}{about}, {who}{flags}".splitlines()
    )


def _field_words(name: str, value: Any) -> str:
    end = next((one for one in _UNITS if name.endswith(one)), "")
    label = name.removesuffix(end).replace("_", " ")
    if isinstance(value, bool):
        return f"{label} {'yes' if value else 'no'}"
    if isinstance(value, (int, float)):
        return f"{label} {value:g}{_UNITS.get(end, '')}" if abs(value) < 1e5 else f"{label} {value}"
    if isinstance(value, dict):
        inner = ", ".join(f"{key}: {one:g}" for key, one in value.items())
        return f"{label} {inner}"
    if isinstance(value, list):
        return f"{label} {', '.join(str(one) for one in value)}"
    return f"{label} {value}"


def _plain(record: Record, zone: str) -> dict[str, Any]:
    from clew.ledger.events.moments import local_of, show_utc

    return {
        "line": record.line, "seq": record.seq, "kind": record.kind, "at": show_utc(record.at_us),
        "at_local": local_of(record.at_us, zone).isoformat(),
        "received": show_utc(record.received_us), "source": record.source, "key": record.key,
        "author": record.author, "lane": record.lane, "ball": record.ball, "run": record.run,
        "cone": record.cone, "lot": record.lot, "package": record.package, "token": record.token,
        "fields": record.fields(), "flags": list(record.flag_words()), "hash": record.hash.hex(),
    }  # fmt: skip
