"""`clew lot release`: the decision on a lot, and its certificate."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from clew.cli.lot.in_ledger import anchor_of, kept_decision
from clew.cli.options import Quantity, as_json, checked_mill, mill_folder
from clew.cli.output import print_json, write_whole
from clew.faults import BadInput, Fault
from clew.quantities import GAIN

if TYPE_CHECKING:
    from clew.checks.attributes.inspection import Inspection
    from clew.checks.release.lot import LotAnswer
    from clew.mill.model import Mill
    from clew.mill.net_content import Tables
    from clew.papers.certificate_content import CertificateContent

_WHOLE = re.compile(r"[0-9]{1,7}")
_COLUMNS = (
    "lot", "cone", "winder", "ball", "mass_g", "gross_g", "tare_g", "length_m", "regain_frac",
    "tension_cn",
)  # fmt: skip


@click.command()
@click.argument("data", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--ball", "ball_name", required=True, help="Ball of the mill file that was wound.")
@click.option("--lot", "lot_name", default="", help="Dye lot; only its rows are taken.")
@click.option("--lot-size", type=int, required=True, help="Balls in the lot.")
@click.option("--rule", "rules", multiple=True, help="Rule set; the ball's own when left out.")
@click.option(
    "--found",
    "found",
    multiple=True,
    metavar="FAULT=N,BAD",
    help='Looked for in N balls, found in BAD: "knots=109,1".',
)
@click.option(
    "--shade", type=click.Path(path_type=Path), help="Readings: lot, cone, lightness, a, b."
)
@click.option(
    "--draw", type=int, default=None, metavar="SEED", help="Draw the sample from a longer DATA."
)
@click.option("--drawn-how", default="", help="How the sample was drawn; for the certificate.")
@click.option("--drawn-by", default="", help="Who drew it.")
@click.option("--drawn-when", default="", help="When.")
@click.option("--order", "order_number", default="", help="Order the lot is for.")
@click.option("--line", "line_name", default="", help="Line; the only one when left out.")
@click.option("--regain", type=Quantity(GAIN), help="Regain at weighing, where the file has none.")
@click.option(
    "--accept-unconfirmed",
    "accepted_by",
    default="",
    metavar="NAME",
    help="Who takes a table on them that was not checked against its source.",
)
@click.option("--out", type=click.Path(path_type=Path), help="Write the certificate, a PDF.")
@click.option(
    "--keep",
    "kept_by",
    default="",
    metavar="NAME",
    help="Keep the decision in the ledger, as NAME's.",
)
@mill_folder
@as_json
def release(
    data: Path,
    ball_name: str,
    lot_name: str,
    lot_size: int,
    rules: tuple[str, ...],
    found: tuple[str, ...],
    shade: Path | None,
    draw: int | None,
    drawn_how: str,
    drawn_by: str,
    drawn_when: str,
    order_number: str,
    line_name: str,
    regain: float | None,
    accepted_by: str,
    out: Path | None,
    kept_by: str,
    mill_folder: Path,
    as_json: bool,
) -> None:
    """Decide on a lot: release, hold or rework.

    DATA has a row a ball of the sample, in the order drawn. Exit code 0: release; 1: hold or
    rework, and the answer says what would release it.
    """
    from clew.checks.release.lot import LotQuestion, lot_answer
    from clew.checks.weighings import drawn, of_lot
    from clew.ledger.intake.weighings import read_weighings
    from clew.mill.net_content import read_tables
    from clew.papers.certificate_content import certificate_content
    from clew.papers.certificate_facts import lot_facts

    mill, tables = checked_mill(mill_folder), read_tables(mill_folder)
    weighings = read_weighings(data, need=("mass_g",), only=_COLUMNS)
    if lot_name and "lot" in weighings.factors:
        weighings = of_lot(weighings, lot_name)
    if draw is not None:
        if not 0 <= draw < 2**32:
            raise BadInput(Fault("not a seed", "0 to 4294967295", key="--draw", value=str(draw)))
        drawn_how = drawn_how or (
            f"at random from {weighings.rows} balls weighed, seed {draw} of the order"
        )
        weighings = drawn(weighings, draw)
    shades: list[Any] = []
    if shade is not None:
        from clew.ledger.intake.shades import read_shades

        if not lot_name:
            raise BadInput(Fault("no dye lot is named", "--lot NAME", key="--shade"))
        shades = list(read_shades(shade))
    question = LotQuestion(
        ball_name, lot_name, lot_size, weighings, rules, _inspections(found), tuple(shades),
        regain, accepted_by,
    )  # fmt: skip
    answer = lot_answer(mill, question, tables)
    files = [(path.name, _sha256(path)) for path in (data, shade) if path is not None]
    facts = lot_facts(
        mill, question, line_name=line_name, order_number=order_number, drawn_how=drawn_how,
        drawn_by=drawn_by, drawn_when=drawn_when, files=files, tables=tables,
    )  # fmt: skip
    paper = certificate_content(
        answer.decision, answer.verdicts, facts, paper=mill.mill.paper,
        anchor=anchor_of(mill, mill_folder, facts.line),
    )  # fmt: skip
    if out is not None:
        _write(paper, mill, out)
    kept = None
    if kept_by:
        decided = (facts.dye_lot, answer.decision.word, paper.hash, kept_by)
        kept = kept_decision(mill, mill_folder, *decided)
    if as_json:
        kept_plain = {} if kept is None else {"kept": kept.outcome, "record": kept.seq}
        print_json(_plain(answer, paper, tables, out) | kept_plain)
    else:
        _tell(paper, answer, out, by_seed=draw is not None)
        if kept is not None:
            again = " before" if kept.outcome == "already" else ""
            click.echo(f"Kept{again} in the ledger, record {kept.seq} of the mill.")
    if answer.decision.word != "release":
        raise SystemExit(1)


def _inspections(found: tuple[str, ...]) -> tuple[Inspection, ...]:
    from clew.checks.attributes.inspection import FAULTS, Inspection

    read = []
    for text in found:
        name, _, numbers = text.partition("=")
        parts = [part.strip() for part in numbers.split(",")]
        if not name.strip() or len(parts) != 2 or not all(map(_WHOLE.fullmatch, parts)):
            raise BadInput(
                Fault(
                    "not a fault with its balls",
                    'name=balls looked at,balls at fault, such as "knots=109,1"',
                    key="--found",
                    value=repr(text[:60]),
                )
            )
        known = name.strip().casefold()
        fault = known if known in FAULTS else name.strip()
        read.append(Inspection(fault, int(parts[0]), int(parts[1])))
    return tuple(read)


def _sha256(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _write(paper: CertificateContent, mill: Mill, out: Path) -> None:
    from clew.papers.printing import made_now, pdf_of

    made = made_now(mill.mill.time_zone)
    write_whole(out, pdf_of(paper, made=made))


def _plain(
    answer: LotAnswer, paper: CertificateContent, tables: Tables, out: Path | None
) -> dict[str, Any]:
    from clew.checks.packages.verdict_plain import plain_verdict
    from clew.checks.release.decision_plain import plain_decision

    return {
        **plain_decision(answer.decision),
        "hash": paper.hash,
        "pdf": None if out is None else str(out),
        "fault_plan": {
            "drawn": answer.fault_plan.stages[0].drawn,
            "accept": answer.fault_plan.stages[0].accept,
        },
        "verdicts": [plain_verdict(verdict, tables) for verdict in answer.verdicts],
    }


def _tell(paper: CertificateContent, answer: LotAnswer, out: Path | None, *, by_seed: bool) -> None:
    from clew.checks.packages.rule import OFFICE
    from clew.checks.packages.verdict import ORDER

    click.echo(f"{paper.word}. {paper.sentence}")
    for line in paper.reasons:
        click.echo(f"  {line}")
    if paper.mends:
        click.echo("What would release it:")
        for line in paper.mends:
            click.echo(f"  {line}")
        if all(one.subject != "fault" for one in answer.decision.findings):
            click.echo(f"  For each fault: {answer.fault_plan.words}")
    click.echo("What was looked at:")
    for one in paper.findings:
        click.echo(f"  {one.title}: {one.answer}")
        for words in one.words:
            click.echo(f"    {words}")
    minded = [one for verdict in answer.verdicts for one in verdict.cautions if one != OFFICE]
    if by_seed:  # the order is a random one: this command made it
        minded = [one for one in minded if not one.endswith(ORDER)]
    elif any(one.endswith(ORDER) for one in minded):
        minded.append("a file in the order of time is no such drawing; --draw SEED makes one")
    if minded:
        click.echo("Mind:")
        for line in dict.fromkeys(minded):
            click.echo(f"  {line[0].upper()}{line[1:].rstrip('.')}.")
    click.echo(paper.deferral)
    click.echo(f"Content, sha256 {paper.hash}.")
    if out is not None:
        click.echo(f"wrote {out}")
