"""`clew ledger token`: tokens by which machines send to the workbench, or read from it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from clew.cli.ledger.people_terms import author_of, done_by, opened_ledger
from clew.cli.options import as_json, checked_mill, mill_folder
from clew.cli.output import print_json, print_table

if TYPE_CHECKING:
    from clew.ledger.people.tokens import Token

_SCOPES = ("events:write", "read")


@click.group()
def token() -> None:
    """Tokens of machines: one a machine, shown once, as narrow as it may be.

    A machine sends it with every request: "Authorization: Bearer TOKEN". Every change is itself
    recorded.
    """


@token.command()
@click.argument("name")
@click.option(
    "--scope",
    "scopes",
    type=click.Choice(_SCOPES),
    multiple=True,
    required=True,
    help="What it may do; may be given several times.",
)
@click.option("--line", "line_name", default="", help="The one line it may write to; else any.")
@done_by
@mill_folder
@as_json
def add(
    name: str, scopes: tuple[str, ...], line_name: str, author: str, mill_folder: Path,
    as_json: bool,
) -> None:  # fmt: skip
    """Make a token for the machine NAME. It is shown now and never again."""
    from clew.ledger.people.tokens import add_token

    line = checked_mill(mill_folder).find_line(line_name).name if line_name else ""
    with opened_ledger(mill_folder) as ledger:
        kept, said = add_token(ledger, name, scopes, line=line, author=author_of(author))
    if as_json:
        print_json({**plain_token(kept), "token": said})
        return
    click.echo(
        f"{kept.name}: {_scope_words(kept)}. Shown once; keep it where the machine can read it:"
    )
    click.echo(said)


@token.command()
@click.argument("name")
@done_by
@mill_folder
@as_json
def end(name: str, author: str, mill_folder: Path, as_json: bool) -> None:
    """End the token of NAME: nothing can be sent with it from now on."""
    from clew.ledger.people.tokens import end_token, tokens_of

    with opened_ledger(mill_folder, make=False) as ledger:
        end_token(ledger, name, author=author_of(author))
        (kept,) = (one for one in tokens_of(ledger, ended=True) if one.name == name)
    if as_json:
        print_json(plain_token(kept))
    else:
        click.echo(f"The token of {name} has ended.")


@token.command("list")
@click.option("--all", "ended", is_flag=True, help="Those that have ended, too.")
@mill_folder
@as_json
def list_(ended: bool, mill_folder: Path, as_json: bool) -> None:
    """List tokens by name; what they are is nowhere kept."""
    from clew.ledger.events.moments import show_utc
    from clew.ledger.people.tokens import tokens_of

    with opened_ledger(mill_folder, make=False) as ledger:
        found = tokens_of(ledger, ended=ended)
    if as_json:
        print_json({"tokens": [plain_token(one) for one in found]})
    elif not found:
        click.echo("No machine has a token.")
    else:
        print_table(
            ("name", "may", "since", "made by", "until"),
            [
                (one.name, _scope_words(one), show_utc(one.made_us)[:10], one.made_by,
                 "" if one.ended_us is None else show_utc(one.ended_us)[:10])
                for one in found
            ],
        )  # fmt: skip


def plain_token(kept: Token) -> dict[str, Any]:
    """Make what is kept of a token plain for programs."""
    from clew.ledger.events.moments import show_utc

    return {
        "name": kept.name,
        "scopes": list(kept.scopes),
        "line": kept.line,
        "made": show_utc(kept.made_us),
        "made_by": kept.made_by,
        "ended": None if kept.ended_us is None else show_utc(kept.ended_us),
    }


def _scope_words(kept: Token) -> str:
    return ", ".join(kept.scopes) + (f", line {kept.line} only" if kept.line else "")
