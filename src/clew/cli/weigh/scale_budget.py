"""`clew weigh scale budget`: how sure one ball's net mass and length are."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from clew.cli.options import Count, Quantity, as_json, mill_folder
from clew.cli.output import print_json, print_table
from clew.cli.weigh.scale_terms import Given
from clew.faults import BadInput, Fault
from clew.quantities import DENSITY, FORCE, FRACTION, GAIN, LENGTH, MASS, TENACITY, number

if TYPE_CHECKING:
    from clew.checks.instruments.budget import Budget, Input, Model
    from clew.checks.instruments.propagate import Propagated, Validation
    from clew.checks.instruments.rule_limits import ScaleAllowed

_DIGITS = 1
"""Digits of the standard uncertainty in which budget and Monte Carlo are to agree."""

_OPTIONS: tuple[tuple[str, str, Any, str], ...] = (
    ("--net", "net_g", Quantity(MASS), "Net mass of a ball as weighed."),
    ("--scale-sd", "scale_sd_g", Quantity(MASS), "One ball again and again, standard deviation."),
    ("--division", "division_g", Quantity(MASS), "Smallest step of the scale."),
    ("--linearity", "linearity_g", Quantity(MASS), "Error over the scale's range, either way."),
    ("--eccentricity", "eccentricity_g", Quantity(MASS), "Error off the middle of the pan."),
    (
        "--standards",
        "standards",
        click.Path(path_type=Path, dir_okay=False),
        "Check weights, a CSV file: standard_g, shown_g.",
    ),
    ("--tare", "tare_g", Quantity(MASS), "Mean of tares."),
    ("--tare-sd", "tare_sd_g", Quantity(MASS), "Their standard deviation."),
    ("--tares", "tares", click.IntRange(2), "How many were weighed."),
    ("--regain", "regain_frac", Quantity(GAIN), "Regain of the ball."),
    ("--regain-sd", "regain_sd_frac", Quantity(GAIN), "How well that is known."),
    ("--stated-regain", "stated_regain_frac", Quantity(GAIN), "Regain the mass is stated at."),
    ("--density", "density_kg_m3", Quantity(DENSITY), "Of the fibre, for buoyancy in air."),
    ("--length", "length_m", Quantity(LENGTH), "Length of a ball."),
    ("--circumference", "circumference_m", Quantity(LENGTH), 'Of the reel; "1 m" if not given.'),
    (
        "--circumference-error",
        "circumference_error_m",
        Quantity(LENGTH),
        "How far that may be out.",
    ),
    ("--turn-error", "turn_error", click.FloatRange(0.0), "Turns the count may be out."),
    ("--reel-cv", "reel_cv", Quantity(FRACTION), "Like lengths again and again."),
    ("--tension", "tension_cn", Quantity(FORCE), "Pull of the reel."),
    ("--tension-sd", "tension_sd_cn", Quantity(FORCE), "How well that is known."),
    ("--modulus", "modulus_cn_per_tex", Quantity(TENACITY), "Of the strand at that pull."),
    ("--modulus-cv", "modulus_cv", Quantity(FRACTION), "How well that is known."),
    ("--count", "count_tex", Count(), "Count of the strand at rest."),
    ("--stated-tension", "stated_tension_cn", Quantity(FORCE), "Pull length is meant at; rest."),
)


def _all_options(command: Any) -> Any:
    for option, name, kind, words in reversed(_OPTIONS):
        command = click.option(option, name, type=kind, help=words)(command)
    return command


@click.command()
@click.argument("ball_name", metavar="[BALL]", nargs=-1)
@mill_folder
@_all_options
@click.option("--deficiency", type=Quantity(MASS), help="What may be missing from a ball by rule.")
@click.option(
    "--confidence", type=Quantity(FRACTION), default=0.95, help='Of ±; "95 %" if not given.'
)
@click.option(
    "--seed", type=click.IntRange(0), default=1, show_default=True, help="Of the Monte Carlo."
)
@as_json
def budget(
    ball_name: tuple[str, ...],
    mill_folder: Path,
    deficiency: float | None,
    confidence: float,
    seed: int,
    as_json: bool,
    **options: Any,
) -> None:
    """Uncertainty budget of one ball's net mass and length.

    With BALL, what the options leave out comes from the mill file. Exit code 1: with --deficiency,
    when a ball's mass is not sure to a fifth of it.
    """
    from clew.checks.instruments.rule_limits import average_system
    from clew.cli.weigh.scale_terms import fill_from_mill, length_terms, mass_terms, read_mill

    given = Given(**options)
    said: list[str] = []
    name = " ".join(ball_name)
    if name:
        said = fill_from_mill(given, read_mill(mill_folder), name)
    answers: dict[str, _Answer] = {}
    if (mass := mass_terms(given)) is not None:
        mass_model, notes = mass
        worked = _worked(mass_model.model, mass_model.inputs, confidence, seed)
        words = (mass_model.words, mass_model.air_words)
        answers["mass"] = _Answer("g", *worked, mass_model.condition, words, tuple(notes))
    if (length := length_terms(given)) is not None:
        length_model, notes = length
        worked = _worked(length_model.model, length_model.inputs, confidence, seed)
        answers["length"] = _Answer(
            "m", *worked, length_model.condition, (length_model.words,), (*said, *notes)
        )
    if not answers:
        raise BadInput(Fault("nothing to make a budget of", "a BALL, --net or --length"))
    held = None
    if deficiency is not None:
        if "mass" not in answers:
            raise BadInput(Fault("a deficiency without a mass", "--net", key="--deficiency"))
        if deficiency <= 0.0:
            raise BadInput(Fault("no deficiency", "more than 0", key="--deficiency"))
        held = average_system(deficiency, expanded_g=answers["mass"].reach)
    if as_json:
        print_json(_plain(name, answers, held))
    else:
        _print(name, answers, held)
    if held is not None and not held.allowed:
        raise SystemExit(1)


@dataclass(frozen=True, slots=True)
class _Answer:
    """One budget with its Monte Carlo, and what is said beside it."""

    unit: str
    budget: Budget
    drawn: Propagated
    validation: Validation
    condition: str
    words: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def interval(self) -> tuple[float, float]:
        """The interval to use: the budget's where drawing bears it out, else the drawn one."""
        if self.validation.valid:
            made = self.budget
            return made.value - made.expanded, made.value + made.expanded
        return self.drawn.symmetric

    @property
    def reach(self) -> float:
        """How far that interval reaches from the value, on its longer side."""
        low, high = self.interval
        return max(self.budget.value - low, high - self.budget.value)


def _worked(
    model: Model, inputs: Sequence[Input], confidence: float, seed: int
) -> tuple[Budget, Propagated, Validation]:
    from clew.checks.instruments.budget import make_budget
    from clew.checks.instruments.propagate import propagate_until_stable, validate

    made = make_budget(model, inputs, confidence=confidence)
    drawn = propagate_until_stable(
        model, inputs, confidence=confidence, digits=_DIGITS, finer=5.0, seed=seed
    )
    return made, drawn, validate(made, drawn, digits=_DIGITS)


def _finite(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else value


def _plain(name: str, answers: dict[str, _Answer], held: ScaleAllowed | None) -> dict[str, Any]:
    plain: dict[str, Any] = {"ball": name or None}
    for what, one in answers.items():
        made, unit = one.budget, one.unit
        plain[what] = {
            "condition": one.condition,
            f"value_{unit}": made.value,
            f"u_{unit}": made.u,
            f"expanded_{unit}": made.expanded,
            "k": made.k,
            "df": _finite(made.df),
            f"interval_{unit}": list(one.interval),
            "confidence_frac": made.confidence,
            "rows": [
                {
                    "key": row.key,
                    "words": row.words,
                    "unit": row.unit,
                    "law": row.shape,
                    "value": row.value,
                    "u": row.u,
                    "df": _finite(row.df),
                    "sensitivity": row.sensitivity,
                    f"contribution_{unit}": row.contribution,
                    "share_frac": row.share,
                }
                for row in made.rows
            ],
            "monte_carlo": {
                f"value_{unit}": one.drawn.value,
                f"u_{unit}": one.drawn.u,
                f"symmetric_{unit}": list(one.drawn.symmetric),
                f"shortest_{unit}": list(one.drawn.shortest),
                "draws": one.drawn.draws,
                "seed": one.drawn.seed,
                "stable": one.drawn.stable,
            },
            "budget_valid": one.validation.valid,
            f"apart_{unit}": [one.validation.low_apart, one.validation.high_apart],
            f"tolerance_{unit}": one.validation.tolerance,
            "words": list(one.words),
            "notes": list(one.notes),
        }
    if held is not None:
        limit = held.requirements[1]
        plain["allowed"] = {"allowed": held.allowed, "limit_g": limit.limit, "words": limit.words}
    return plain


def _print(name: str, answers: dict[str, _Answer], held: ScaleAllowed | None) -> None:
    for what, one in answers.items():
        made, unit = one.budget, one.unit
        sure = number(100 * made.confidence, 3)
        ball = f"One ball of {name}" if name else "One ball"
        low, high = (_to(end, made.expanded) for end in one.interval)
        value = _to(made.value, made.expanded)
        told = (
            f"{value} ± {number(made.expanded, 2)} {unit} {one.condition} ({sure} %)"
            if one.validation.valid
            else f"{value} {unit} {one.condition}, {low} to {high} {unit} ({sure} %)"
        )
        click.echo(f"{ball}: {what} {told}. {_dominates(made, unit)}")
        if what == "mass" and held is not None:
            verdict = "enough" if held.allowed else "NOT enough"
            click.echo(f"That is {verdict}: {held.requirements[1].words}.")
        print_table(
            ["what makes the doubt", "law", "value", "u", f"in {unit}", "share"],
            [
                [
                    row.words,
                    row.shape,
                    f"{number(row.value, 5)} {'' if row.unit == '1' else row.unit}".strip(),
                    number(row.u, 2),
                    number(abs(row.contribution), 2),
                    f"{100 * row.share:.0f} %",
                ]
                for row in made.rows
                if row.u > 0.0
            ],
        )
        drawn_low, drawn_high = one.drawn.symmetric
        agree = "agrees" if one.validation.valid else "does NOT agree: the drawn interval counts"
        still = "" if one.drawn.stable else ", not yet still"
        click.echo(
            f"Drawn {one.drawn.draws} times (seed {one.drawn.seed}{still}): "
            f"{_to(drawn_low, made.expanded)} to {_to(drawn_high, made.expanded)} {unit}; "
            f"the budget {agree}."
        )
        click.echo(f"How: {'. '.join(one.words)}")
        for note in one.notes:
            click.echo(f"Note: {note}")


def _to(value: float, expanded: float) -> str:
    """Write a value to the place of the second digit of its uncertainty."""
    if expanded <= 0.0:
        return number(value, 6)
    return f"{value:.{max(1 - math.floor(math.log10(expanded)), 0)}f}"


def _dominates(made: Budget, unit: str) -> str:
    first = made.rows[0]
    if first.contribution == 0.0:
        return "Nothing is in doubt."
    return (
        f"What counts most: {first.words} ({100 * first.share:.0f} %); without it "
        f"± {number(made.k * math.sqrt(max(made.u**2 - first.contribution**2, 0.0)), 2)} {unit}."
    )
