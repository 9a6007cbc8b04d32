"""What `clew weigh arl` may be asked together, and the options named in its faults."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from clew.faults import BadInput, Fault

CHARTS = ["xbar", "ewma", "cusum", "individuals-mr", "poisson-cusum"]

USES: dict[str, frozenset[str]] = {
    "xbar": frozenset({"width", "rules"}),
    "ewma": frozenset({"weight", "width", "head_start", "exact_limits"}),
    "cusum": frozenset({"k", "h", "head_start", "sides"}),
    "individuals-mr": frozenset({"width", "range_width"}),
    "poisson-cusum": frozenset({"k", "h", "head_start", "mean", "lower"}),
}
NEEDS: dict[str, tuple[str, ...]] = {
    "xbar": (),
    "ewma": ("weight", "width"),
    "cusum": ("k", "h"),
    "individuals-mr": (),
    "poisson-cusum": ("mean", "k", "h"),
}
OPTIONS = {
    "weight": "--lambda",
    "width": "--width",
    "rules": "--rules",
    "scale": "--width",
    "head_start": "--head-start",
    "exact_limits": "--exact-limits",
    "k": "--k",
    "h": "--h",
    "sides": "--sides",
    "range_width": "--range-width",
    "mean": "--mean",
    "lower": "--lower",
    "shift": "--shift",
    "runs": "--runs",
    "groups": "--groups",
    "group_size": "--group-size",
    "balls_a_cone": "--balls-a-cone",
    "rho": "--rho",
    "balls_a_week": "--balls-a-week",
    "false_alarms_a_week": "--false-alarms-a-week",
    "shift_g": "--see",
    "within_balls": "--within",
    "ball_sd_g": "--ball-sd",
    "cone_sd_g": "--cone-sd",
    "cones_a_group": "--cones-a-group",
    "interval_balls": "--interval",
    "mill_folder": "--mill",
}
"""Names inside the rooms and the options that carry them."""


def placed(fault: Fault) -> Fault:
    """Name the option in a fault that a room raised."""
    return replace(fault, key=OPTIONS.get(fault.key, fault.key))


def check_chart_terms(chart: str, given: dict[str, Any]) -> None:
    """Refuse what a chart does not use and ask for what it needs.

    Parameters
    ----------
    chart : str
        Its kind.
    given : dict
        Chart options by their name inside; None where not given.

    Raises
    ------
    BadInput
        With every fault.
    """
    faults = [
        Fault(f"chart {chart} does not use it", "it left out", key=OPTIONS[name])
        for name, value in given.items()
        if value is not None and name not in USES[chart]
    ]
    faults += [
        Fault("missing", f"a value for chart {chart}", key=OPTIONS[name])
        for name in NEEDS[chart]
        if given.get(name) is None
    ]
    if faults:
        raise BadInput(faults)


def check_wish_terms(wanted: dict[str, Any], chart_terms: dict[str, Any]) -> None:
    """Refuse half a wish, and a wish together with one chart.

    Parameters
    ----------
    wanted : dict
        What a wish needs, by its name inside; None where not given.
    chart_terms : dict
        Everything that describes one chart, by option; None where not given.

    Raises
    ------
    BadInput
        With every fault.
    """
    faults = [
        Fault("missing", "a value beside --see", key=OPTIONS[name])
        for name, value in wanted.items()
        if value is None
    ]
    faults += [
        Fault("the chart is chosen for you with --see", "it left out", key=option)
        for option, value in chart_terms.items()
        if value is not None
    ]
    if faults:
        raise BadInput(faults)


def group_sizes(text: str) -> list[int]:
    """Read a list of group sizes such as ``1,3,5``; raises BadInput for anything else."""
    sizes = [part.strip() for part in text.split(",")]
    if not all(part.isascii() and part.isdigit() and len(part) < 6 for part in sizes):
        fault = Fault("not a list of group sizes", "such as 1,3,5", key="--groups", value=text[:40])
        raise BadInput(fault)
    return [int(part) for part in sizes]
