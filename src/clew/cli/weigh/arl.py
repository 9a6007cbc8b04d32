"""`clew weigh arl`: how long a chart runs before it calls, and which chart sees a shift soonest."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from click.core import ParameterSource

from clew.cli.options import Quantity, as_json, checked_mill
from clew.cli.output import print_json
from clew.cli.weigh.arl_terms import (
    CHARTS,
    check_chart_terms,
    check_wish_terms,
    group_sizes,
    placed,
)
from clew.cli.weigh.arl_words import one_plain, tell_choice, tell_one
from clew.faults import BadInput, Fault
from clew.quantities import MASS

if TYPE_CHECKING:
    from clew.checks.charts.run_length_asked import AskedChart
    from clew.checks.charts.run_length_cones import ConeRun, LimitsFrom
    from clew.checks.charts.run_length_estimated import UnsureLimits


@click.command()
@click.option("--chart", type=click.Choice(CHARTS), help="Kind of chart.")
@click.option("--shift", type=float, default=None, help="In sd of a plotted point. [default: 0]")
@click.option("--width", type=float, help="Limits in sd of a plotted point; ewma: of the average.")
@click.option("--rules", help="xbar: run rules, such as 2-of-3,4-of-5,8-one-side.")
@click.option("--lambda", "weight", type=float, help="ewma: weight of the newest point.")
@click.option(
    "--exact-limits", is_flag=True, default=None, help="ewma: limits that widen at first."
)
@click.option("--k", type=float, help="CUSUM: reference value, in sd (counts: in counts).")
@click.option("--h", type=float, help="CUSUM: decision value, in sd (counts: in counts).")
@click.option("--head-start", type=float, help="Part of the limit; poisson-cusum: the sum.")
@click.option("--sides", type=click.Choice(["one", "two"]), help="cusum. [default: two]")
@click.option("--range-width", type=float, help="individuals-mr: range limit in sd of a ball.")
@click.option("--mean", type=float, help="poisson-cusum: mean count without a shift.")
@click.option("--lower", is_flag=True, default=None, help="poisson-cusum: watch for fewer.")
@click.option("--runs", type=int, help="Runs to draw. [default: 20000; cones 4000]")
@click.option("--seed", type=int, default=1924, show_default=True, help="Of what is drawn.")
@click.option("--set-on", type=int, help="Groups the limits were set on: how unsure they are.")
@click.option("--group-size", type=int, help="Balls in each of those groups. [default: 5]")
@click.option("--balls-a-cone", type=int, help="Balls in a row from one cone.")
@click.option("--rho", type=float, help="Share of the variance between cones.")
@click.option(
    "--limits-from",
    type=click.Choice(["total", "within"]),
    help="Spread the limits came from, with --rho. [default: total]",
)
@click.option("--see", "shift_g", type=Quantity(MASS), help="Choose: a shift to be seen.")
@click.option("--within", "within_balls", type=float, help="Choose: in so many balls made.")
@click.option("--balls-a-week", type=float, help="Choose: balls made a week.")
@click.option(
    "--false-alarms-a-week", type=float, help="Choose: allowed; the mill's own, or 1, if not given."
)
@click.option(
    "--mill",
    "mill_folder",
    type=click.Path(path_type=Path),
    envvar="CLEW_MILL",
    help="Choose: folder of the mill whose false alarms are allowed.",
)
@click.option("--ball-sd", "ball_sd_g", type=Quantity(MASS), help="Choose: sd in one cone.")
@click.option("--cone-sd", "cone_sd_g", type=Quantity(MASS), help="Choose: sd between cones.")
@click.option("--cones-a-group", type=int, help="Choose: cones in a group. [default: 1]")
@click.option("--interval", "interval_balls", type=int, help="Choose: balls from group to group.")
@click.option("--groups", help="Choose: group sizes to compare. [default: 1,3,5]")
@as_json
def arl(
    chart: str | None,
    shift: float | None,
    runs: int | None,
    seed: int,
    set_on: int | None,
    group_size: int | None,
    balls_a_cone: int | None,
    rho: float | None,
    limits_from: str | None,
    shift_g: float | None,
    within_balls: float | None,
    balls_a_week: float | None,
    false_alarms_a_week: float | None,
    mill_folder: Path | None,
    ball_sd_g: float | None,
    cone_sd_g: float | None,
    cones_a_group: int | None,
    interval_balls: int | None,
    groups: str | None,
    as_json: bool,
    **terms: Any,
) -> None:
    """How long a chart runs before it calls; with --see, which chart sees a shift soonest.

    One chart: --chart and its terms. To choose: --see "1 g" --within 20 --balls-a-week 6000
    --ball-sd "2 g"; exit code 1 when the wish cannot be had.
    """
    around = {
        "--set-on": set_on,
        "--group-size": group_size,
        "--balls-a-cone": balls_a_cone,
        "--rho": rho,
        "--limits-from": limits_from,
    }
    wanted = {
        "shift_g": shift_g,
        "within_balls": within_balls,
        "balls_a_week": balls_a_week,
        "ball_sd_g": ball_sd_g,
    }
    beside = {
        "false_alarms_a_week": false_alarms_a_week,
        "cone_sd_g": cone_sd_g,
        "cones_a_group": cones_a_group,
        "interval_balls": interval_balls,
        "groups": groups,
    }
    try:
        if chart is None and not any(value is not None for value in wanted.values()):
            raise BadInput(
                Fault("no question", "--chart for one chart, or --see to choose", key="--chart")
            )
        if chart is None or shift_g is not None:
            one = {"--chart": chart, "--shift": shift} | around
            beside["balls_a_cone"] = one.pop("--balls-a-cone")
            named = {f"--{name.replace('_', '-')}": value for name, value in terms.items()}
            named["--lambda"] = named.pop("--weight")
            check_wish_terms(wanted, one | named)
            if false_alarms_a_week is None and mill_folder is not None:
                rules = checked_mill(mill_folder).checks
                beside["false_alarms_a_week"] = rules.false_alarms_per_week
            can = _choose(wanted, beside, seed, as_json)
        else:
            given = click.get_current_context().get_parameter_source("mill_folder")
            here = mill_folder if given is ParameterSource.COMMANDLINE else None
            asked = wanted | beside | {"mill_folder": here}
            if left := [name for name, value in asked.items() if value is not None]:
                raise BadInput(
                    [
                        placed(Fault("only to choose a chart", "--see beside it", key=name))
                        for name in left
                    ]
                )
            _one_chart(chart, shift or 0.0, terms, runs, seed, around, as_json)
            can = True
    except BadInput as bad:
        raise BadInput([placed(fault) for fault in bad.faults]) from None
    if not can:
        click.get_current_context().exit(1)


def _choose(wanted: dict[str, Any], beside: dict[str, Any], seed: int, as_json: bool) -> bool:
    from clew.checks.charts.choose import choose_chart
    from clew.checks.charts.choose_terms import Wish
    from clew.checks.charts.choose_words import choice_plain

    sizes = group_sizes(beside["groups"] or "1,3,5")
    wish = Wish(
        balls_a_week=wanted["balls_a_week"],
        false_alarms_a_week=_or(beside["false_alarms_a_week"], 1.0),
        shift_g=wanted["shift_g"],
        within_balls=wanted["within_balls"],
        ball_sd_g=wanted["ball_sd_g"],
        cone_sd_g=_or(beside["cone_sd_g"], 0.0),
        cones_a_group=_or(beside["cones_a_group"], 1),
        interval_balls=beside["interval_balls"],
        balls_a_cone=beside["balls_a_cone"],
    )
    choice = choose_chart(wish, sizes, seed=seed)
    if as_json:
        print_json(choice_plain(choice))
    else:
        tell_choice(choice)
    return choice.can


def _or(value: Any, usual: Any) -> Any:
    return usual if value is None else value


def _one_chart(
    kind: str,
    shift: float,
    terms: dict[str, Any],
    runs: int | None,
    seed: int,
    around: dict[str, Any],
    as_json: bool,
) -> None:
    from clew.checks.charts.run_length_asked import AskedChart, asked_run_length

    check_chart_terms(kind, terms)
    given = {name: value for name, value in terms.items() if value is not None}
    if "rules" in given:
        names = tuple(part.strip() for part in given["rules"].split(",") if part.strip())
        given["rules"] = tuple(name for name in names if name != "beyond-3")
    if kind == "cusum" and "head_start" in given:  # a share of h, as in `clew weigh charts`
        given["head_start"] *= given.get("h", AskedChart(chart="cusum").h)
    asked = AskedChart(chart=kind, runs=_or(runs, 20_000), seed=seed, **given)  # type: ignore[arg-type]
    found = asked_run_length(asked, shift)
    unsure = _unsure(asked, shift, around)
    cones = _cones(asked, shift, around, _or(runs, 4000), seed)
    if as_json:
        print_json(one_plain(asked, shift, found, unsure, cones))
    else:
        tell_one(asked, shift, found, unsure, cones)


def _no_frills(asked: AskedChart, shift: float, option: str) -> None:
    """Refuse what is worked out only for plain charts without a shift."""
    plain = asked.chart in ("xbar", "ewma", "cusum") and not asked.rules
    plain = plain and not asked.exact_limits and asked.head_start == 0.0 and asked.sides == "two"
    if not plain or shift != 0.0:
        raise BadInput(
            Fault(
                "worked out for false alarms of a plain chart only",
                "xbar, ewma or two-sided cusum, without rules, head start, exact limits or shift",
                key=option,
            )
        )


def _unsure(asked: AskedChart, shift: float, around: dict[str, Any]) -> UnsureLimits | None:
    from clew.checks.charts.run_length_chain import check_between

    if around["--set-on"] is None:
        if around["--group-size"] is not None:
            raise BadInput(Fault("one without the other", "--set-on", key="--group-size"))
        return None
    from clew.checks.charts.run_length_estimated import (
        estimated_cusum,
        estimated_ewma,
        estimated_shewhart,
    )

    _no_frills(asked, shift, "--set-on")
    groups, size = around["--set-on"], _or(around["--group-size"], 5)
    check_between("--set-on", groups, 3, 10_000, "groups the chart was set on")
    if asked.chart == "xbar":
        return estimated_shewhart(asked.width, groups=groups, group_size=size)
    if asked.chart == "ewma":
        return estimated_ewma(asked.weight, asked.width, groups=groups, group_size=size)
    return estimated_cusum(asked.k, asked.h, groups=groups, group_size=size)


def _cones(
    asked: AskedChart, shift: float, around: dict[str, Any], runs: int, seed: int
) -> ConeRun | None:
    from clew.checks.charts.run_length_cones import cone_cusum, cone_ewma, cone_shewhart

    balls, rho = around["--balls-a-cone"], around["--rho"]
    if balls is None and rho is None:
        if around["--limits-from"] is not None:
            raise BadInput(Fault("one without the other", "--rho", key="--limits-from"))
        return None
    if balls is None or rho is None:
        raise BadInput(Fault("one without the other", "both", key="--balls-a-cone, --rho"))
    _no_frills(asked, shift, "--rho")
    source: LimitsFrom = "within" if around["--limits-from"] == "within" else "total"
    if asked.chart == "xbar":
        return cone_shewhart(asked.width, balls_a_cone=balls, rho=rho, limits_from=source)
    drawn = {"balls_a_cone": balls, "rho": rho, "runs": runs, "seed": seed}
    if asked.chart == "ewma":
        return cone_ewma(asked.weight, asked.width, limits_from=source, **drawn)
    return cone_cusum(asked.k, asked.h, limits_from=source, **drawn)
