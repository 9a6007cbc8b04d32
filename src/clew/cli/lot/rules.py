"""`clew lot rules`: the rule sets, and which tables were checked against their source."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from clew.checks.packages.plan import RULE_KEYS
from clew.cli.options import as_json
from clew.cli.output import print_json, print_rows, print_table, write_whole
from clew.faults import BadInput, Fault

if TYPE_CHECKING:
    from clew.checks.packages.rule import Rule
    from clew.mill.net_content import Tables

HOW_TO_CONFIRM = (
    "To confirm a table: clew lot rules --write net_content.toml; compare it with the source; "
    'correct it; fill in confirmed_by = "name, date as 2026-03-31, what it was compared with"; '
    "keep the file beside mill.toml and name the mill with --mill."
)


@click.command()
@click.argument("rule", required=False, type=click.Choice(RULE_KEYS))
@click.option(
    "--mill",
    "mill_folder",
    type=click.Path(path_type=Path),
    default=None,
    envvar="CLEW_MILL",
    help="Folder of the mill, for its own copy of the tables.",
)
@click.option(
    "--write",
    "target",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Write the tables in use to a file, to be corrected.",
)
@as_json
def rules(rule: str | None, mill_folder: Path | None, target: Path | None, as_json: bool) -> None:
    """The rule sets: source, edition, and which tables were checked against it."""
    from clew.checks.packages.rule import OFFICE
    from clew.checks.packages.rule_sets import RULE_SETS, rule_of
    from clew.checks.packages.verdict_plain import plain_rule
    from clew.mill.net_content import read_tables, tables_text

    tables = read_tables(mill_folder)
    if target is not None:
        if target.exists():
            raise BadInput(Fault("there already", "a name that is free", str(target)))
        write_whole(target, tables_text(mill_folder).encode())
        if not as_json:
            click.echo(f"Wrote {target}. Keep it beside mill.toml as net_content.toml.")
    chosen = [rule_of(rule)] if rule else list(RULE_SETS.values())
    if as_json:
        print_json(
            {
                "rules": [plain_rule(one, tables) for one in chosen],
                "tables": {"file": tables.file, "sha256": tables.sha256},
                "how_to_confirm": HOW_TO_CONFIRM,
                "written": str(target) if target else None,
            }
        )
        return
    if target is None:
        if rule:
            _tell_one(chosen[0], tables)
        else:
            _tell_all(chosen, tables)
        click.echo(HOW_TO_CONFIRM)
        click.echo(f"Tables: {tables.file}, sha256 {tables.sha256[:12]}. {OFFICE.capitalize()}.")


def _tell_all(chosen: list[Rule], tables: Tables) -> None:
    rows = []
    for rule in chosen:
        used = [tables[key] for key in rule.tables]
        open_ones = sum(not table.confirmed for table in used)
        off = sum(table.off for table in used)
        state = "all checked" if not open_ones else f"{open_ones} of {len(used)} not checked"
        if off:
            state += f", {off} off"
        rows.append((f"{rule.key}: {rule.title}", " and ".join(rule.covers), state))
    print_table(("rule set", "covers", "tables"), rows)


def _tell_one(rule: Rule, tables: Tables) -> None:
    click.echo(f"{rule.title}: {' and '.join(rule.covers)}. {rule.market}.")
    print_rows(
        [
            ("source", rule.source),
            ("edition", rule.edition),
            ("at a limit", rule.equality),
            ("", "by the text" if rule.equality_by == "text" else "our choice"),
            ("moisture", _MOISTURE[rule.moisture]),
            ("commercial regain", _COMMERCIAL[rule.commercial]),
            ("at packing", rule.at_packing),
            *((mark, what) for what, mark in rule.marks),
        ]
    )
    for key in rule.tables:
        table = tables[key]
        state = f"{table.mark}; " + (
            "checked" if table.confirmed else "not checked with its source"
        )
        if table.confirmed_by:
            state = f"confirmed by {table.confirmed_by}"
        print_rows(
            [
                ("table", f"{table.title} [{table.key}]"),
                ("source", table.source),
                ("edition", table.edition),
                ("state", state + ("; off" if table.off else "")),
                *([("note", table.note)] if table.note else []),
            ],
            title="",
        )
        click.echo("")


_MOISTURE = {
    "entered": "an allowance may be entered, with its source; none by itself",
    "none": "no allowance",
}
_COMMERCIAL = {
    "by text": "asked for by the text: dry mass with the agreed allowance",
    "unverified": "trade practice; in no text of this rule set read here, so never a bare pass",
    "no": "not by this rule set",
}
