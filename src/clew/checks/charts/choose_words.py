"""The chosen chart in words and as plain values."""

from __future__ import annotations

from typing import Any

from clew.checks.charts.choose_terms import Candidate, Choice, limits_g
from clew.quantities import number

SHORT_NAMES = {
    "xbar": "X-bar",
    "xbar-rules": "X-bar, rules",
    "ewma": "EWMA",
    "cusum": "CUSUM",
}
"""Names for a table."""

_NAMES = {
    "xbar": "X-bar chart",
    "xbar-rules": "X-bar chart with run rules",
    "ewma": "EWMA",
    "cusum": "CUSUM",
}


def chart_name(one: Candidate) -> str:
    """Name a chart with its groups: ``EWMA of single balls``."""
    group = "single balls" if one.group_size == 1 else f"groups of {one.group_size}"
    return f"{_NAMES[one.chart]} of {group}"


def settings_words(one: Candidate) -> str:
    """How to set a chart, in sd of a plotted point and in grams."""
    terms, grams = one.terms, limits_g(one)
    if one.chart == "xbar":
        return f"limits {terms['width']:.3f} sd, ±{number(grams['limit_g'], 3)} g"
    if one.chart == "xbar-rules":
        return (
            f"zones of {terms['scale']:.3f} sd, outer limits ±{number(grams['limit_g'], 3)} g; "
            f"with 2-of-3, 4-of-5"
        )
    if one.chart == "ewma":
        return (
            f"weight {terms['weight']:g}, limits {terms['width']:.3f} sd of the average, "
            f"±{number(grams['limit_g'], 3)} g"
        )
    return (
        f"k {terms['k']:.3f} sd = {number(grams['k_g'], 3)} g, "
        f"h {terms['h']:.3f} sd = {number(grams['h_g'], 3)} g"
    )


def choice_words(choice: Choice) -> list[str]:
    """Say what the lead gets, and what the next best costs.

    Parameters
    ----------
    choice : Choice
        The answer.

    Returns
    -------
    list of str
        Sentences, the answer first.
    """
    wish, best = choice.wish, choice.best
    wished = (
        f"a shift of {number(wish.shift_g)} g within {_balls(wish.within_balls)} at "
        f"{number(wish.false_alarms_a_week)} false {_alarms(wish.false_alarms_a_week)} a week"
    )
    lines = [
        f"{'Yes' if choice.can else 'No'}: {wished} "
        + ("can be had." if choice.can else "cannot be had on average from these charts."),
        f"Best: {chart_name(best)}: {settings_words(best)}.",
        f"It calls {_balls(best.balls_mean, 3)} after the shift on average, within "
        f"{number(best.balls_ninety)} nine times in ten; "
        f"within {number(wish.within_balls)} with chance {100.0 * best.chance_within:.0f} %.",
    ]
    if choice.seen_g is not None:
        lines.append(
            f"Within {_balls(wish.within_balls)} on average it sees {number(choice.seen_g, 3)} g."
        )
    else:
        lines.append(
            f"A group comes every {best.interval_balls} balls: nothing is seen within "
            f"{number(wish.within_balls)}."
        )
    mend = "make the balls more alike"
    if best.group_size < best.interval_balls:
        mend = f"weigh more of them, or {mend}"
    if choice.false_alarms_needed is not None:
        lines.append(
            f"To see {number(wish.shift_g)} g so soon, take "
            f"{number(choice.false_alarms_needed, 3)} false alarms a week, or {mend}."
        )
    elif not choice.can:
        lines.append(
            f"More false alarms alone do not mend it: {mend}, or ask for more grams or more balls."
        )
    for other in choice.others:
        later = other.balls_mean - best.balls_mean
        how = f"{_balls(later, 2)} later" if later >= 0.05 else "as soon (within 0.05 of a ball)"
        lines.append(f"{chart_name(other)}, the best of its kind: {how} on average.")
    lines += _cone_words(choice)
    return lines + [f"Left out: {reason}." for reason in choice.left_out]


def _cone_words(choice: Choice) -> list[str]:
    wish, best = choice.wish, choice.best
    if wish.cone_sd_g == 0.0:
        return []
    if wish.balls_a_cone is None:
        return [
            "Balls of one cone are alike: this holds if each group comes from other cones than the "
            "last; say how many balls a cone gives in a row with --balls-a-cone."
        ]
    sharing = choice.sharing
    if sharing is None:
        return []
    line = f"A cone gives {wish.balls_a_cone} balls in a row, and they are alike: "
    if choice.cones is None:
        line += f"{chart_name(sharing)} would give more false alarms than allowed"
    else:
        true = wish.false_alarms_a_week * sharing.quiet_groups / choice.cones.arl
        line += (
            f"{chart_name(sharing)} would call after {_balls(sharing.balls_mean, 3)} but "
            f"give about {number(true, 2)} false alarms a week"
        )
    if best.apart:
        return [f"{line}, so each group is to begin with a new cone."]
    take = f"take --interval {wish.balls_a_cone}"
    return [f"{line}. No group asked for keeps to cones of its own: {take}."]


def _balls(count: float, digits: int = 4) -> str:
    text = number(count, digits)
    return f"{text} ball" if text == "1" else f"{text} balls"


def _alarms(count: float) -> str:
    return "alarm" if count == 1.0 else "alarms"


def candidate_plain(one: Candidate) -> dict[str, Any]:
    """One chart as plain values, with its settings in sd and grams."""
    return (
        {
            "chart": one.chart,
            "group_size": one.group_size,
            "interval_balls": one.interval_balls,
            "point_sd_g": one.point_sd_g,
            "shift_sd": one.shift_sd,
            "arl_quiet": one.quiet_groups,
            "balls_mean": one.balls_mean,
            "balls_ninety": one.balls_ninety,
            "balls_mean_later": one.balls_mean_later,
            "chance_within": one.chance_within,
            "weighed_a_week": one.weighed_a_week,
            "apart": one.apart,
        }
        | one.terms
        | limits_g(one)
    )


def choice_plain(choice: Choice) -> dict[str, Any]:
    """The whole answer as plain values."""
    wish = choice.wish
    return {
        "can": choice.can,
        "best": candidate_plain(choice.best),
        "others": [candidate_plain(one) for one in choice.others],
        "table": [candidate_plain(one) for one in choice.table],
        "seen_g": choice.seen_g,
        "false_alarms_a_week_needed": choice.false_alarms_needed,
        "sharing": None if choice.sharing is None else candidate_plain(choice.sharing),
        "cones_arl": None if choice.cones is None else choice.cones.arl,
        "cones_arl_standard_error": None if choice.cones is None else choice.cones.standard_error,
        "left_out": list(choice.left_out),
        "balls_a_week": wish.balls_a_week,
        "false_alarms_a_week": wish.false_alarms_a_week,
        "shift_g": wish.shift_g,
        "within_balls": wish.within_balls,
        "ball_sd_g": wish.ball_sd_g,
        "cone_sd_g": wish.cone_sd_g,
        "cones_a_group": wish.cones_a_group,
        "balls_a_cone": wish.balls_a_cone,
    }
