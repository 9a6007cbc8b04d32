"""A packing as plain values, for programs: stable keys with their units."""

from __future__ import annotations

from typing import Any

from clew.plan.packing.answer import Free, PackAnswer, Present
from clew.plan.packing.ball_block import BallBlock
from clew.plan.packing.conflict import Conflict
from clew.plan.packing.drawing import Drawing, drawings_of
from clew.plan.packing.lifting import LOAD_CONSTANT_KG, LiftAnswer, Multipliers
from clew.plan.packing.option import Option, case_outside, inner_of
from clew.plan.packing.shipping import Shipped
from clew.plan.packing.words import NOT_COVERED, pack_words
from clew.plan.sequence.timed_run import MoneyPart


def plain_pack(answer: PackAnswer, *, deck_mm: float, most_height_mm: float) -> dict[str, Any]:
    """Turn a packing into dicts, lists, numbers and text.

    Parameters
    ----------
    answer : PackAnswer
        The packing.
    deck_mm, most_height_mm : float
        The pallet's deck, and how high it may stand, for the drawings [mm].

    Returns
    -------
    dict
        Ready for JSON.
    """
    best = answer.best
    drawings = drawings_of(best, deck_mm=deck_mm, most_height_mm=most_height_mm) if best else ()
    return {
        "ball": answer.ball_name,
        "currency": answer.currency,
        "words": list(pack_words(answer)),
        "ball_size": _block(answer.block),
        "best": None if best is None else _option(best),
        "options": [_option(one) for one in answer.options],
        "present": _present(answer.present),
        "saved_per_ball_money": answer.saved_per_ball,
        "saved_a_year_money": answer.saved_a_year,
        "made_a_year": answer.made_a_year,
        "conflicts": [_conflict(one) for one in answer.conflicts],
        "free": None if answer.free is None else _free(answer.free),
        "drawings": [_drawing(one) for one in drawings],
    }


def _block(block: BallBlock) -> dict[str, Any]:
    sides = {"length": block.length_mm, "breadth": block.breadth_mm, "height": block.height_mm}
    return {
        **{
            f"{name}_{end}_mm": getattr(side, end)
            for name, side in sides.items()
            for end in ("low", "central", "high")
        },
        "pressed": block.pressed,
        "measured": block.measured,
        "yarn_mass_g": block.yarn_mass_g,
        "mass_g": block.mass_g,
        "declared_mass_g": block.declared_mass_g,
    }


def _option(option: Option) -> dict[str, Any]:
    room, load = option.room, option.load
    bag = room.middle.bag
    return {
        "balls_per_bag": option.balls_per_bag,
        "bags_per_case": option.bags_per_case,
        "cases_per_pallet": option.cases_per_pallet,
        "balls_per_case": option.balls_per_case,
        "case": option.case.name,
        "case_inner_mm": list(inner_of(option.case)),
        "case_outer_mm": list(case_outside(option.case)),
        "case_limit": option.case_limit,
        "fit": option.fit,
        "bags_that_fit": room.middle.number,
        "bags_that_fit_if_large": room.if_large,
        "bags_that_fit_if_small": room.if_small,
        "bags_bound": room.middle.bound,
        "bag_counts": list(bag.counts),
        "bag_sides_mm": list(bag.sides_mm),
        "case_room_used_frac": option.bags_per_case * bag.volume_mm3
        / (room.middle.inner_mm[0] * room.middle.inner_mm[1] * room.middle.inner_mm[2]),
        "pallet_layer_cases": load.layer.number,
        "pallet_layer_bound": load.layer.bound,
        "pallet_layer_proven": load.layer.proven,
        "pallet_most_cases": load.number,
        "pallet_limited_by": load.limited_by,
        "pallet_joints_crossed": load.crossed,
        "pallet_height_mm": option.pallet_height_mm,
        "pallet_area_used_frac": load.area_frac,
        "pallet_room_used_frac": load.room_frac,
        "bag_shipped": _shipped(option.bag),
        "case_shipped": _shipped(option.full_case),
        "pallet_shipped": _shipped(option.pallet),
        "lift": plain_lift(option.lift),
        "cost_per_ball_money": _parts(option.parts),
        "cost_per_ball_if_large_money": option.cost_if_large,
        "case_priced": option.priced,
    }  # fmt: skip


def _parts(parts: tuple[MoneyPart, ...]) -> dict[str, float]:
    return {**{part.key: part.money for part in parts}, "total": sum(part.money for part in parts)}


def _shipped(one: Shipped) -> dict[str, Any]:
    return {
        "balls": one.balls,
        "declared_mass_g": one.declared_g,
        "yarn_mass_g": one.yarn_g,
        "net_mass_g": one.net_g,
        "gross_mass_g": one.gross_g,
        "volume_m3": one.volume_m3,
    }


def plain_lift(lift: LiftAnswer) -> dict[str, Any]:
    """Turn a judged lift into plain values."""

    def each(found: Multipliers) -> dict[str, float]:
        return {
            "reach": found.reach,
            "height": found.height,
            "travel": found.travel,
            "twist": found.twist,
            "rate": found.rate,
            "grip": found.grip,
            "recommended_kg": LOAD_CONSTANT_KG * found.product,
        }

    return {
        "load_kg": lift.load_kg,
        "recommended_kg": lift.recommended_kg,
        "index": lift.index,
        "words": lift.words,
        "judged_at_end": lift.judged_at_end,
        "at_start": each(lift.at_start),
        "at_end": each(lift.at_end),
        "cautions": [*lift.cautions, NOT_COVERED],
    }


def _present(present: Present) -> dict[str, Any]:
    return {
        "balls_per_bag": present.balls_per_bag,
        "bags_per_case": present.bags_per_case,
        "cases_per_pallet": present.cases_per_pallet,
        "case": present.case_name or None,
        "option": None if present.option is None else _option(present.option),
        "cost_per_ball_money": _parts(present.parts),
        "conflicts": [_conflict(one) for one in present.conflicts],
    }


def _conflict(conflict: Conflict) -> dict[str, Any]:
    return {"key": conflict.key, "words": conflict.words, "frees": list(conflict.frees)}


def _free(free: Free) -> dict[str, Any]:
    return {
        "inner_mm": list(free.middle.inner_mm),
        "outer_mm": list(free.middle.outer_mm),
        "board_m2": free.middle.board_m2,
        "bags_along": list(free.middle.counts),
        "balls_along_bag": list(free.middle.bag.counts),
        "inner_if_large_mm": list(free.large.inner_mm),
        "option": None if free.option is None else _option(free.option),
        "conflicts": [_conflict(one) for one in free.conflicts],
    }


def _drawing(drawing: Drawing) -> dict[str, Any]:
    return {
        "key": drawing.key,
        "words": drawing.words,
        "width_mm": drawing.width_mm,
        "height_mm": drawing.height_mm,
        "rects": [
            {
                "x_mm": one.x_mm,
                "y_mm": one.y_mm,
                "width_mm": one.width_mm,
                "height_mm": one.height_mm,
                "kind": one.kind,
                "turned": one.turned,
            }
            for one in drawing.rects
        ],
    }
