"""`clew lot recall`: every ball and case a cone or dye lot may be in, as a list to act on."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from clew.cli.options import as_json, mill_folder
from clew.cli.output import print_json, write_whole
from clew.faults import BadInput, Fault

if TYPE_CHECKING:
    from clew.ledger.store.ledger import Ledger
    from clew.ledger.trace.recall import RecallList
    from clew.mill.model import Mill

MOST = 20
"""Lines that are shown."""


@click.command()
@click.option("--cone", default="", help="A cone to recall.")
@click.option("--dye-lot", default="", help="A dye lot to recall.")
@click.option("--csv", "csv_path", type=click.Path(path_type=Path), help="Write it as a table.")
@click.option("--pdf", "pdf_path", type=click.Path(path_type=Path), help="Print it as a PDF.")
@click.option("--by", "author", default="", help="Who makes the list; stands on it.")
@click.option(
    "--do",
    "words",
    multiple=True,
    metavar="WORDS",
    help="What to do with the list, in the mill's own words, a line each time.",
)
@mill_folder
@as_json
def recall(
    cone: str,
    dye_lot: str,
    csv_path: Path | None,
    pdf_path: Path | None,
    author: str,
    words: tuple[str, ...],
    mill_folder: Path,
    as_json: bool,
) -> None:
    """List every case and ball that a cone or dye lot is or may be in, and where it is now.

    Exit code 0: there is something to fetch back; 1: nothing is found, and no file is written.
    """
    from clew.cli.ledger.mill_ledger import opened
    from clew.ledger.trace.forwards import forward_from_cone, forward_from_lot
    from clew.ledger.trace.plain import plain_recall
    from clew.ledger.trace.recall import recall_csv, recall_list
    from clew.ledger.trace.tracing import Tracing
    from clew.papers.recall_list_content import recall_sentence

    if bool(cone) == bool(dye_lot):
        raise BadInput(Fault("nothing, or two things, to recall", "one of --cone, --dye-lot"))
    with opened(mill_folder) as (mill, ledger):
        tracing = Tracing(mill, ledger)
        trace = forward_from_cone(tracing, cone) if cone else forward_from_lot(tracing, dye_lot)
        found = recall_list(trace, mill.mill.time_zone)
        wrote: list[Path] = []
        if found.rows and csv_path is not None:
            write_whole(csv_path, recall_csv(found))
            wrote.append(csv_path)
        if found.rows and pdf_path is not None:
            write_whole(pdf_path, _pdf(found, mill, ledger, author, words))
            wrote.append(pdf_path)
    if as_json:
        print_json({**plain_recall(found), "wrote": [str(one) for one in wrote]})
    elif not found.rows:
        click.echo(f"Nothing to fetch back of {found.asked}: no record says that it was wound.")
    else:
        click.echo(f"Recall of {found.asked}. {recall_sentence(found)}")
        for row in found.rows[:MOST]:
            sure = "sure" if row.sure else "possible"
            click.echo(f"  {row.name}: {sure}, {row.where}; {row.why}")
        if len(found.rows) > MOST:
            click.echo(f"  and {len(found.rows) - MOST} more lines; --csv and --pdf have all")
        for line in found.missing:
            click.echo(f"Mind: {line}.")
        for path in wrote:
            click.echo(f"wrote {path}")
    if not found.rows:
        raise SystemExit(1)


def _pdf(
    found: RecallList, mill: Mill, ledger: Ledger, author: str, words: tuple[str, ...]
) -> bytes:
    from clew.ledger.audit.anchors import anchor_at
    from clew.ledger.store.reading import head_of, lines_of
    from clew.papers.printing import made_now, pdf_of
    from clew.papers.recall_list_content import recall_content

    anchors = []
    for line in lines_of(ledger):
        seq, digest = head_of(ledger, line)
        if seq:
            anchors.append(anchor_at(line, seq, digest).text())
    content = recall_content(
        found, mill_name=mill.mill.name, author=author, anchors=anchors, words=words,
        paper=mill.mill.paper,
    )  # fmt: skip
    made = made_now(mill.mill.time_zone)
    return pdf_of(content, made=made)
