"""`clew weigh scale study`: what scale or reel and hands do to a reading."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from clew.cli.options import Quantity, as_json
from clew.cli.output import print_json, print_rows, print_table
from clew.faults import BadInput, Fault
from clew.quantities import FRACTION, LENGTH, MASS, number, read_quantity

if TYPE_CHECKING:
    from clew.checks.instruments.gauge_ranges import RangeStudy
    from clew.checks.instruments.gauge_study import Component, GaugeStudy


@click.command()
@click.argument("data", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--tolerance", help='Width balls may vary over, lowest to highest, such as "9 g".')
@click.option("--deficiency", help='What may be missing from a ball, such as "4.5 g" or "4 m".')
@click.option(
    "--pool-above",
    type=click.FloatRange(0.0, 1.0),
    default=0.25,
    show_default=True,
    help="Count part × hand as reading where its chance is above this; 1 never does.",
)
@click.option(
    "--confidence", type=Quantity(FRACTION), default=0.95, help='Of intervals; "95 %" if not given.'
)
@click.option(
    "--draws",
    type=click.IntRange(1000, 1_000_000),
    default=20_000,
    show_default=True,
    help="Draws behind the intervals.",
)
@click.option(
    "--seed", type=click.IntRange(0), default=1, show_default=True, help="Seed of those draws."
)
@as_json
def study(
    data: Path,
    tolerance: str | None,
    deficiency: str | None,
    pool_above: float,
    confidence: float,
    draws: int,
    seed: int,
    as_json: bool,
) -> None:
    """Study the scale or reel from DATA, a CSV file: part, hand, trial, value_g or value_m.

    Every hand reads every part as often; or, where a reading spoils the ball, each hand reads balls
    of his own. Exit code 1: not good enough.
    """
    from clew.checks.instruments.gauge_ranges import study_by_ranges
    from clew.checks.instruments.gauge_readings import lay_out
    from clew.checks.instruments.gauge_study import study_gauge
    from clew.cli.weigh.instrument_file import read_study

    read = read_study(data)
    width = _width(tolerance, deficiency, read.unit)
    try:
        readings = lay_out(read.parts, read.hands, read.values, read.trials)
        found = study_gauge(
            readings,
            tolerance=width,
            pool_above=pool_above,
            confidence=confidence,
            draws=draws,
            seed=seed,
        )
    except BadInput as bad:
        raise BadInput(
            Fault(one.what, one.expected, str(data), key=one.key, value=one.value)
            for one in bad.faults
        ) from None
    crossed = found.design == "crossed" and found.hands > 1 and found.trials > 1
    ranges = study_by_ranges(readings) if crossed else None
    if as_json:
        print_json(_plain(found, ranges, read.unit, width))
    else:
        _print(found, ranges, read.unit, width)
    if found.verdict == "poor":
        raise SystemExit(1)


def _width(tolerance: str | None, deficiency: str | None, unit: str) -> float | None:
    if tolerance is not None and deficiency is not None:
        raise BadInput(Fault("a tolerance and a deficiency", "one of them", key="--tolerance"))
    kind = MASS if unit == "g" else LENGTH
    for option, text, times in (("--tolerance", tolerance, 1.0), ("--deficiency", deficiency, 2.0)):
        if text is None:
            continue
        try:
            read = read_quantity(text, kind)
        except BadInput as bad:
            fault = bad.faults[0]
            raise BadInput(
                Fault(fault.what, fault.expected, key=option, value=fault.value)
            ) from None
        if read <= 0.0:
            raise BadInput(Fault("a width", "more than 0", key=option, value=text))
        return times * read
    return None


def _plain(
    found: GaugeStudy, ranges: RangeStudy | None, unit: str, width: float | None
) -> dict[str, Any]:
    plain: dict[str, Any] = {
        "design": found.design,
        "unit": unit,
        "parts": found.parts,
        "hands": found.hands,
        "trials": found.trials,
        "verdict": found.verdict,
        "grr_share_frac": found.grr_share,
        "grr_share_frac_interval": None
        if found.grr_share_interval is None
        else list(found.grr_share_interval),
        "ndc": found.ndc,
        "ndc_exact": found.ndc_exact,
        "pooled": found.pooled,
        "pool_above": found.pool_above,
        "interaction_p": found.interaction_p,
        f"tolerance_{unit}": width,
        "confidence_frac": found.confidence,
        "seed": found.seed,
        "draws": found.draws,
        f"variances_{unit}2": found.variances,
        "set_to_zero": list(found.set_to_zero),
        "components": {
            one.key: {
                f"sd_{unit}": one.sd,
                f"sd_{unit}_interval": [one.low, one.high],
                "contribution_frac": one.contribution_frac,
                "study_frac": one.study_frac,
                "tolerance_frac": one.tolerance_frac,
            }
            for one in found.components
        },
        "anova": [
            {"source": row.source, "ss": row.ss, "df": row.df, "ms": row.ms, "f": row.f, "p": row.p}
            for row in found.anova
        ],
        "notes": list(found.notes),
        "ranges": None,
    }
    if ranges is not None:
        plain["ranges"] = {
            "k1": ranges.k1,
            "k2": ranges.k2,
            "k3": ranges.k3,
            f"mean_range_{unit}": ranges.mean_range,
            f"ev_{unit}": ranges.ev,
            f"av_{unit}": ranges.av,
            f"grr_{unit}": ranges.grr,
            f"pv_{unit}": ranges.pv,
            f"tv_{unit}": ranges.tv,
            "av_set_to_zero": ranges.av_set_to_zero,
            "ndc": ranges.ndc,
        }
    return plain


_SAID = {
    "good": "good",
    "fair": "it will do where little hangs on one ball",
    "poor": "not good enough",
    "open": "too much together, and what the instrument's part is cannot be told",
}


def _percent(share: float | None) -> str:
    return "" if share is None else f"{100 * share:.1f} %"


def _headline(found: GaugeStudy, unit: str, width: float | None) -> str:
    from clew.checks.instruments.gauge_study import FAIR

    what = "Scale" if unit == "g" else "Reel"
    grr = found.find("GRR")
    once = found.design == "nested" and found.trials == 1
    who = f"{what}, hands and what balls of one cone differ by" if once else f"{what} and hands"
    if found.grr_share is None or found.grr_share_interval is None:
        return (
            f"{who} spread {number(grr.sd, 3)} {unit} together; give --deficiency to hold that "
            "against what a ball may be short."
        )
    of = (
        "the spread of the study"
        if width is None
        else f"the width of {number(width)} {unit} that balls may vary over"
    )
    low, high = found.grr_share_interval
    sure = f"{number(100 * found.confidence, 3)} % sure: {_percent(low)} to {_percent(high)}"
    text = f"{who} take {_percent(found.grr_share)} of {of} ({sure}): {_SAID[found.verdict]}"
    doubted = found.verdict in {"good", "fair"} and high > FAIR
    text += ", though so small a study does not rule out worse." if doubted else "."
    if found.hands > 1 and found.verdict in {"fair", "poor"} and not once:
        ev, av = found.find("EV"), found.find("AV")
        text += (
            " Hands differ by more than one hand's readings do: agree on how to read."
            if av.sd > ev.sd
            else " One hand's own readings scatter most: look at the instrument."
        )
    if found.ndc is not None:
        text += f" It tells {found.ndc} kinds of ball apart."
    return text


def _print(found: GaugeStudy, ranges: RangeStudy | None, unit: str, width: float | None) -> None:
    click.echo(_headline(found, unit, width))
    sure = number(100 * found.confidence, 3)
    head = ["what", f"sd, {unit}", f"{sure} % from", "to", "of variance", "of spread"]
    if width is not None:
        head.append("of width")

    def row(one: Component) -> list[str]:
        cells = [
            f"{one.key}  {one.words}",
            number(one.sd, 4),
            number(one.low, 3),
            number(one.high, 3),
            _percent(one.contribution_frac),
            _percent(one.study_frac),
        ]
        return cells if width is None else [*cells, _percent(one.tolerance_frac)]

    print_table(head, [row(one) for one in found.components])
    print_table(
        ["source", "sum of squares", "df", "mean square", "F", "chance"],
        [
            [
                one.source,
                number(one.ss, 5),
                str(one.df),
                number(one.ms, 5),
                "" if one.f is None else number(one.f, 4),
                "" if one.p is None else f"{100 * one.p:.2g} %",
            ]
            for one in found.anova
        ],
    )
    if ranges is not None:
        print_rows(
            [
                (
                    "repeatability EV",
                    f"{number(ranges.ev, 4)} {unit} (mean range {number(ranges.mean_range, 4)} × "
                    f"{ranges.k1:.4f})",
                ),
                (
                    "reproducibility AV",
                    f"{number(ranges.av, 4)} {unit} (means of hands "
                    f"{number(ranges.hand_difference, 4)} apart × {ranges.k2:.4f}"
                    + ("; below zero, counts as 0)" if ranges.av_set_to_zero else ")"),
                ),
                ("both, GRR", f"{number(ranges.grr, 4)} {unit}"),
                ("balls PV", f"{number(ranges.pv, 4)} {unit} (range × {ranges.k3:.4f})"),
            ],
            title="By averages and ranges",
        )
    for note in (*_pooling(found), *found.notes):
        click.echo(f"Note: {note}")
    many = "hand" if found.hands == 1 else "hands"
    click.echo(
        f"How: {found.design} study, {found.parts} parts{' a hand' * (found.design == 'nested')}, "
        f"{found.hands} {many}, {found.trials} {'trial' if found.trials == 1 else 'trials'}; "
        f"random effects by analysis of variance; intervals from {found.draws} draws, "
        f"seed {found.seed}."
    )
    if 1 < found.hands < 5:
        click.echo(f"Only {found.hands} hands: what hands differ by is known no better than that.")


def _pooling(found: GaugeStudy) -> tuple[str, ...]:
    if found.interaction_p is None or math.isnan(found.interaction_p):
        return ()
    chance = f"{100 * found.interaction_p:.2g} %"
    limit = f"{100 * found.pool_above:g} %"
    if found.pooled:
        return (f"Part × hand may well be chance ({chance}, above {limit}): counted as reading.",)
    return (f"Part × hand is kept ({chance}, not above {limit}): it counts with the hands.",)
