"""Traces as plain JSON values, for programs: moments in UTC, records by line and place."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from typing import Any

from clew.ledger.events.moments import show_utc
from clew.ledger.trace.answer import BackTrace, ForwardTrace, Rest
from clew.ledger.trace.pallets import PalletTrace
from clew.ledger.trace.recall import RecallList


def plain_back(trace: BackTrace) -> dict[str, Any]:
    """Write a trace back as plain values, with the size of its set."""
    return {**_plain_fields(trace), "size": trace.size}


def plain_forward(trace: ForwardTrace) -> dict[str, Any]:
    """Write a trace on as plain values, with how many balls are sure and possible."""
    return {
        **_plain_fields(trace), "balls_sure": trace.sure, "balls_possible": trace.possible,
    }  # fmt: skip


def plain_pallet(trace: PalletTrace) -> dict[str, Any]:
    """Write the trace of a pallet as plain values, each case with the size of its set."""
    return {**_plain_fields(trace), "traces": [plain_back(one) for one in trace.traces]}


def plain_recall(found: RecallList) -> dict[str, Any]:
    """Write a recall list as plain values."""
    return {
        "asked": found.asked, "rows": [_plain_fields(one) for one in found.rows],
        "balls_sure": found.sure, "balls_possible": found.possible,
        "customers": list(found.customers), "missing": list(found.missing),
    }  # fmt: skip


def _plain_fields(one: Any) -> dict[str, Any]:
    found = {}
    for field in fields(one):
        value = getattr(one, field.name)
        name = field.name
        if name.endswith("_us"):
            name, value = name.removesuffix("_us") + "_utc", _moments(value)
        found[name] = _plain(value)
    return found


def _moments(value: Any) -> Any:
    if isinstance(value, tuple):
        return [_moments(one) for one in value]
    return show_utc(value) if isinstance(value, int) else None


def _plain(value: Any) -> Any:
    if isinstance(value, Rest):
        return value.name
    if is_dataclass(value):
        plain = _plain_fields(value)
        if hasattr(value, "name") and "name" not in plain:
            plain["name"] = value.name
        if hasattr(value, "where"):
            plain["where"] = value.where
        return plain
    if isinstance(value, (tuple, list)):
        return [_plain(one) for one in value]
    return value
