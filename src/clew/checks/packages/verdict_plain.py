"""A verdict as plain values with stable keys, for programs and for paper."""

from __future__ import annotations

import math
from typing import Any

from clew.checks.packages.rule import OFFICE, Rule
from clew.checks.packages.verdict import Verdict, why_short
from clew.checks.packages.worksheet import Worksheet
from clew.mill.net_content import Tables
from clew.quantities import POUND_G, YARD_M


def _finite(value: float | None) -> float | None:
    return value if value is not None and math.isfinite(value) else None


def plain_sheet(sheet: Worksheet) -> dict[str, Any]:
    """Give one worksheet as plain values; masses in g, lengths in m, as `unit` says.

    Parameters
    ----------
    sheet : Worksheet
        The sheet.

    Returns
    -------
    dict
        Every figure by its name.
    """
    plan = sheet.plan
    mass = plan.quantity == "mass"
    return {
        "quantity": plan.quantity,
        "unit": "g" if mass else "m",
        "declared": plan.declared,
        "declared_inch_pound": plan.declared / (POUND_G if mass else YARD_M),
        "inch_pound_unit": "lb" if mass else "yd",
        "condition": sheet.sample.condition,
        "lot_size": sheet.lot_size,
        "n_given": sheet.n_given,
        "n_required": sheet.n_required,
        "n_used": sheet.n_used,
        "complete": sheet.n_given >= sheet.n_required,
        "left_out": sheet.left_out,
        "left_out_short": sheet.left_out_short,
        "left_out_far_short": len(sheet.left_out_far),
        "tare_n": sheet.tare_n,
        "tare_mean": sheet.tare_mean,
        "nominal_gross": sheet.nominal_gross,
        "allowance": sheet.allowance,
        "allowance_when": sheet.allowance_when if sheet.allowance else None,
        "steps": list(sheet.steps),
        "unit_of_measure": sheet.unit_of_measure,
        "total_error": sheet.total_error,
        "mean_error": sheet.mean_error,
        "mean": sheet.mean,
        "sd": sheet.sd,
        "factor": plan.factor,
        "sample_error_limit": sheet.sample_error_limit,
        "limit": sheet.limit,
        "average_required": plan.average_n > 0,
        "average_pass": sheet.average_pass,
        "average_at_limit": sheet.average_at_limit,
        "individual_required": bool(plan.stages) or plan.individual_open,
        "deficiency": _finite(sheet.deficiency_used),
        "lowest_ball": _finite(plan.declared - sheet.deficiency_used),
        "far_deficiency": _finite(sheet.far_used),
        "over_limit_count": sheet.short_count,
        "far_short_count": sheet.far_count,
        "allowed": sheet.allowed,
        "stages": [
            {"drawn": stage.drawn, "accept": stage.accept, "reject": stage.reject}
            for stage in plan.stages
        ],
        "individual_pass": sheet.individual_pass,
        "pass": sheet.passed,
        "failed": [
            {"ball": ball.name, "why": why_short(sheet, ball)}
            for ball in (*(one for one in sheet.balls if one.short), *sheet.left_out_far)
        ],
        "balls": [
            {
                "ball": ball.name,
                "content": round(ball.content, 9),
                "gross": ball.gross,
                "error": round(ball.error, 9),
                "error_units": None if ball.units is None else round(ball.units, 6),
                "short": ball.short,
                "far_short": ball.far_short,
                "at_limit": ball.at_limit,
            }
            for ball in sheet.balls
        ],
    }


def plain_verdict(verdict: Verdict, tables: Tables) -> dict[str, Any]:
    """Give a verdict as plain values.

    Parameters
    ----------
    verdict : Verdict
        The verdict.
    tables : Tables
        The tables used.

    Returns
    -------
    dict
        The answer first; then the first declaration's figures at the top, as scripts want them,
        and every worksheet whole under ``sheets``.
    """
    first = plain_sheet(verdict.sheets[0])
    top = (
        "mean", "sd", "limit", "n_required", "over_limit_count", "allowed", "unit", "n_given",
        "n_used", "complete", "lot_size", "declared", "factor", "sample_error_limit",
    )  # fmt: skip
    return {
        "rule": verdict.rule.key,
        "pass": verdict.passed,
        "verdict": verdict.word,
        "average_pass": verdict.average_pass,
        "individual_pass": verdict.individual_pass,
        **{key: first[key] for key in top},
        "complete": all(sheet.n_given >= sheet.n_required for sheet in verdict.sheets),
        "table_confirmed": verdict.confirmed,
        "marks": list(verdict.marks),
        "sentences": list(verdict.sentences),
        "cautions": list(verdict.cautions),
        "tables": {"file": tables.file, "sha256": tables.sha256},
        "sheets": [plain_sheet(sheet) for sheet in verdict.sheets],
    }


def plain_rule(rule: Rule, tables: Tables) -> dict[str, Any]:
    """Give a rule set with its tables as plain values.

    Parameters
    ----------
    rule : Rule
        The rule set.
    tables : Tables
        The tables in use.

    Returns
    -------
    dict
        Sources, editions, marks, and which tables are confirmed.
    """
    used = [tables[key] for key in rule.tables]
    return {
        "rule": rule.key,
        "title": rule.title,
        "source": rule.source,
        "edition": rule.edition,
        "date": rule.date,
        "market": rule.market,
        "covers": list(rule.covers),
        "marks": [{"what": what, "mark": mark} for what, mark in rule.marks],
        "equality": rule.equality,
        "equality_by": rule.equality_by,
        "moisture": rule.moisture,
        "commercial_regain": rule.commercial,
        "at_packing": rule.at_packing,
        "tables": [
            {
                "key": table.key,
                "title": table.title,
                "source": table.source,
                "edition": table.edition,
                "date": table.date,
                "mark": table.mark,
                "note": table.note,
                "confirmed": table.confirmed,
                "confirmed_by": table.confirmed_by,
                "off": table.off,
            }
            for table in used
        ],
        "tables_confirmed": all(table.confirmed and not table.off for table in used),
        "for_whom": OFFICE,
    }
