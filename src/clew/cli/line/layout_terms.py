"""Options that say which line is simulated: a line of the mill file, and what is tried on it."""

from __future__ import annotations

import functools
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from clew.cli.options import Quantity, checked_mill, mill_folder
from clew.faults import BadInput, Fault
from clew.quantities import LENGTH, SPEED, TIME, Kind

if TYPE_CHECKING:
    from clew.line.layout import Layout

Command = Callable[..., Any]

QUANTITIES: dict[str, tuple[str, Kind, str]] = {
    "--feed": ("feed_m_per_s", SPEED, "Feed, of the strand before steam."),
    "--wind": ("wind_m_per_s", SPEED, "A turning winder, of the strand after steam."),
    "--buffer": ("buffer_m", LENGTH, "Strand after steam at which the belt stops."),
    "--doff": ("doff_s", TIME, "A hand's time for one doff."),
    "--load": ("load_s", TIME, "A hand's time to load one cone and tie it."),
    "--mend": ("mend_s", TIME, "A hand's time for a re-tie at the winder."),
    "--walk": ("walk_m_per_s", SPEED, "A hand's walk."),
    "--cone": ("cone_m", LENGTH, "Mean length on a cone, before steam."),
}
"""Quantities that may be tried; their field in a layout, their kind, their help."""
NUMBERS: dict[str, tuple[str, int, int, str]] = {
    "--lanes": ("lanes", 1, 64, "Lanes side by side."),
    "--hands": ("hands", 1, 16, "Hands who serve them."),
    "--cones": ("cones_per_lane", 1, 64, "Cones a lane's creel holds."),
}
"""Whole numbers that may be tried."""
STEAMED = ("wind_m_per_s", "buffer_m")
"""Fields that people state of strand after steam."""
_OPTION_OF = (
    {field: option for option, (field, *_) in QUANTITIES.items()}
    | {field: option for option, (field, *_) in NUMBERS.items()}
    | {"shift_s": "--shift", "rule": "--rule", "colour_at_s": "--colour-changes"}
    | {"shift": "--shift", "colour changes": "--colour-changes", "hands": "--hands"}
    | {
        "seed": "--seed",
        "replications": "--replications",
        "go_m": "--buffer",
        "loose_m": "--buffer",
    }
)
_UNKNOWN = {"no such line": "--line", "no such ball": "--ball", "no such dye lot": "--lot"}


def layout_options(command: Command) -> Command:
    """Add what describes a line for a shift; the command gets ``layout`` and ``title``."""

    @functools.wraps(command)
    def called(
        mill_folder: Path,
        line_name: str,
        ball_name: str,
        lot_name: str,
        shift_s: float | None,
        colour_changes: int,
        rule: str | None,
        **rest: Any,
    ) -> Any:
        from clew.line.layout_from_mill import layout_of

        tried = {field: rest.pop(field) for field in _tried_fields() if field in rest}
        tried = {field: value for field, value in tried.items() if value is not None}
        if rule is not None:
            tried["rule"] = rule
        mill = checked_mill(mill_folder)
        try:
            layout = layout_of(
                mill,
                line_name,
                ball_name,
                lot_name,
                shift_s=shift_s,
                colour_changes=colour_changes,
            )
            layout = with_tried(layout, tried)
            ball = mill.find_ball(ball_name) if ball_name else mill.ball[0]
            yarn = f"dye lot {lot_name}" if lot_name else "yarn as spun"
            title = f"{mill.find_line(line_name).name}, {ball.name}, {yarn}"
            return command(layout=layout, title=title, **rest)
        except BadInput as bad:
            told = {_once(fault): fault for fault in map(placed, reversed(bad.faults))}
            raise BadInput(reversed(told.values())) from None

    whole: Command = called
    whole = click.option(
        "--rule",
        type=click.Choice(["nearest", "longest", "patrol"]),
        default=None,
        help="Whom a free hand serves of equals: the nearest, the longest waiting, the next on.",
    )(whole)
    for option, (field, least, most, words) in reversed(NUMBERS.items()):
        whole = click.option(
            option, field, type=click.IntRange(least, most), default=None, help=words
        )(whole)
    for option, (field, kind, words) in reversed(QUANTITIES.items()):
        whole = click.option(option, field, type=Quantity(kind), default=None, help=words)(whole)
    for other in reversed(_OF_MILL):
        whole = other(whole)
    return mill_folder(whole)


_OF_MILL = (
    click.option("--line", "line_name", default="", help="A line of the mill file."),
    click.option("--ball", "ball_name", default="", help="A ball; the file's first if left out."),
    click.option("--lot", "lot_name", default="", help="The dye lot it is made from."),
    click.option("--shift", "shift_s", type=Quantity(TIME), default=None, help="Its length."),
    click.option("--colour-changes", type=int, default=0, help="Changes of colour in the shift."),
)


def _tried_fields() -> list[str]:
    return [field for field, _, _ in QUANTITIES.values()] + [key for key, *_ in NUMBERS.values()]


def with_tried(layout: Layout, tried: dict[str, Any]) -> Layout:
    """Put values that are tried in place of the mill's.

    Parameters
    ----------
    layout : Layout
        The line as the mill file has it.
    tried : dict
        Values by the field of the layout; winding speed and buffer of strand after steam.

    Returns
    -------
    Layout
        The line as it is tried. A buffer brings its restarts with it, as the same part of it.

    Raises
    ------
    BadInput
        When no shift can be walked with it.
    """
    from clew.line.improve.changes import with_buffer
    from clew.line.layout import checked_layout

    kept = 1.0 - layout.shrink_frac
    raw = {key: value / kept if key in STEAMED else value for key, value in tried.items()}
    buffer_m = raw.pop("buffer_m", layout.buffer_m)
    return checked_layout(with_buffer(replace(layout, **raw), buffer_m))


def _once(fault: Fault) -> tuple[str, ...]:
    """What makes a fault another: an option's values are one fault, those of an axis are not."""
    swept = fault.key.startswith("--over")
    return (fault.key, fault.what, fault.value) if swept else (fault.key, fault.what)


def placed(fault: Fault) -> Fault:
    """Name the option that a fault of a layout is about."""
    if fault.section:
        return fault
    return replace(fault, key=_UNKNOWN.get(fault.what, _OPTION_OF.get(fault.key, fault.key)))


def chance_options(replications: int) -> Callable[[Command], Command]:
    """Add ``--replications`` and ``--seed``; so many replications when left out."""

    def both(command: Command) -> Command:
        command = click.option(
            "--seed", type=int, default=1, show_default=True, help="What chance depends on."
        )(command)
        return click.option(
            "--replications",
            type=int,
            default=replications,
            show_default=True,
            help="Shifts that are drawn.",
        )(command)

    return both
