"""The orders against the stock, in plain values for programs."""

from __future__ import annotations

from typing import Any

from clew.plan.orders.answer import Materials, OrderMaterials
from clew.plan.runs import PlannedRun, what_is_made


def plain_materials(materials: Materials) -> dict[str, Any]:
    """Turn materials into plain values.

    Parameters
    ----------
    materials : Materials
        What `materials_for` found.

    Returns
    -------
    dict
        Numbers, words, lists, with the unit in each key.
    """
    return {
        "met": materials.met,
        "sure_frac": materials.sure_frac,
        "seed": materials.seed,
        "proven": materials.proven,
        "dominant_doubt": materials.dominant_doubt,
        "dominant_doubt_frac": materials.dominant_doubt_frac,
        "orders": [_order(order) for order in materials.orders],
        "lots": [
            {
                "lot": lot.lot_name,
                "colour": lot.colour_name,
                "yarn": lot.yarn_name,
                "stock_cones": lot.stock_cones,
                "wanted_cones": lot.wanted_cones,
                "left_cones": lot.left_cones,
                "p_suffices": lot.p_suffices,
                "orders": list(lot.order_numbers),
            }
            for lot in materials.lots
        ],
        "runs": [_run(run) for run in materials.runs],
        "asks": [
            {
                "colour": ask.colour_name,
                "yarn": ask.yarn_name,
                "cones": ask.cones,
                "mass_kg": ask.mass_kg,
                "by": ask.by.isoformat(),
                "orders": list(ask.order_numbers),
                "more": [
                    {"order": order, "lot": lot, "cones": cones, "mass_kg": mass_kg}
                    for order, lot, cones, mass_kg in ask.more
                ],
            }
            for ask in materials.asks
        ],
        "shade_notes": list(materials.shade_notes),
    }


def _order(order: OrderMaterials) -> dict[str, Any]:
    asked = order.asked
    return {
        "order": asked.number,
        "customer": asked.customer,
        "ball": asked.ball_name,
        "colour": asked.colour_name,
        "yarn": order.yarn_name,
        "balls": asked.balls,
        "due": asked.due.isoformat(),
        "dye_lots": asked.dye_lots,
        "met": order.met,
        "cones_mean": order.cones_mean,
        "cones_sure": order.cones_sure,
        "p_enough": order.p_enough,
        "lots": [
            {
                "lot": lot.lot_name,
                "balls": lot.balls,
                "wound_balls": lot.wound_balls,
                "cones_mean": lot.cones_mean,
                "cones": lot.cones,
                "p_enough": lot.p_enough,
                "doubts_frac": lot.doubts,
            }
            for lot in order.lots
        ],
        "conflict": order.conflict,
        "frees": list(order.frees),
    }


def _run(run: PlannedRun) -> dict[str, Any]:
    return {
        **what_is_made(run),
        "priority": run.priority,
        "lines": list(run.lines),
        "ready": None if run.ready is None else run.ready.isoformat(),
    }


def plain_unmet(materials: Materials) -> list[dict[str, Any]]:
    """Turn the orders that cannot be met into plain values: why, and what would free them."""
    return [
        {"order": one.asked.number, "why": one.conflict, "frees": list(one.frees)}
        for one in materials.orders
        if not one.met
    ]
