"""`clew lot trace`: from a band back to the cones, from a cone or dye lot on to balls and cases."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from clew.cli.options import as_json, mill_folder
from clew.cli.output import print_json, write_whole
from clew.faults import BadInput, Fault

if TYPE_CHECKING:
    from clew.ledger.trace.answer import BackTrace, ForwardTrace
    from clew.ledger.trace.pallets import PalletTrace
    from clew.ledger.trace.tracing import Tracing
    from clew.mill.model import Mill


@click.command()
@click.argument("code", nargs=-1)
@click.option("--lot", "lot_name", default="", help="Dye lot, where no code is given.")
@click.option("--line", "line_name", default="", help="Line; the only one when left out.")
@click.option("--winder", type=click.IntRange(1, 999), help="Winder that wound the ball.")
@click.option("--at", "at", default="", metavar="TIME", help="When its band was put on, mill time.")
@click.option("--ball", type=click.IntRange(0), help="Number of the ball on its --winder.")
@click.option("--token", default="", help="Token of the ball, or its tray.")
@click.option("--case", "case_name", default="", help="A case, back to its balls and cones.")
@click.option("--pallet", default="", help="A pallet, back to its cases, each as --case.")
@click.option("--cone", default="", help="A cone, on to every ball and case.")
@click.option("--dye-lot", default="", help="A dye lot, on to every ball and case.")
@click.option("--epcis", type=click.Path(path_type=Path), help="Write EPCIS 2.0 events, JSON-LD.")
@click.option("--prefix", default="", help="GS1 company prefix, for GS1 keys in the events.")
@click.option("--gtin", default="", help="GTIN of the ball, for the same.")
@click.option("--gln", default="", help="GLN of the mill, for the same.")
@click.option("--keys", "form", type=click.Choice(["urn", "link"]), default="urn",
              help="GS1 keys as URN or as web links.")  # fmt: skip
@click.option("--site", default="", help="Web address under which your own names stand.")
@mill_folder
@as_json
def trace(
    code: tuple[str, ...],
    lot_name: str,
    line_name: str,
    winder: int | None,
    at: str,
    ball: int | None,
    token: str,
    case_name: str,
    pallet: str,
    cone: str,
    dye_lot: str,
    epcis: Path | None,
    prefix: str,
    gtin: str,
    gln: str,
    form: str,
    site: str,
    mill_folder: Path,
    as_json: bool,
) -> None:
    """Trace a ball back, or a cone or dye lot on.

    CODE is what the band says, such as SL-207 L1 W4 251125-1432; a blank in a line's name is
    written as _ there. Exit code 0: found; 1: no ball is found.
    """
    from clew.cli.ledger.mill_ledger import opened
    from clew.ledger.trace.tracing import Tracing

    asked = {
        "CODE": bool(code), "--winder": winder is not None, "--token": bool(token),
        "--case": bool(case_name), "--pallet": bool(pallet), "--cone": bool(cone),
        "--dye-lot": bool(dye_lot),
    }  # fmt: skip
    if sum(asked.values()) != 1:
        raise BadInput(Fault("nothing, or several things, to trace", f"one of {', '.join(asked)}"))
    with opened(mill_folder) as (mill, ledger):
        tracing = Tracing(mill, ledger)
        found: BackTrace | ForwardTrace | PalletTrace
        if pallet:
            from clew.ledger.trace.pallets import back_from_pallet

            found = back_from_pallet(tracing, pallet)
        elif cone or dye_lot:
            found = _forward(tracing, cone, dye_lot)
        else:
            found = _back(
                tracing, mill, " ".join(code), lot_name, line_name, winder, at, ball, token,
                case_name,
            )  # fmt: skip
        if epcis is not None:
            _write_epcis(tracing, found, epcis, prefix, gtin, gln, form, site)
    if as_json:
        print_json({**_plain(found), "epcis": None if epcis is None else str(epcis)})
    else:
        _tell(found, mill.mill.time_zone)
        if epcis is not None:
            click.echo(f"wrote {epcis}")
    if not (found.cases if pallet else getattr(found, "balls", ())):
        raise SystemExit(1)


def _plain(found: BackTrace | ForwardTrace | PalletTrace) -> dict[str, Any]:
    from clew.ledger.trace.answer import BackTrace, ForwardTrace
    from clew.ledger.trace.plain import plain_back, plain_forward, plain_pallet

    if isinstance(found, BackTrace):
        return plain_back(found)
    return plain_forward(found) if isinstance(found, ForwardTrace) else plain_pallet(found)


def _forward(tracing: Tracing, cone: str, dye_lot: str) -> ForwardTrace:
    from clew.ledger.trace.forwards import forward_from_cone, forward_from_lot

    return forward_from_cone(tracing, cone) if cone else forward_from_lot(tracing, dye_lot)


def _back(
    tracing: Tracing,
    mill: Mill,
    code: str,
    lot: str,
    line_name: str,
    winder: int | None,
    at: str,
    ball: int | None,
    token: str,
    case_name: str,
) -> BackTrace:
    from clew.ledger.events.moments import read_moment
    from clew.ledger.trace.backwards import (
        back_from_ball,
        back_from_band,
        back_from_case,
        back_from_token,
    )
    from clew.ledger.trace.band_code import BandCode, read_band_code, spans_of

    zone = mill.mill.time_zone
    upto_us = read_moment(at, zone).at_us if at and not code else None
    if token:
        return back_from_token(tracing, token, upto_us=upto_us)
    if case_name:
        return back_from_case(tracing, case_name)
    if code:
        names = tuple(one.name for one in mill.line)
        return back_from_band(tracing, read_band_code(code, zone, lines=names))
    line = mill.find_line(line_name)
    assert winder is not None
    if ball is not None:
        lane = tracing.lane_of(line, winder)
        return back_from_ball(tracing, line.name, lane, ball, upto_us=upto_us)
    if not at:
        raise BadInput(Fault("no time of the band", "such as 2025-11-25 14:32", key="--at"))
    return back_from_band(tracing, BandCode(lot, line.name, winder, spans_of(at, zone)))


def _write_epcis(
    tracing: Tracing,
    found: BackTrace | ForwardTrace | PalletTrace,
    path: Path,
    prefix: str,
    gtin: str,
    gln: str,
    form: str,
    site: str,
) -> None:
    from clew.ledger.store.ledger import now_us
    from clew.ledger.trace.epcis import SITE, Keys
    from clew.ledger.trace.export import epcis_file
    from clew.ledger.trace.pallets import PalletTrace
    from clew.mill.gs1_keys import company_prefix_of

    if isinstance(found, PalletTrace):
        raise BadInput(Fault("not for a whole pallet", "--case, case by case", key="--epcis"))
    if prefix:
        company_prefix_of(prefix)
    keys = Keys(prefix, gtin, gln, "link" if form == "link" else "urn", site or SITE)
    write_whole(path, epcis_file(tracing, found, keys, made_us=now_us()))


def _tell(found: Any, zone: str) -> None:
    from clew.cli.lot.trace_words import back_words, forward_words, pallet_words
    from clew.ledger.trace.answer import BackTrace, ForwardTrace

    if isinstance(found, BackTrace):
        words = back_words(found, zone)
    elif isinstance(found, ForwardTrace):
        words = forward_words(found, zone)
    else:
        words = pallet_words(found, zone)
    for line in words:
        click.echo(line)
