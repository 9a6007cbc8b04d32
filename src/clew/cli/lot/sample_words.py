"""What `clew lot sample` says: the plan first, then its curve, then how it was got."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import click

from clew.cli.output import print_table

if TYPE_CHECKING:
    from clew.checks.attributes.curves import CurvePoint
    from clew.checks.attributes.inspection import FaultVerdict
    from clew.checks.attributes.plans import AttributePlan
    from clew.checks.attributes.switching import Standing
    from clew.cli.lot.sample import Asked

_LISTED = (0.005, 0.01, 0.02, 0.03, 0.05, 0.08, 0.12)
_A_LINE = 12
_LEAST_SHARE = 1e-4
_CONFIDENCE = 0.95


def _points(asked: Asked, shares: Sequence[float]) -> list[CurvePoint]:
    """Qualities to show: those asked for, or the plan's own two points and a few usual ones."""
    from clew.checks.attributes.curves import curve

    assert asked.plan is not None
    wanted = set(shares)
    if not wanted:
        wanted |= set(_LISTED)
        if asked.standard is not None:
            wanted.add(float(asked.standard.aql) / 100.0)
    if asked.points is not None:
        wanted |= {asked.points.good_exact, asked.points.bad_exact}
    found: dict[float, CurvePoint] = {}
    for point in curve(asked.plan, sorted(wanted), asked.lot_size):
        found.setdefault(point.bad_frac, point)
    return list(found.values())


def _clumped(
    asked: Asked, points: Sequence[CurvePoint], clumps: tuple[float, int]
) -> tuple[int, list[float], int]:
    """Cones the sample comes from, chances of acceptance, and balls to draw instead."""
    from clew.checks.attributes.clumps import balls_needed, clumped_chance
    from clew.faults import BadInput, Fault

    rho, each = clumps
    if asked.plan is None or asked.plan.second_n:
        raise BadInput(
            Fault("cones of one drawing only", "a plan of one drawing", key="--intraclass")
        )
    if not 1 <= each <= asked.plan.first_n:
        raise BadInput(
            Fault(
                "not a number of balls of a cone",
                expected=f"from 1 to {asked.plan.first_n}",
                key="--per-cone",
                value=str(each),
            )
        )
    need = balls_needed(asked.plan.first_n, each, rho)
    cones = -(-asked.plan.first_n // each)
    chances = clumped_chance(
        cones, each, asked.plan.stages[0].accept, [one.bad_frac for one in points], rho
    )
    return cones, [float(one) for one in chances], need


def plain(
    asked: Asked,
    standing: Standing | None,
    shares: Sequence[float],
    verdicts: Sequence[FaultVerdict],
    drawn: list[dict[str, Any]] | None,
    clumps: tuple[float, int] | None,
) -> dict[str, Any]:
    """Put the answer into plain values for JSON.

    Parameters
    ----------
    asked : Asked
        The plan and what it was made from.
    standing : Standing or None
        Where the lots before lead.
    shares : sequence of float
        Qualities asked for [1].
    verdicts : sequence of FaultVerdict
        Of what was found.
    drawn : list of dict or None
        Balls to draw.
    clumps : (float, int) or None
        Intraclass correlation [1] and balls drawn of a cone.

    Returns
    -------
    dict
        Keys with units in their names.
    """
    answer: dict[str, Any] = {"lot_size": asked.lot_size, "kind": asked.kind}
    plan = asked.plan
    stages = () if plan is None else plan.stages
    answer["stages"] = [
        {"drawn": one.drawn, "accept": one.accept, "reject": one.reject} for one in stages
    ]
    answer["whole_lot"] = plan is None or plan.most_n == asked.lot_size
    if asked.standard is not None:
        from clew.checks.attributes.iso2859 import SOURCE

        one = asked.standard
        answer["standard"] = {
            "aql_percent": float(one.aql),
            "level": one.level,
            "severity": one.severity,
            "letter": one.letter,
            "plan_letter": one.plan_letter,
            "n": one.n,
            "accept": one.accept,
            "reject": one.reject,
            "gap": one.gap,
            "source": SOURCE,
        }
    if standing is not None:
        from clew.checks.attributes.switching import MARK

        answer["switching"] = {
            "state": standing.state,
            "score": standing.score,
            "why": standing.why,
            "mark": MARK,
        }
    if plan is not None:
        answer |= _plain_curve(asked, plan, shares, clumps)
    answer["faults"] = [
        {
            "fault": one.inspection.fault,
            "n": one.inspection.n,
            "bad": one.inspection.bad,
            "outcome": one.outcome,
            "draw_more": one.more,
            "most_bad_frac": one.most_bad_frac,
            "confidence_frac": _CONFIDENCE,
        }
        for one in verdicts
    ]
    if verdicts:
        answer["accepted"] = all(one.outcome == "accept" for one in verdicts)
    if drawn is not None:
        answer["draw"] = drawn
    return answer


def _plain_curve(
    asked: Asked,
    plan: AttributePlan,
    shares: Sequence[float],
    clumps: tuple[float, int] | None,
) -> dict[str, Any]:
    from clew.checks.attributes.curves import worst_outgoing

    points = _points(asked, shares)
    limit, at = worst_outgoing(plan, asked.lot_size)
    answer: dict[str, Any] = {
        "curve": [
            {
                "bad_frac": one.bad_frac,
                "accepted_frac": one.accepted,
                "drawn_mean": one.drawn_mean,
                "drawn_mean_curtailed": one.curtailed_mean,
                "outgoing_frac": one.outgoing_frac,
                "inspected_mean": one.inspected_mean,
            }
            for one in points
        ],
        "aoql_frac": limit,
        "aoql_at_frac": at,
    }
    if asked.points is not None:
        good, bad = _risks(asked)
        answer["risks"] = {"producer_frac": good, "consumer_frac": bad}
    if clumps is not None:
        cones, chances, need = _clumped(asked, points, clumps)
        answer["clumped"] = {
            "intraclass": clumps[0],
            "balls_per_cone": clumps[1],
            "cones": cones,
            "accepted_frac": chances,
            "n_needed": need,
        }
    return answer


def _risks(asked: Asked) -> tuple[float, float]:
    from clew.checks.attributes.curves import chance_accepted

    assert asked.plan is not None
    good, bad = chance_accepted(
        asked.plan, [asked.points.good_exact, asked.points.bad_exact], asked.lot_size
    )
    return 1.0 - float(good), float(bad)


def tell(
    asked: Asked,
    standing: Standing | None,
    shares: Sequence[float],
    verdicts: Sequence[FaultVerdict],
    drawn: list[dict[str, Any]] | None,
    clumps: tuple[float, int] | None,
) -> None:
    """Print the answer for people.

    Parameters
    ----------
    asked : Asked
        The plan and what it was made from.
    standing : Standing or None
        Where the lots before lead.
    shares : sequence of float
        Qualities asked for [1].
    verdicts : sequence of FaultVerdict
        Of what was found.
    drawn : list of dict or None
        Balls to draw.
    clumps : (float, int) or None
        Intraclass correlation [1] and balls drawn of a cone.
    """
    for one in verdicts:
        click.echo(one.words)
    if verdicts:
        click.echo()
    if standing is not None:
        _tell_standing(standing)
    one = asked.standard
    if asked.plan is None:
        from clew.checks.attributes.plans import bad_or_fewer

        click.echo(
            f"Look at all {one.n} balls: accept at {bad_or_fewer(one.reject - 1)}, "
            f"reject at {one.reject}."
        )
    else:
        click.echo(asked.plan.words)
        if one is not None and one.gap:
            click.echo(f"Above {one.accept} bad it passes, but the next lot is inspected normally.")
        _tell_curve(asked, asked.plan, shares, clumps)
    if drawn is not None:
        _tell_drawn(drawn)
    click.echo()
    click.echo(_how(asked))


def _tell_standing(standing: Standing) -> None:
    from clew.checks.attributes.switching import MARK

    why = f" ({standing.why})" if standing.why else ""
    score = f"; switching score {standing.score}" if standing.state == "normal" else ""
    click.echo(f"This lot is under {standing.state} inspection{why}{score}. {MARK}.")


def _tell_curve(
    asked: Asked,
    plan: AttributePlan,
    shares: Sequence[float],
    clumps: tuple[float, int] | None,
) -> None:
    from clew.checks.attributes.curves import worst_outgoing

    points = _points(asked, shares)
    if asked.points is not None:
        good, bad = _risks(asked)
        click.echo(
            f"A lot with {_share(asked.points.good_exact)} bad fails in {_share(good)}, "
            f"one with {_share(asked.points.bad_exact)} passes in {_share(bad)}."
        )
    limit, at = worst_outgoing(plan, asked.lot_size)
    click.echo(
        f"If rejected lots are sorted, at most {_share(limit)} bad goes out on average "
        f"(when {_share(at)} comes in)."
    )
    head = ["in the lot", "accepted", "drawn", "if stopped", "goes out"]
    rows = [
        [
            _share(one.bad_frac),
            f"{100 * one.accepted:.1f} %",
            f"{one.drawn_mean:.1f}",
            f"{one.curtailed_mean:.1f}",
            _share(one.outgoing_frac),
        ]
        for one in points
    ]
    if asked.lot_size is not None:
        head.append("looked at")
        for row, one in zip(rows, points, strict=True):
            row.append(f"{one.inspected_mean:.0f}")
    if clumps is not None:
        cones, chances, need = _clumped(asked, points, clumps)
        click.echo(
            f"With {clumps[1]} balls of each of {cones} cones and a correlation of "
            f"{clumps[0]:g} inside a cone, draw {need} balls to know as much."
        )
        head.append("clumped")
        for row, chance in zip(rows, chances, strict=True):
            row.append(f"{100 * chance:.1f} %")
    click.echo()
    print_table(head, rows)


def _share(value: float) -> str:
    if 0.0 < value < _LEAST_SHARE:
        return f"< {100 * _LEAST_SHARE:g} %"
    return f"{100 * value:.2g} %" if value < 0.01 else f"{100 * value:.3g} %"


def _tell_drawn(drawn: list[dict[str, Any]]) -> None:
    click.echo()
    click.echo(f"Draw these {len(drawn)} (numbers count each winder's balls, oldest first):")
    by_winder: dict[str, list[str]] = {}
    for ball in drawn:
        name = str(ball["number"]) + (f" ({ball['ball']})" if "ball" in ball else "")
        by_winder.setdefault(str(ball["winder"]), []).append(name)
    for winder in sorted(by_winder, key=lambda name: (len(name), name)):
        names = by_winder[winder]
        for start in range(0, len(names), _A_LINE):
            head = f"winder {winder}:" if start == 0 else " " * len(f"winder {winder}:")
            click.echo(f"  {head} {', '.join(names[start : start + _A_LINE])}")


def _how(asked: Asked) -> str:
    lot = "an endless lot (binomial)"
    if asked.lot_size is not None:
        lot = f"a lot of {asked.lot_size} (hypergeometric)"
    if asked.standard is not None:
        from clew.checks.attributes.iso2859 import SOURCE

        one = asked.standard
        arrow = "" if one.letter == one.plan_letter else f", arrow to {one.plan_letter}"
        return (
            f"AQL {one.aql}, level {one.level}, {one.severity}, letter {one.letter}{arrow}. "
            f"{SOURCE}. Chances exact for {lot}."
        )
    if asked.points is None:
        return f"Chances exact for {lot}."
    if asked.kind == "zero":
        return f"Fewest balls that keep the buyer's risk at no bad ball; exact for {lot}."
    fewest = "Fewest balls drawn from good lots on average, in two equal drawings,"
    if asked.kind == "single":
        fewest = "Fewest balls"
    return f"{fewest} that keep both risks; exact for {lot}, shares in whole balls."
