"""The `clew` command: one file a noun, loaded only when that noun is used."""

from __future__ import annotations

from typing import Any

import click

from clew.cli.verbs import Verbs

NOUNS = {
    "mill": "The mill file: make one, check it, show it, carry it over.",
    "yarn": "What the yarn is: count, plies, moisture, bulk, class.",
    "ball": "What a ball is: turns, build, first balls, run card.",
    "knots": "Knots: where they come from, how many land in a ball, what fewer cost.",
    "line": "The line: steam and dryer, limits of speed, machines and hands.",
    "weigh": "Weights and lengths: charts, what varies, corrections, the scale, the target.",
    "plan": "Before the shift: materials, colour order, packing, cost.",
    "run": "A run: start it, change its settings, watch it, end it.",
    "lot": "A lot: test its net content, sample it, release it, trace it.",
    "ship": "After the shift: bands, labels, cases, pallets, delivery notes.",
    "ledger": "The ledger: take events in, prove nothing was changed, keep it safe.",
    "demo": "Make the demo mill and do the main job on it.",
    "serve": "Open the workbench in a browser on this machine.",
}
"""Every noun with its line of help, its command in a module of its name: help imports none."""


class Nouns(Verbs):
    """A group whose faults are plain lines."""

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


@click.group(
    cls=Nouns,
    table={noun: (f"clew.cli.{noun}", noun, words) for noun, words in NOUNS.items()},
    context_settings={"help_option_names": ["-h", "--help"]},
)
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
