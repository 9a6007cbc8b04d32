"""`clew knots rates`: how often the yarn breaks, and whether this spinner's cones are worse."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from clew.cli.options import Quantity, as_json, in_units
from clew.cli.output import print_json, print_rows, print_table
from clew.faults import BadInput, Fault
from clew.papers import floor_numbers as floor
from clew.quantities import FRACTION, LENGTH, PER_LENGTH, UnitSystem, number, show

if TYPE_CHECKING:
    from clew.knots.rate_chart import JoinsChart
    from clew.knots.rate_sources import Comparison
    from clew.knots.rate_spread import DispersionTest, GammaFit
    from clew.knots.rate_tests import ConesNeeded, TwoRates
    from clew.knots.rates import CountedCone, Rate


@click.command()
@click.argument("log", type=click.Path(path_type=Path), metavar="LOG")
@click.option(
    "--confidence", type=Quantity(FRACTION), default=0.95, help='Of intervals; "95 %" if not given.'
)
@click.option("--compare", nargs=2, metavar="SPINNER SPINNER", help="Also hold two side by side.")
@click.option(
    "--times", type=float, default=2.0, show_default=True, help="Rate to see, times the pooled one."
)
@click.option(
    "--power", type=Quantity(FRACTION), default="80 %", show_default=True, help="Chance to see it."
)
@click.option("--cone-length", type=Quantity(LENGTH), help="Of cones to be counted; else as here.")
@click.option(
    "--chart-by",
    type=click.Choice(["dye-lot", "supplier", "cone"]),
    default="dye-lot",
    show_default=True,
    help="What one point of the chart is.",
)
@click.option(
    "--seed", type=click.IntRange(0), default=1, show_default=True, help="Seed of the dealt knots."
)
@in_units
@as_json
def rates(
    log: Path,
    confidence: float,
    compare: tuple[str, str] | None,
    times: float,
    power: float,
    cone_length: float | None,
    chart_by: str,
    seed: int,
    units: UnitSystem | None,
    as_json: bool,
) -> None:
    """Breaks per km from the cone LOG, and whose cones are worse.

    LOG is a CSV file with the columns cone, supplier, dye_lot, mass, count and knots; a cone
    without a knot is a row too, with 0. Rates are per km of yarn on the cone, before steam.
    """
    from clew.cli.cone_log_file import read_cone_log
    from clew.knots.rate_sources import compare_sources
    from clew.knots.rate_spread import dispersion_test, gamma_fit
    from clew.knots.rate_tests import cones_against_cones, cones_against_rate
    from clew.knots.rates import pooled_rate

    cones = read_cone_log(log)
    pooled = pooled_rate(cones, confidence=confidence)
    spread = dispersion_test(cones, seed=seed)
    fit = gamma_fit(cones, confidence=confidence)
    suppliers = compare_sources(cones, lambda cone: cone.supplier, confidence=confidence)
    dye_lots = compare_sources(cones, lambda cone: cone.dye_lot, confidence=confidence)
    two = _two(cones, compare, confidence) if compare else None
    names, chart = _chart(cones, chart_by)
    cone_km = pooled.length_km / len(cones) if cone_length is None else cone_length / 1000.0
    needed: dict[str, ConesNeeded] = {}
    if pooled.knots:
        plan = {"times": times, "power": power}
        # A shape is used only where the log bears it out: otherwise one rate for all cones.
        shape = fit.shape if fit is not None and fit.shape_high is not None else None
        needed = {
            "against_pooled": cones_against_rate(pooled.per_km, cone_km, shape=shape, **plan),
            "against_another": cones_against_cones(pooled.per_km, cone_km, shape=shape, **plan),
        }
    if as_json:
        print_json(
            {
                "cones": len(cones),
                "pooled": asdict(pooled),
                "dispersion": asdict(spread) if spread else None,
                "gamma": asdict(fit) if fit else None,
                "suppliers": asdict(suppliers) if suppliers else None,
                "dye_lots": asdict(dye_lots) if dye_lots else None,
                "compared": asdict(two) if two else None,
                "chart": _chart_plain(names, chart),
                "cones_needed": {name: asdict(found) for name, found in needed.items()}
                | {"times": times, "power_wanted": power, "cone_length_km": cone_km},
            }
        )
        return
    system: UnitSystem = units or "metric"
    click.echo(_verdict(cones, pooled, spread, suppliers, system))
    print_rows(_rows(pooled, spread, fit, system))
    for title, found in (("spinner", suppliers), ("dye lot", dye_lots)):
        if found is not None:
            _print_sources(title, found, system)
    if two is not None and compare is not None:
        click.echo(_two_words(compare, two))
    _print_chart(chart_by, names, chart, system)
    if needed:
        click.echo(_needed_words(needed, times, power, cone_km, system))


def _per(rate_per_km: float, system: UnitSystem) -> str:
    return show(rate_per_km, PER_LENGTH, system, digits=3)


def _range(low: float, high: float, system: UnitSystem) -> str:
    unit = PER_LENGTH.metric if system == "metric" else PER_LENGTH.yard
    return f"{_per(low, system).removesuffix(unit).strip()} to {_per(high, system)}"


def _long(length_km: float, system: UnitSystem) -> str:
    unit = "km" if system == "metric" else "yd"
    return show(1000.0 * length_km, LENGTH, digits=3, unit=unit)


def _two(cones: Sequence[CountedCone], compare: tuple[str, str], confidence: float) -> TwoRates:
    from clew.knots.rate_tests import compare_rates
    from clew.knots.rates import pooled_rate

    known = sorted({cone.supplier for cone in cones})
    faults = [
        Fault(
            "no such spinner in the log", f"one of {', '.join(known)}", key="--compare", value=one
        )
        for one in compare
        if one not in known
    ]
    if not faults and compare[0] == compare[1]:
        faults.append(Fault("one spinner twice", "two", key="--compare", value=compare[0]))
    if faults:
        raise BadInput(faults)
    first, second = (
        pooled_rate([cone for cone in cones if cone.supplier == one]) for one in compare
    )
    return compare_rates(
        first.knots, first.length_km, second.knots, second.length_km, confidence=confidence
    )


def _chart(cones: Sequence[CountedCone], chart_by: str) -> tuple[list[str], JoinsChart]:
    from clew.knots.rate_chart import joins_chart

    joins: dict[str, int] = {}
    length: dict[str, float] = {}
    for place, cone in enumerate(cones):
        name = {"dye-lot": cone.dye_lot or "none named", "supplier": cone.supplier}.get(
            chart_by, f"{place + 1} {cone.cone}"
        )
        joins[name] = joins.get(name, 0) + cone.knots
        length[name] = length.get(name, 0.0) + cone.length_km
    return list(joins), joins_chart(list(joins.values()), list(length.values()))


def _chart_plain(names: list[str], chart: JoinsChart) -> dict[str, Any]:
    plain = asdict(chart)
    plain["points"] = [
        {"name": name} | point for name, point in zip(names, plain["points"], strict=True)
    ]
    return plain


def _verdict(
    cones: Sequence[CountedCone],
    pooled: Rate,
    spread: DispersionTest | None,
    suppliers: Comparison | None,
    system: UnitSystem,
) -> str:
    head = (
        f"{pooled.knots} knots on {len(cones)} cones, {_long(pooled.length_km, system)}: "
        f"{_per(pooled.per_km, system)}."
    )
    if spread is not None and spread.p_drawn <= 0.05:
        head += " Cones differ by more than chance."
    if suppliers is not None:
        sure = [one.name for one in suppliers.sources if one.p_worse >= 0.975]
        head += f" Worse than the rest: {', '.join(sure) if sure else 'no spinner shown to be'}."
    return head


def _rows(
    pooled: Rate, spread: DispersionTest | None, fit: GammaFit | None, system: UnitSystem
) -> list[tuple[str, str]]:
    sure = floor.percent(pooled.confidence)
    rows = [
        (
            f"pooled rate, {sure} sure",
            f"{_range(pooled.low_per_km, pooled.high_per_km, system)}, if all cones have one rate",
        )
    ]
    if spread is not None:
        rows.append(
            (
                "cones against chance",
                f"index of dispersion {number(spread.index, 3)} (1 by chance alone); so large "
                f"or larger by chance {number(100 * spread.p_drawn, 2)} %",
            )
        )
    if fit is not None:
        high = "endless" if fit.shape_high is None else number(fit.shape_high, 3)
        shape = "endless" if fit.shape is None else number(fit.shape, 3)
        rows += [
            (
                "rate drawn per cone",
                f"gamma shape {shape} ({number(fit.shape_low, 3)} to {high}); "
                f"cone to cone CV {floor.percent(fit.cone_cv)}",
            ),
            (
                f"mean rate then, {sure} sure",
                _range(fit.low_per_km, fit.high_per_km, system),
            ),
        ]
    return rows


def _print_sources(title: str, found: Comparison, system: UnitSystem) -> None:
    print_table(
        [title, "cones", "counted", "believed", "between", "worse than pooled", "so"],
        [
            [
                one.name,
                str(one.cones),
                _per(one.own.per_km, system),
                _per(one.per_km, system),
                _range(one.low_per_km, one.high_per_km, system),
                floor.percent(one.p_worse),
                one.words,
            ]
            for one in found.sources
        ],
    )


def _two_words(names: tuple[str, str], two: TwoRates) -> str:
    if two.ratio is None:
        times = f"at least {number(two.ratio_low, 3)} times"
    else:
        high = "endless" if two.ratio_high is None else number(two.ratio_high, 3)
        times = f"{number(two.ratio, 3)} times ({number(two.ratio_low, 3)} to {high})"
    apart = "told apart" if two.p_value <= 1.0 - two.confidence else "not told apart"
    return (
        f"{names[0]} against {names[1]}: {times} the rate; by chance "
        f"{number(100 * two.p_value, 2)} %: {apart}. A pair picked out because it differs proves "
        "less than this; the table of spinners has the others in mind."
    )


def _print_chart(chart_by: str, names: list[str], chart: JoinsChart, system: UnitSystem) -> None:
    def per(value: float) -> str:
        unit = "/100 km" if system == "metric" else "/1000 yd"
        return show(value / 100.0, PER_LENGTH, digits=3, unit=unit)

    print_table(
        [chart_by.replace("-", " "), "joins", "length", "rate", "usual from", "to", "signal"],
        [
            [
                name,
                str(point.joins),
                _long(point.length_km, system),
                per(point.per_100_km),
                per(point.low_per_100_km),
                per(point.high_per_100_km),
                point.signal,
            ]
            for name, point in zip(names, chart.points, strict=True)
        ],
        title=f"joins on the chart, centre {per(chart.centre_per_100_km)}",
    )


def _needed_words(
    needed: dict[str, ConesNeeded],
    times: float,
    power: float,
    cone_km: float,
    system: UnitSystem,
) -> str:
    alone, pair = needed["against_pooled"].cones, needed["against_another"].cones
    head = (
        f"To see {number(times, 3)} times the rate with {floor.percent(power)} chance on cones of "
        f"{_long(cone_km, system)}:"
    )
    if alone is None or pair is None:
        return f"{head} more cones than anybody counts."
    return f"{head} count {alone} against the pooled rate, or {pair} of each of two spinners."
