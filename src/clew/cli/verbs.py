"""A noun whose verbs are imported only when they are used: `clew weigh --help` needs none."""

from __future__ import annotations

import importlib
from collections.abc import Mapping
from typing import Any

import click


class Verbs(click.Group):
    """A group of commands, one file a verb.

    Parameters
    ----------
    table : mapping of str to (str, str, str)
        Verb, and the module that holds it, its name there, and its line of help.
    """

    def __init__(self, table: Mapping[str, tuple[str, str, str]], **terms: Any) -> None:
        super().__init__(**terms)
        self.table = table

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Name the verbs in the order of the work."""
        return list(self.table)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import a verb's module and hand over its command."""
        if cmd_name not in self.table:
            return None
        module, name, _ = self.table[cmd_name]
        command = getattr(importlib.import_module(module), name)
        assert isinstance(command, click.Command)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the verbs from the table, without importing any."""
        with formatter.section("Commands"):
            formatter.write_dl([(verb, words) for verb, (_, _, words) in self.table.items()])
