"""`clew ship labels`: bands, case labels and pallet labels as sheets at true size."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from clew.cli.options import as_json, ball_argument, checked_mill, mill_folder
from clew.cli.output import print_json, write_whole
from clew.faults import BadInput, Fault

if TYPE_CHECKING:
    from clew.checks.band.finding import BandFinding
    from clew.mill.balls import Ball
    from clew.mill.model import Mill
    from clew.papers.labels.case_label import CaseLabel
    from clew.papers.labels.pallet_label import PalletLabel

_PDF = click.Path(path_type=Path)
_MOST_LABELS = 500


@click.command()
@ball_argument
@click.option("--lot", "lot_name", required=True, help="Dye lot, as the mill file names it.")
@click.option("--bands", type=_PDF, help="PDF of bands to write.")
@click.option("--copies", type=int, default=1, show_default=True, help="How many bands.")
@click.option("--cases", type=_PDF, help="PDF of case labels to write.")
@click.option("--case-count", type=int, default=1, show_default=True, help="How many cases.")
@click.option("--pallet", type=_PDF, help="PDF of a pallet label to write, two copies.")
@click.option(
    "--first", type=int, default=1, show_default=True, help="Number of the first case, and pallet."
)
@click.option("--order", default="", help="The customer's order number.")
@click.option("--customer", default="", help="Whom it is for.")
@click.option("--anyway", is_flag=True, help="Write the files though the law is not kept.")
@mill_folder
@as_json
def labels(
    ball_name: str,
    lot_name: str,
    bands: Path | None,
    copies: int,
    cases: Path | None,
    case_count: int,
    pallet: Path | None,
    first: int,
    order: str,
    customer: str,
    anyway: bool,
    mill_folder: Path,
    as_json: bool,
) -> None:
    """Say whether a ball's band may be printed so, and print bands and labels at true size.

    Exit 1 where a law of the chosen markets is not kept: then nothing is written, unless told
    --anyway. The pallet is of --case-count cases; its number is --first, under the mill's GS1
    company prefix.
    """
    from clew.checks.band.findings import judged
    from clew.checks.band.text import band_of

    mill = checked_mill(mill_folder)
    ball = mill.find_ball(ball_name)
    band = band_of(mill, ball.name, lot_name)
    findings = judged(mill, ball.name, lot_name)
    _checked_counts(case_count, first)
    _checked_words(order, customer)
    broken = [one for one in findings if one.breaks_law]
    files: dict[Path, bytes] = {}
    if not broken or anyway:
        files = _papers(mill, ball, band.lot_name, bands, copies, cases, case_count, pallet, first,
                        order, customer)  # fmt: skip
        for path, content in files.items():
            write_whole(path, content)
    asked = any(one is not None for one in (bands, cases, pallet))
    if as_json:
        print_json(
            {"ball": ball.name, "lot": band.lot_name, "colour": band.colour_name,
             "markets": list(band.markets), "lines": list(band.lines),
             "figure_height_mm": band.figure_mm, "e_mark": band.e_mark,
             "lawful": not broken, "findings": [_plain(one) for one in findings],
             "files": [str(path) for path in files]}
        )  # fmt: skip
    else:
        _say(findings, broken, band.lines)
        for path in files:
            click.echo(f"wrote {path}")
        if broken and asked and not anyway:
            click.echo("Nothing is written. With --anyway it is.")
    if broken:
        raise SystemExit(1)


def _checked_counts(case_count: int, first: int) -> None:
    if not 1 <= case_count <= _MOST_LABELS:
        raise BadInput(
            Fault("no number of cases", f"1 to {_MOST_LABELS}", key="--case-count",
                  value=str(case_count))
        )  # fmt: skip
    if not 0 <= first < 10_000_000:
        raise BadInput(Fault("no first number", "0 to 9999999", key="--first", value=str(first)))


def _checked_words(order: str, customer: str) -> None:
    """See that what goes on a label is one short line each."""
    for key, text, most in (("--order", order, 30), ("--customer", customer, 60)):
        if len(text) > most or not text.isprintable():
            raise BadInput(
                Fault("no line of a label", f"at most {most} characters", key=key,
                      value=repr(text[:40]))
            )  # fmt: skip


def _say(
    findings: tuple[BandFinding, ...], broken: list[BandFinding], lines: tuple[str, ...]
) -> None:
    short = [one for one in findings if one.passed is False and not one.law]
    if broken:
        titles = ", ".join(one.title for one in broken)
        click.echo(f"This band may not be printed so: {titles}.")
    else:
        click.echo("This band may be printed: nothing the law of its markets asks for is missing.")
    if short:
        click.echo(f"Buyers will miss: {', '.join(one.title.casefold() for one in short)}.")
    click.echo("Your weights-and-measures office decides; this is a reading of the rules.")
    click.echo("")
    for one in findings:
        answer = {True: "yes", False: "NO", None: "-"}[one.passed]
        click.echo(f"  {answer:<4}{one.title}: {one.words}")
        if one.passed is False:
            click.echo(f"      asked by {one.source} [{one.mark}]")
    click.echo("")
    click.echo("It reads:")
    for line in lines:
        click.echo(f"  {line}")


def _plain(one: BandFinding) -> dict[str, object]:
    return {
        "key": one.key,
        "title": one.title,
        "passed": one.passed,
        "law": one.law,
        "words": one.words,
        "source": one.source,
        "mark": one.mark,
    }


def _papers(
    mill: Mill,
    ball: Ball,
    lot: str,
    bands: Path | None,
    copies: int,
    cases: Path | None,
    case_count: int,
    pallet: Path | None,
    first: int,
    order: str,
    customer: str,
) -> dict[Path, bytes]:
    """Make every file that was asked for, before any is written."""
    from clew.checks.band.text import band_of
    from clew.papers.labels.bands import bands_pdf
    from clew.papers.labels.case_label import case_labels_pdf
    from clew.papers.labels.pallet_label import pallet_labels_pdf
    from clew.papers.printing import made_now

    made = made_now(mill.mill.time_zone)
    paper, footer = mill.mill.paper, mill.mill.name
    files: dict[Path, bytes] = {}
    if bands is not None:
        band = band_of(mill, ball.name, lot)
        files[bands] = bands_pdf(band, copies, made=made, paper=paper, footer=footer)
    if cases is not None:
        several = [
            case_label_of(mill, ball, lot, number, order, customer)
            for number in range(first, first + case_count)
        ]
        files[cases] = case_labels_pdf(several, made=made, paper=paper, footer=footer)
    if pallet is not None:
        one = _pallet(mill, ball, lot, first, case_count, order, customer)
        files[pallet] = pallet_labels_pdf([one], made=made, paper=paper, footer=footer)
    return files


def case_label_of(
    mill: Mill,
    ball: Ball,
    lot: str,
    number: int,
    order: str,
    customer: str,
    *,
    balls: int | None = None,
) -> CaseLabel:
    """Say what stands on a case before it is closed; full, where no number of balls is said."""
    from clew.ledger.shipping.case import case_gtin_of
    from clew.ledger.shipping.masses import full_case
    from clew.papers.labels.case_label import CaseLabel

    balls = full_case(ball) if balls is None else balls
    colour, _ = mill.find_dye_lot(lot)
    return CaseLabel(
        mill.mill.name, mill.mill.maker or "", ball.name, colour.name, lot, balls,
        balls * ball.declared_mass_g, None, case_gtin_of(ball, balls), f"Case {number}", "", order,
        customer,
    )  # fmt: skip


def _pallet(
    mill: Mill, ball: Ball, lot: str, number: int, case_count: int, order: str, customer: str
) -> PalletLabel:
    from clew.checks.band.gs1 import sscc_for
    from clew.ledger.shipping.masses import full_case
    from clew.papers.labels.pallet_label import PalletLabel

    balls = case_count * full_case(ball)
    prefix = mill.mill.gs1_prefix
    return PalletLabel(
        mill.mill.name, mill.mill.maker or "", f"Pallet {number}",
        sscc_for(prefix, number) if prefix else "", case_count, balls, ball.name, (lot,), None,
        order, customer, "",
    )  # fmt: skip
