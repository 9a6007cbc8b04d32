"""`clew ledger user`: who may sign in to the workbench, and as what."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from clew.cli.ledger.people_terms import (
    author_of,
    done_by,
    opened_ledger,
    password_from,
    read_password,
)
from clew.cli.options import as_json, mill_folder
from clew.cli.output import print_json, print_table

if TYPE_CHECKING:
    from clew.ledger.people.people import Person

_ROLES = ("hand", "lead", "quality", "office")


@click.group()
def user() -> None:
    """Who may sign in, and as what: hand, lead, quality or office.

    Every change is itself recorded. What a person may do follows from their role; see the manual,
    "Who may do what".
    """


@user.command()
@click.argument("name")
@click.option("--role", type=click.Choice(_ROLES), required=True, help="What they may do.")
@password_from
@done_by
@mill_folder
@as_json
def add(
    name: str, role: str, password_file: Path | None, author: str, mill_folder: Path,
    as_json: bool,
) -> None:  # fmt: skip
    """Let NAME sign in. The password is asked for twice and not shown."""
    from clew.ledger.people.people import add_person, read_role

    with opened_ledger(mill_folder) as ledger:
        password = read_password(password_file)
        by = author_of(author)
        _print(add_person(ledger, name, read_role(role), password, author=by), as_json)


@user.command()
@click.argument("name")
@click.argument("new_role", metavar="ROLE", type=click.Choice(_ROLES))
@done_by
@mill_folder
@as_json
def role(name: str, new_role: str, author: str, mill_folder: Path, as_json: bool) -> None:
    """Give NAME another ROLE; whoever is signed in by that name is signed out."""
    from clew.ledger.people.people import read_role, set_role

    with opened_ledger(mill_folder, make=False) as ledger:
        _print(set_role(ledger, name, read_role(new_role), author=author_of(author)), as_json)


@user.command()
@click.argument("name")
@password_from
@done_by
@mill_folder
@as_json
def password(
    name: str, password_file: Path | None, author: str, mill_folder: Path, as_json: bool
) -> None:
    """Give NAME another password; whoever is signed in by that name is signed out."""
    from clew.ledger.people.people import person_of, set_password

    with opened_ledger(mill_folder, make=False) as ledger:
        person_of(ledger, name)
        new = read_password(password_file)
        _print(set_password(ledger, name, new, author=author_of(author)), as_json)


@user.command()
@click.argument("name")
@done_by
@mill_folder
@as_json
def end(name: str, author: str, mill_folder: Path, as_json: bool) -> None:
    """Let NAME sign in no more. What they entered stays theirs."""
    from clew.ledger.people.people import end_person

    with opened_ledger(mill_folder, make=False) as ledger:
        _print(end_person(ledger, name, author=author_of(author)), as_json)


@user.command("list")
@click.option("--all", "ended", is_flag=True, help="Those who may sign in no more, too.")
@mill_folder
@as_json
def list_(ended: bool, mill_folder: Path, as_json: bool) -> None:
    """Say who may sign in, and as what."""
    from clew.ledger.people.people import people_of

    with opened_ledger(mill_folder, make=False) as ledger:
        found = people_of(ledger, ended=ended)
    if as_json:
        print_json({"users": [plain_person(one) for one in found]})
    elif not found:
        click.echo("Nobody may sign in yet; clew ledger user add NAME --role lead lets somebody.")
    else:
        print_table(
            ("name", "role", "since", "until"),
            [(one.name, one.role, _day(one.made_us), _day(one.ended_us)) for one in found],
        )


def plain_person(person: Person) -> dict[str, Any]:
    """Make a person plain for programs; the password's hash is not among it."""
    from clew.ledger.events.moments import show_utc

    return {
        "name": person.name,
        "role": person.role,
        "made": show_utc(person.made_us),
        "changed": show_utc(person.changed_us),
        "ended": None if person.ended_us is None else show_utc(person.ended_us),
    }


def _day(at_us: int | None) -> str:
    from clew.ledger.events.moments import show_utc

    return "" if at_us is None else show_utc(at_us)[:10]


def _print(person: Person, as_json: bool) -> None:
    if as_json:
        print_json(plain_person(person))
    elif person.ended_us is not None:
        click.echo(f"{person.name} may sign in no more.")
    else:
        click.echo(f"{person.name} may sign in as {person.role}.")
