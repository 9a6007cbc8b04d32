"""A row of machines as plain values, with keys that scripts may rely on."""

from __future__ import annotations

from typing import Any

from clew.line.interference.crew_cost import Crew, cheapest
from clew.line.interference.patrol import Patrol
from clew.line.interference.stopped import Interference
from clew.line.interference.synchronous import Assignment, Steps
from clew.line.interference.which_model import Applies
from clew.line.interference.wright import LEAST_MACHINES, wright_wait_s


def interference_plain(
    found: Interference,
    more: Patrol | Steps | None = None,
    applies: Applies | None = None,
    crews: tuple[Crew, ...] = (),
    assignments: tuple[Assignment, ...] = (),
) -> dict[str, Any]:
    """Everything known of a row of machines, as an object for JSON.

    Parameters
    ----------
    found : Interference
        What runs, waits and is served.
    more : Patrol or Steps or None
        The round or the cycle it comes from.
    applies : Applies or None
        Which model applies, and why.
    crews : tuple of Crew
        The table of crews; empty for none.
    assignments : tuple of Assignment
        Best whole numbers of machines for one hand; empty for none.

    Returns
    -------
    dict
        Times in s, shares as fractions, costs in the money they came in.
    """
    plain = {
        "law": found.law,
        "machines": found.machines,
        "run_s": found.run_s,
        "service_s": found.service_s,
    } | _row(found)
    if isinstance(more, Patrol):
        plain |= {
            "walk_round_s": more.walk_round_s,
            "round_s": more.round_s,
            "served_a_round": more.served_a_round,
            "walking_frac": more.walking_frac,
        }
    elif more is not None:
        plain |= {
            "ideal_machines": more.ideal_machines,
            "cycle_s": more.cycle_s,
            "hand_idle_s": more.hand_idle_s,
            "machine_idle_s": more.machine_idle_s,
        }
    if (rule := wright_rule_s(found)) is not None:
        plain["wright_wait_s"] = rule
    if applies is not None:
        plain["applies"] = {
            "law": applies.law,
            "exact": applies.exact,
            "reasons": list(applies.reasons),
        }
    if crews:
        plain["crews"] = [
            _row(crew.interference) | {"cost_per_hour": crew.cost_per_hour} for crew in crews
        ]
        plain["cheapest_hands"] = cheapest(crews).interference.hands
    if assignments:
        plain["cheapest_machines"] = [
            {"machines": one.machines, "cost_a_fill": one.cost_a_fill} for one in assignments
        ]
    return plain


def wright_rule_s(found: Interference) -> float | None:
    """Mean wait of a stop by Wright's formula, where it has one to offer.

    Parameters
    ----------
    found : Interference
        What an exact model says of the row.

    Returns
    -------
    float or None
        Wait [s]; None for several hands, few machines, or a hand whose walk counts.
    """
    walks = found.law in ("patrol", "synchronous")
    if found.hands > 1 or found.machines < LEAST_MACHINES or walks:
        return None
    return wright_wait_s(found.machines, run_s=found.run_s, service_s=found.service_s)


def _row(found: Interference) -> dict[str, Any]:
    return {
        "hands": found.hands,
        "running_mean": found.running_mean,
        "waiting_mean": found.waiting_mean,
        "stopped_mean": found.stopped_mean,
        "hands_busy": found.hands_busy,
        "hand_share": found.hand_share,
        "efficiency": found.efficiency,
        "calls_per_hour": found.calls_per_hour,
        "chance_waits": found.chance_waits,
        "wait_s": found.wait_s,
    }
