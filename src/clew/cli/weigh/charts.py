"""`clew weigh charts`: limits and signals of weighings, in words."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from click.core import ParameterSource

from clew.cli.options import as_json
from clew.cli.output import print_json, print_table
from clew.faults import BadInput, Fault
from clew.ledger.intake.tables import MOST_FAULTS, placed, read_rows
from clew.quantities import LENGTH, MASS, read_quantity

if TYPE_CHECKING:
    from clew.checks.charts.chart import Chart
    from clew.checks.charts.charting import ChartTerms
    from clew.checks.charts.counts import CountChart
    from clew.cli.weigh.charts_balls import Balls
    from clew.cli.weigh.charts_words import Told

_KINDS = ("xbar-s", "xbar-r", "individuals", "ewma", "cusum", "c", "u")
_OPTIONS = (
    "sd", "target", "width", "rules", "limits-from", "span", "k", "h", "lambda", "head-start",
)  # fmt: skip
_GROUP_OF = {"xbar-s": 5, "xbar-r": 5}
_MEANS, _SUMS = ("xbar-s", "xbar-r", "individuals"), ("ewma", "cusum")
_ONLY: dict[str, tuple[str, ...]] = {
    "weight": ("ewma",),
    "exact": ("ewma",),
    "head_start": _SUMS,
    "k": ("cusum",),
    "h": ("cusum",),
    "k_abs": ("cusum",),
    "h_abs": ("cusum",),
    "span": ("individuals", *_SUMS),
    "width": (*_MEANS, "ewma", "c", "u"),
}
"""Kinds that use an option, where not all do; of counts see `_NOT_FOR_COUNTS`."""
_NOT_FOR_COUNTS = ("value", "by", "group_size", "target", "sd", "limits_from")


@click.command()
@click.argument("data", type=click.Path(path_type=Path))
@click.option(
    "--chart", "kind", type=click.Choice(_KINDS), default="xbar-s", show_default=True,
    help="Which chart.",
)  # fmt: skip
@click.option(
    "--value", type=click.Choice(["mass", "length"]), default="mass", show_default=True,
    help="What is charted.",
)  # fmt: skip
@click.option(
    "--by", type=click.Choice(["all", "winder", "lane", "lot"]), default="all", show_default=True,
    help="One chart for all, or one each.",
)  # fmt: skip
@click.option(
    "--group-size", type=click.IntRange(1),
    help="Balls in a group, as they come; overrides the column group. "
    "Where that is missing: 5 for xbar, 1 for the others.",
)  # fmt: skip
@click.option("--target", help='Centre: in g or m, or with a unit: "3.5 oz". Else the mean.')
@click.option("--sd", help="Standard deviation of one ball, in g or m, where it is known.")
@click.option(
    "--width", type=float, default=3.0, show_default=True, help="Half width of limits, in sd."
)
@click.option(
    "--rules", multiple=True, metavar="NAME",
    help="Run rules beside beyond-3, each named or parted by commas: 2-of-3, 4-of-5, 8-one-side, "
    "6-rising, 15-within-1, 14-alternating.",
)  # fmt: skip
@click.option(
    "--limits-from", type=click.Choice(["within", "cones"]),
    help="Spread near each other, or with cones counted; cones where the file tells them.",
)  # fmt: skip
@click.option("--span", type=click.IntRange(2), default=2, help="Balls in a moving range.")
@click.option("--lambda", "weight", type=float, default=0.2, help="ewma: weight of the newest.")
@click.option(
    "--exact/--fixed", default=None, help="ewma: limits narrow at the start, or settled ones."
)
@click.option(
    "--head-start", type=float, default=0.0, help="ewma, cusum: part of the way to the limit."
)
@click.option("--k", type=float, help="cusum: allowance, in sd of a point [0.5].")
@click.option("--h", type=float, help="cusum: limit of the sums, in sd of a point [5].")
@click.option("--k-abs", type=float, help="cusum: allowance, in g or m.")
@click.option("--h-abs", type=float, help="cusum: limit of the sums, in g or m.")
@as_json
def charts(data: Path, kind: str, as_json: bool, **asked: Any) -> None:
    """Chart weighings: limits, signals, in words.

    DATA is a CSV of balls: mass_g or length_m, and group, time, winder, cone where they are
    known. For the charts c and u it holds found, and units: faults, and how much was looked at.
    """
    _check_used(kind)
    if kind in ("c", "u"):
        _chart_counts(data, kind, as_json=as_json, asked=asked)
        return
    from clew.cli.weigh.charts_balls import one_by_one, read_balls

    value, by = asked["value"], asked["by"]
    unit = "g" if value == "mass" else "m"
    terms = _terms(kind, value, asked)
    size = asked["group_size"]
    balls = read_balls(data, value, by, use_groups=size is None)
    if kind == "individuals":
        balls = one_by_one(balls)
    size = size or _GROUP_OF.get(kind, 1)
    try:
        whole = _one(balls, size, terms, "All balls", unit)
    except BadInput as bad:
        raise BadInput([_by_option(fault) for fault in bad.faults]) from None
    each: dict[str, Told] = {}
    refused: dict[str, str] = {}
    for maker, name in _in_order(balls.maker_names):
        if balls.makers is None or not (balls.makers == maker).any():
            continue
        who = f"{by.capitalize()} {name}"
        try:
            each[name] = _one(balls, size, terms, who, unit, maker=maker)
        except BadInput as bad:
            refused[name] = bad.faults[0].what
    if as_json:
        from clew.checks.charts.chart_plain import plain_chart

        def plain(told: Told) -> dict[str, Any]:
            return plain_chart(told.chart) | {
                "clocks": list(told.clocks),
                "false_call_groups": told.false_call_groups,
            }

        print_json(
            plain(whole)
            | {"value": value, "unit": unit, "condition": balls.condition}
            | {"by": by, "left_out": list(balls.cautions)}
            | {"charts": {name: plain(told) for name, told in each.items()}, "refused": refused}
        )
        return
    _tell_all(whole, each, refused, by)
    for caution in (balls.condition, *balls.cautions):
        click.echo(caution)


def _in_order(names: tuple[str, ...]) -> list[tuple[int, str]]:
    """Place and name of each winder: numbers in their order, else as the file has them."""
    named = list(enumerate(names))
    if all(name.isdecimal() for name in names):
        named.sort(key=lambda one: int(one[1]))
    return named


def _check_used(kind: str) -> None:
    """Refuse what was asked for and would have no part in the answer."""
    context = click.get_current_context()
    faults = []
    for option in context.command.params:
        name = option.name or ""
        used = (
            kind not in ("c", "u") if name in _NOT_FOR_COUNTS else kind in _ONLY.get(name, _KINDS)
        )
        if not used and context.get_parameter_source(name) is ParameterSource.COMMANDLINE:
            faults.append(Fault(f"chart {kind} does not use it", "it left out", key=option.opts[0]))
    if faults:
        raise BadInput(faults)


def _terms(kind: str, value: str, asked: dict[str, Any]) -> ChartTerms:
    from clew.checks.charts.charting import ChartTerms

    in_unit = asked["k_abs"] is not None or asked["h_abs"] is not None
    if in_unit and (
        None in (asked["k_abs"], asked["h_abs"]) or asked["k"] is not None or asked["h"] is not None
    ):
        raise BadInput(
            Fault(
                "half a pair, or two ways to say it",
                "--k with --h, in sd; or --k-abs with --h-abs, in g or m",
            )
        )
    default = ChartTerms()
    k, h = (asked["k_abs"], asked["h_abs"]) if in_unit else (asked["k"], asked["h"])
    return ChartTerms(
        kind=kind,
        target=_quantity(asked["target"], value, "--target"),
        sd=_quantity(asked["sd"], value, "--sd"),
        width=asked["width"],
        rules=_rules(asked["rules"]),
        limits_from=asked["limits_from"],
        weight=asked["weight"],
        exact=asked["exact"],
        head_start=asked["head_start"],
        k=default.k if k is None else k,
        h=default.h if h is None else h,
        in_unit=in_unit,
        span=asked["span"],
    )


def _by_option(fault: Fault) -> Fault:
    return replace(fault, key=f"--{fault.key}") if fault.key in _OPTIONS else fault


def _rules(asked: tuple[str, ...]) -> tuple[str, ...]:
    from clew.checks.charts.rules import check_rules

    named = [name.strip() for text in asked for name in text.split(",") if name.strip()]
    try:
        return check_rules(["beyond-3", *named])
    except BadInput as bad:
        raise BadInput([replace(fault, key="--rules") for fault in bad.faults]) from None


def _quantity(text: str | None, value: str, option: str) -> float | None:
    """Read a number in g or m, or a quantity with its unit."""
    if text is None:
        return None
    try:
        return float(text)
    except ValueError:
        pass
    try:
        return read_quantity(text, MASS if value == "mass" else LENGTH)
    except BadInput as bad:
        raise BadInput([replace(fault, key=option) for fault in bad.faults]) from None


def _one(
    balls: Balls, size: int, terms: ChartTerms, who: str, unit: str, *, maker: int | None = None
) -> Told:
    from clew.checks.charts.charting import chart_of
    from clew.checks.charts.false_calls import false_call_groups
    from clew.cli.weigh.charts_balls import grouped
    from clew.cli.weigh.charts_words import Told

    mine = grouped(balls, size, maker=maker)
    chart = chart_of(mine.values, mine.places, terms, mine.cones)
    chart = replace(chart, groups=mine.names, cautions=chart.cautions + mine.cautions)
    often = false_call_groups(chart, terms)
    return Told(chart, who, unit, mine.clocks, often, many=maker is None)


def _tell_all(whole: Told, each: dict[str, Told], refused: dict[str, str], by: str) -> None:
    from clew.cli.weigh.charts_words import headline, tell

    if not each and not refused:
        click.echo(headline(whole))
        tell(whole)
        return
    for told in each.values():
        click.echo(headline(told))
    for name, why in refused.items():
        click.echo(f"{by.capitalize()} {name} bears no such chart: {why}.")
    if each:
        limits = ["target", "sums to"] if whole.chart.kind == "cusum" else ["centre", "from", "to"]
        head = [by, "groups", "balls", *limits, "sd of a ball", "signals"]
        print_table(head, [_row(name, told, whole) for name, told in each.items()])
        rest = dict.fromkeys(told.chart.sd_words for told in each.values())
        click.echo(f"Limits rest on: {', '.join(rest)}.")
        if by == "winder" and len({told.chart.center for told in each.values()}) > 1:
            click.echo(
                "Each is held against its own mean: this tells who moved; who stands off its "
                "target, clew weigh correct tells."
            )
    said = dict.fromkeys(caution for told in each.values() for caution in told.chart.cautions)
    for caution in said:
        who = [name for name, told in each.items() if caution in told.chart.cautions]
        click.echo(
            caution if len(who) == len(each) else f"{by.capitalize()} {', '.join(who)}: {caution}"
        )


def _row(name: str, told: Told, whole: Told) -> list[str]:
    chart = told.chart
    low = float(chart.panel.lcl.min()) if chart.lcl is None else chart.lcl
    high = float(chart.panel.ucl.max()) if chart.ucl is None else chart.ucl
    limits = [chart.center, high] if chart.kind == "cusum" else [chart.center, low, high]
    return [
        name,
        str(chart.panel.points.size),
        f"{chart.sizes.sum():g}",
        *(whole.number(value) for value in limits),
        f"{chart.sd:.4g}",
        str(len(chart.signals)),
    ]


def _chart_counts(data: Path, kind: str, *, as_json: bool, asked: dict[str, Any]) -> None:
    from clew.checks.charts.chart_plain import plain_counts
    from clew.cli.weigh.charts_words import headline, tell

    rules = _rules(asked["rules"])
    try:
        count, names = _count_chart(data, kind, asked["width"], rules)
    except BadInput as bad:
        raise BadInput([_by_option(fault) for fault in bad.faults]) from None
    told = _told_counts(count, names, asked["width"])
    count = replace(count, chart=told.chart)
    if as_json:
        print_json(plain_counts(count) | {"false_call_groups": told.false_call_groups})
        return
    click.echo(headline(told))
    tell(told, count=count)


def _told_counts(count: CountChart, names: tuple[str, ...] | None, width: float) -> Told:
    from clew.checks.charts.charting import ChartTerms
    from clew.checks.charts.false_calls import false_call_groups
    from clew.cli.weigh.charts_words import Told

    chart: Chart = replace(count.chart, groups=names)
    return Told(
        chart, "Counts", "", (), false_call_groups(chart, ChartTerms(width=width)), many=True
    )


def _count_chart(
    data: Path, kind: str, width: float, rules: tuple[str, ...]
) -> tuple[CountChart, tuple[str, ...] | None]:
    import numpy as np

    from clew.checks.charts.counts import count_chart

    columns = {"group": False, "found": True, "units": kind == "u"}
    numbers: dict[str, list[float]] = {"found": [], "units": []}
    names: list[str] = []
    faults: list[Fault] = []
    for line, cells in read_rows(data, columns):
        names.append(cells["group"])
        for column, values in numbers.items():
            if not cells[column]:
                continue
            try:
                values.append(_count(cells[column], whole=column == "found"))
            except BadInput as bad:
                faults.append(placed(bad.faults[0], data, line, column))
    if faults:
        raise BadInput(faults[:MOST_FAULTS])
    units = np.array(numbers["units"])
    if kind == "c" and units.size and np.unique(units).size > 1:
        raise BadInput(Fault("units differ", "the chart u", file=str(data), key="units"))
    found = np.array(numbers["found"])
    chart = count_chart(found, units if kind == "u" else None, width=width, rules=rules)
    numbered = not any(names) or names == [str(n) for n in range(1, len(names) + 1)]
    return chart, None if numbered else tuple(names)


def _count(text: str, *, whole: bool) -> float:
    expected = "a whole number from 0" if whole else "a number above 0"
    try:
        value = float(text)
    except ValueError:
        raise BadInput(Fault("not a number", expected, value=text)) from None
    if whole and not (value >= 0.0 and value.is_integer()):
        raise BadInput(Fault("no count", expected, value=text))
    if not whole and not 0.0 < value < float("inf"):
        raise BadInput(Fault("no amount", expected, value=text))
    return value
