"""The `clew` command: one file a noun, loaded only when that noun is used."""

from __future__ import annotations

import importlib
from typing import Any

import click

NOUNS: dict[str, tuple[str, str]] = {
    "mill": ("clew.cli.mill", "The mill file: make one, check it, show it, carry it over."),
    "yarn": ("clew.cli.yarn", "What the yarn is: count, plies, moisture, bulk, class."),
    "ball": ("clew.cli.ball", "What a ball is: turns, build, first balls, run card."),
    "knots": (
        "clew.cli.knots",
        "Knots: where they come from, how many land in a ball, what fewer cost.",
    ),
    "line": ("clew.cli.line", "The line: steam and dryer, limits of speed, machines and hands."),
    "weigh": (
        "clew.cli.weigh",
        "Weights and lengths: charts, what varies, corrections, the scale, the target.",
    ),
    "plan": ("clew.cli.plan", "Before the shift: materials, colour order, packing, cost."),
    "run": ("clew.cli.run", "A run: start it, change its settings, watch it, end it."),
    "lot": ("clew.cli.lot", "A lot: test its net content, sample it, release it, trace it."),
    "ship": ("clew.cli.ship", "After the shift: bands, labels, cases, pallets, delivery notes."),
    "ledger": (
        "clew.cli.ledger",
        "The ledger: take events in, prove nothing was changed, keep it safe.",
    ),
    "demo": ("clew.cli.demo", "Make the demo mill and do the main job on it."),
    "serve": ("clew.cli.serve", "Open the workbench in a browser on this machine."),
}
"""Every noun with the module that holds it and its line of help: help needs no import."""


class Nouns(click.Group):
    """A group whose commands are imported when called for, and whose faults are plain lines."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Name the nouns in the order of the work."""
        return list(NOUNS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import a noun's module and hand over its command."""
        if cmd_name not in NOUNS:
            return None
        command = getattr(importlib.import_module(NOUNS[cmd_name][0]), cmd_name)
        assert isinstance(command, click.Command)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the nouns from the table, without importing any."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, words) for name, (_, words) in NOUNS.items()])

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command; bad input becomes one line a fault on standard error and exit code 2."""
        try:
            return super().invoke(ctx)
        except Exception as error:
            from clew.faults import BadInput, Fault

            if isinstance(error, BadInput):
                for fault in error.faults:
                    click.echo(f"clew: {fault}", err=True)
                ctx.exit(2)
            if isinstance(error, OSError) and not isinstance(error, BrokenPipeError):
                name = str(error.filename or "")
                click.echo(f"clew: {Fault(str(error.strerror or error), file=name)}", err=True)
                ctx.exit(2)
            raise


@click.group(cls=Nouns, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="clew", message="clew %(version)s")
@click.option(
    "--language",
    type=click.Choice(["en", "de", "fr", "es"]),
    help="Language of the papers that a command prints.  [default: the mill's own]",
)
@click.pass_context
def main(ctx: click.Context, language: str | None) -> None:
    """Clew, the workbench of a put-up line.

    Quantities are written with their units, in either system: "200 g", "7.05 oz", "330 m",
    "361 yd", "20 %", "400 tex", "2.5 Nm". Add --json for programs.

    Exit codes: 0 done, 1 the answer is no, 2 the input cannot be used.
    """
    if language is not None:
        from clew.cli.options import print_in

        print_in(ctx, language)
