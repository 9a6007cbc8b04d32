"""What a belief is about, and the inputs it rests on: another lot's belief must not pass for it."""

from __future__ import annotations

from dataclasses import dataclass

from clew.ball.from_mill import lot_for
from clew.faults import BadInput, Fault
from clew.languages import joined, say
from clew.mill.model import Mill

Input = tuple[str, float | str]
"""A key of the mill file, without its unit, and what stands there in inside units."""

_BALL = (
    "mandrel_diameter_mm",
    "mandrel_width_mm",
    "wind_ratio",
    "tilt_repeats",
    "slip_friction",
    "pack_density_kg_m3",
    "pack_density_cv",
    "tension_cn",
    "tension_sd_cn",
    "turn_length_cv",
)
_YARN = (
    "count_spun_tex",
    "count_spun_cv",
    "shrink_frac",
    "shrink_sd_frac",
    "finish_loss_frac",
    "regain_in_frac",
    "regain_out_frac",
    "regain_out_sd_frac",
    "modulus_cn_per_tex",
    "stretch_recovery_frac",
    "count_cone_cv",
    "count_within_cv",
)
_LOT = ("count_measured_tex", "cones_measured", "regain_measured_frac")
_LINE = ("scale_sd_g", "reel_cv")


@dataclass(frozen=True, slots=True)
class About:
    """What a belief is about.

    Attributes
    ----------
    mill, line, ball, yarn, dye_lot : str
        Names as the mill file has them.
    inputs : tuple of (str, float or str)
        Everything of ball, yarn and line that its expected values and spreads came from, each
        under its place in the mill file. They are kept whole, and not as a fingerprint, so that a
        refusal can say which of them changed. Prices, declarations and targets are not among them.
    lot_inputs : tuple of (str, float or str)
        The same of the dye lot.
    """

    mill: str
    line: str
    ball: str
    yarn: str
    dye_lot: str
    inputs: tuple[Input, ...]
    lot_inputs: tuple[Input, ...]


def about_of(mill: Mill, ball_name: str, lot_name: str, line_name: str = "") -> About:
    """Gather what a belief about a ball, a dye lot and a line would be about.

    Parameters
    ----------
    mill : Mill
        The mill.
    ball_name, lot_name, line_name : str
        Their names; an empty line is the only one.

    Returns
    -------
    About
        Names and inputs.

    Raises
    ------
    BadInput
        When a name is not in the mill file, or the lot is of another yarn.
    """
    ball, line = mill.find_ball(ball_name), mill.find_line(line_name)
    yarn, lot = mill.find_yarn(ball.yarn), lot_for(mill, ball, lot_name)
    tilt = ", ".join(f"{point.turn}: {point.tilt_deg:g}°" for point in ball.tilt)
    winders = ", ".join(str(one.number) for one in line.winder)
    return About(
        mill=mill.mill.name,
        line=line.name,
        ball=ball.name,
        yarn=yarn.name,
        dye_lot=lot.lot,
        inputs=(
            *_read("ball", ball, _BALL),
            ("ball tilt", tilt),
            *_read("yarn", yarn, _YARN),
            *_read("line", line, _LINE),
            ("line winders", winders),
        ),
        lot_inputs=_read("dye_lot", lot, _LOT),
    )


def _read(section: str, holder: object, keys: tuple[str, ...]) -> tuple[Input, ...]:
    values = ((key, getattr(holder, key)) for key in keys)
    return tuple(
        (f"{section} {key}", "none" if value is None else float(value)) for key, value in values
    )


def check_about(then: About | None, now: About) -> bool:
    """See whether a belief may be gone on with, and whether it is of the same dye lot.

    Parameters
    ----------
    then : About or None
        What the belief is about.
    now : About
        What is asked for.

    Returns
    -------
    bool
        True for the same dye lot; false for another of the same mill, line, ball and yarn.

    Raises
    ------
    BadInput
        On one line: when it is about something else, or an input has changed since.
    """
    if then is None:
        raise BadInput(
            Fault(
                say("a belief that does not say what it is about"),
                say("one that first-balls saved"),
            )
        )
    names = [
        say("{key} {was}, not {wanted}", key=key, was=was, wanted=wanted)
        for key in ("mill", "line", "ball", "yarn")
        if (was := getattr(then, key)) != (wanted := getattr(now, key))
    ]
    if names:
        raise BadInput(
            Fault(
                say("a belief about {others}", others=joined("; ", names)),
                say("one about what is asked for"),
            )
        )
    same_lot = then.dye_lot == now.dye_lot
    changed = _changed(then.inputs, now.inputs)
    if same_lot:
        changed += _changed(then.lot_inputs, now.lot_inputs)
    if changed:
        raise BadInput(
            Fault(
                say(
                    "the mill file has changed since this belief: {changes}",
                    changes=joined("; ", changed),
                ),
                say("the same inputs, or a new start without it"),
            )
        )
    return same_lot


def _changed(then: tuple[Input, ...], now: tuple[Input, ...]) -> list[str]:
    was, wanted = dict(then), dict(now)
    return [
        say(
            "{key} was {before}, is {now}",
            key=key,
            before=_shown(was.get(key, "none")),
            now=_shown(wanted.get(key, "none")),
        )
        for key in dict.fromkeys([*was, *wanted])
        if was.get(key, "none") != wanted.get(key, "none")
    ]


def _shown(value: float | str) -> str:
    return value if isinstance(value, str) else f"{value:g}"
