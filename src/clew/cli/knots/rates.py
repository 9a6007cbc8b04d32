"""`clew knots rates`: how often the yarn breaks, and whether this spinner's cones are worse."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass
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
    from clew.knots.rate_sources import Comparison, SwappedCones
    from clew.knots.rate_spread import DispersionTest, GammaFit
    from clew.knots.rate_tests import ConesNeeded, TwoRates
    from clew.knots.rates import CountedCone, Rate

_RISK = 0.05
"""Cones are said to differ where chance alone makes them differ as much so rarely [1]."""


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
    "--seed",
    type=click.IntRange(0),
    default=1,
    show_default=True,
    help="Seed of dealt knots and swapped cones.",
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
    from clew.cli.knots.cone_log_file import read_cone_log
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
    # One criterion for the whole answer: where one rate is ruled out, nothing may rest on it.
    differ = spread is not None and spread.p_drawn <= _RISK
    differ = differ or (fit is not None and fit.shape_high is not None)
    shape = fit.shape if fit is not None and differ else None
    two = _two(cones, compare, confidence, differ, seed) if compare else None
    names, chart = _chart(cones, chart_by, shape)
    cone_km = pooled.length_km / len(cones) if cone_length is None else cone_length / 1000.0
    needed: dict[str, ConesNeeded] = {}
    if pooled.knots:
        plan = {"times": times, "power": power}
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
                "cones_differ": differ,
                "compared": two.plain() if two else None,
                "chart": _chart_plain(names, chart) | {"cone_shape": shape},
                "cones_needed": {name: asdict(found) for name, found in needed.items()}
                | {"times": times, "power_wanted": power, "cone_length_km": cone_km},
            }
        )
        return
    system: UnitSystem = units or "metric"
    click.echo(_verdict(cones, pooled, differ, suppliers, system))
    print_rows(_rows(pooled, spread, fit, system))
    for title, found in (("spinner", suppliers), ("dye lot", dye_lots)):
        if found is not None:
            _print_sources(title, found, system)
    if two is not None and compare is not None:
        click.echo(_two_words(compare, two))
    _print_chart(chart_by, names, chart, shape, system)
    if needed:
        click.echo(_needed_words(needed, times, power, cone_km, system))


@dataclass(frozen=True, slots=True)
class _Pair:
    """Two spinners side by side: as if cones were alike, and by swapping whole cones."""

    alike: TwoRates
    swapped: SwappedCones
    differ: bool

    @property
    def apart(self) -> bool:
        """Whether the test that holds here tells them apart."""
        p_value = self.swapped.p_value if self.differ else self.alike.p_value
        return p_value <= 1.0 - self.alike.confidence + 1e-12

    def plain(self) -> dict[str, Any]:
        """Give what programs read."""
        return asdict(self.alike) | {
            "swapped_cones": asdict(self.swapped),
            "told_apart": self.apart,
            "told_apart_by": "swapped_cones" if self.differ else "p_value",
        }


def _bare(rate_per_km: float, system: UnitSystem) -> str:
    return _per(rate_per_km, system).removesuffix(_unit(system)).strip()


def _unit(system: UnitSystem) -> str:
    return PER_LENGTH.metric if system == "metric" else PER_LENGTH.yard


def _per(rate_per_km: float, system: UnitSystem) -> str:
    return show(rate_per_km, PER_LENGTH, system, digits=3)


def _range(low: float, high: float, system: UnitSystem) -> str:
    return f"{_bare(low, system)} to {_per(high, system)}"


def _long(length_km: float, system: UnitSystem) -> str:
    unit = "km" if system == "metric" else "yd"
    return show(1000.0 * length_km, LENGTH, digits=3, unit=unit)


def _two(
    cones: Sequence[CountedCone],
    compare: tuple[str, str],
    confidence: float,
    differ: bool,
    seed: int,
) -> _Pair:
    from clew.knots.rate_sources import swap_cones
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
    groups = [[cone for cone in cones if cone.supplier == one] for one in compare]
    first, second = (pooled_rate(group) for group in groups)
    alike = compare_rates(
        first.knots, first.length_km, second.knots, second.length_km, confidence=confidence
    )
    return _Pair(alike, swap_cones(groups[0], groups[1], seed=seed), differ)


def _chart(
    cones: Sequence[CountedCone], chart_by: str, shape: float | None
) -> tuple[list[str], JoinsChart]:
    from clew.knots.rate_chart import joins_chart, shape_of_stretch

    joins: dict[str, int] = {}
    lengths: dict[str, list[float]] = {}
    for place, cone in enumerate(cones):
        name = {"dye-lot": cone.dye_lot or "none named", "supplier": cone.supplier}.get(
            chart_by, f"{place + 1} {cone.cone}"
        )
        joins[name] = joins.get(name, 0) + cone.knots
        lengths.setdefault(name, []).append(cone.length_km)
    return list(joins), joins_chart(
        list(joins.values()),
        [math.fsum(each) for each in lengths.values()],
        shapes=None
        if shape is None
        else [shape_of_stretch(shape, each) for each in lengths.values()],
    )


def _chart_plain(names: list[str], chart: JoinsChart) -> dict[str, Any]:
    plain = asdict(chart)
    plain["points"] = [
        {"name": name} | point for name, point in zip(names, plain["points"], strict=True)
    ]
    return plain


def _verdict(
    cones: Sequence[CountedCone],
    pooled: Rate,
    differ: bool,
    suppliers: Comparison | None,
    system: UnitSystem,
) -> str:
    head = (
        f"{pooled.knots} knots on {len(cones)} cones, {_long(pooled.length_km, system)}: "
        f"{_per(pooled.per_km, system)}."
    )
    if differ:
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
                f"index of dispersion {number(spread.index, 3)}; "
                f"so much by chance {number(100 * spread.p_drawn, 2)} %",
            )
        )
    if fit is not None:
        high = "endless" if fit.shape_high is None else number(fit.shape_high, 3)
        shape = "endless" if fit.shape is None else number(fit.shape, 3)
        rows += [
            (
                "rate drawn per cone",
                f"gamma shape {shape} ({number(fit.shape_low, 3)} to {high}); "
                f"cone CV {floor.percent(fit.cone_cv)}",
            ),
            (
                f"mean rate then, {sure} sure",
                _range(fit.low_per_km, fit.high_per_km, system),
            ),
        ]
    return rows


def _print_sources(title: str, found: Comparison, system: UnitSystem) -> None:
    click.echo(f"Breaks in {_unit(system)} by {title}; worse than the pooled rate with chance p:")
    print_table(
        [title, "cones", "counted", "believed", "from", "to", "p", "so"],
        [
            [
                one.name,
                str(one.cones),
                _bare(one.own.per_km, system),
                _bare(one.per_km, system),
                _bare(one.low_per_km, system),
                _bare(one.high_per_km, system),
                floor.percent(one.p_worse),
                one.words,
            ]
            for one in found.sources
        ],
    )


def _two_words(names: tuple[str, str], pair: _Pair) -> str:
    two, swapped = pair.alike, pair.swapped
    if two.ratio is None:
        times = f"at least {number(two.ratio_low, 3)} times"
    else:
        high = "endless" if two.ratio_high is None else number(two.ratio_high, 3)
        times = f"{number(two.ratio, 3)} times ({number(two.ratio_low, 3)} to {high})"
    apart = "told apart" if pair.apart else "not told apart"
    splits = (
        f"all {swapped.splits} splits"
        if swapped.seed is None
        else f"{swapped.splits} splits drawn, seed {swapped.seed}"
    )
    lines = [
        f"{names[0]} against {names[1]}: {apart}.",
        f"  {times} the rate; by chance {number(100 * two.p_value, 2)} %, if cones were alike",
        f"  by chance {number(100 * swapped.p_value, 2)} % when whole cones are swapped ({splits})",
    ]
    if pair.differ:
        lines.append("  Cones differ, so the swapped cones decide.")
        if swapped.least_p_value > 1.0 - two.confidence + 1e-12:
            least = number(100 * swapped.least_p_value, 2)
            lines.append(f"  So few cones cannot show less than {least} %: count more of them.")
    lines.append("  A pair picked out because it differs proves less than this; the table of")
    lines.append("  spinners has the others in mind.")
    return "\n".join(lines)


def _print_chart(
    chart_by: str,
    names: list[str],
    chart: JoinsChart,
    shape: float | None,
    system: UnitSystem,
) -> None:
    def bare(per_100_km: float) -> str:
        return _bare(per_100_km / 100.0, system)

    allowed = "cones alike" if shape is None else f"cones that differ (shape {number(shape, 3)})"
    click.echo(
        f"Joins in {_unit(system)}, centre {bare(chart.centre_per_100_km)}; limits for {allowed}:"
    )
    print_table(
        [chart_by.replace("-", " "), "joins", "length", "rate", "usual from", "to", "signal"],
        [
            [
                name,
                str(point.joins),
                _long(point.length_km, system),
                bare(point.per_100_km),
                bare(point.low_per_100_km),
                bare(point.high_per_100_km),
                point.signal,
            ]
            for name, point in zip(names, chart.points, strict=True)
        ],
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
        return f"{head}\n  more cones than anybody counts."
    return f"{head}\n  count {alone} against the pooled rate, or {pair} of each of two spinners."
