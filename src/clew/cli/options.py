"""Options that many commands share, and reading a quantity off an option."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from clew.faults import BadInput, Fault
from clew.quantities import FRACTION, GAIN, Kind, read_count, read_quantity

if TYPE_CHECKING:
    from clew.mill.model import Mill

Command = TypeVar("Command", bound=Callable[..., Any])


@contextmanager
def options_named(options: Mapping[str, str]) -> Iterator[None]:
    """Name the option in faults of what options give.

    Parameters
    ----------
    options : mapping of str to str
        By a fault's key: the option it is given with. A fault of another key stays as it is.
    """
    try:
        yield
    except BadInput as bad:
        raise BadInput(
            replace(one, key=options.get(one.key, one.key)) for one in bad.faults
        ) from None


def _placed(fault: Fault, option: str) -> BadInput:
    return BadInput(Fault(fault.what, fault.expected, key=option, value=fault.value))


class Quantity(click.ParamType[float]):
    """A quantity of one kind, written with its unit."""

    def __init__(self, kind: Kind) -> None:
        self.kind = kind
        self.name = "percent" if kind in (FRACTION, GAIN) else kind.name

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """Read the quantity; a fault names the option."""
        if isinstance(value, float):
            return value
        try:
            return read_quantity(value, self.kind)
        except BadInput as bad:
            raise _placed(bad.faults[0], _option_name(param)) from None


class Count(click.ParamType[float]):
    """A yarn count in any system, such as "400 tex" or "2.5 Nm"."""

    name = "count"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """Read the count into tex; a fault names the option."""
        if isinstance(value, float):
            return value
        try:
            return read_count(value)
        except BadInput as bad:
            raise _placed(bad.faults[0], _option_name(param)) from None


def _option_name(param: click.Parameter | None) -> str:
    if param is None:
        return ""
    return param.opts[0] if isinstance(param, click.Option) else (param.name or "").upper()


def ball_argument(command: Command) -> Command:
    """Add ``BALL`` to a command: a ball's name, with or without quotes round its words."""
    return click.argument(
        "ball_name",
        metavar="BALL",
        nargs=-1,
        required=True,
        callback=lambda _context, _parameter, words: " ".join(words),
    )(command)


def as_json(command: Command) -> Command:
    """Add ``--json`` to a command."""
    return click.option("--json", "as_json", is_flag=True, help="Print JSON for programs.")(command)


def mill_folder(command: Command) -> Command:
    """Add ``--mill`` to a command: the folder that holds mill.toml."""
    return click.option(
        "--mill",
        "mill_folder",
        type=click.Path(path_type=Path),
        default=Path(),
        envvar="CLEW_MILL",
        help="Folder that holds mill.toml (or the file itself).",
    )(command)


def in_units(command: Command) -> Command:
    """Add ``--units`` to a command: which system of units tables are printed in."""
    return click.option(
        "--units",
        type=click.Choice(["metric", "yard"]),
        default=None,
        help="Units of printed tables; the mill's own when left out.",
    )(command)


def checked_mill(folder: Path) -> Mill:
    """Read a mill file with every check there is; raises `BadInput` with all faults at once.

    Papers of the command are then printed in the mill's language, unless another was asked for.
    """
    from clew.ball.mill_checks import MILL_CHECKS
    from clew.mill import read_mill

    mill = read_mill(folder, MILL_CHECKS)
    ctx = click.get_current_context(silent=True)
    asked = None if ctx is None else ctx.find_root().params.get("language")
    if ctx is not None and asked is None and mill.mill.language is not None:
        print_in(ctx, mill.mill.language)
    return mill


def print_in(ctx: click.Context, language: str) -> None:
    """Let a command print its papers in a language; what it writes to the terminal stays English.

    Parameters
    ----------
    ctx : click.Context
        The command.
    language : str
        One of `clew.languages.LANGUAGES`.
    """
    from clew.languages import speaking

    ctx.find_root().with_resource(speaking(language))
