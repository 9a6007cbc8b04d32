"""The four roles, and what each may do: one table."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal, get_args

from clew.languages import say

Role = Literal["hand", "lead", "quality", "office"]
ROLE_WORDS: Mapping[str, str] = {
    "hand": say("hand"), "lead": say("lead"), "quality": say("quality"), "office": say("office"),
}  # fmt: skip
"""What each role is called where a person reads it."""
Permission = Literal[
    "read",
    "enter events",
    "lead runs",
    "decide on lots",
    "close cases",
    "ship",
    "correct records",
    "export",
    "manage people",
]

ROLES: tuple[Role, ...] = get_args(Role)
PERMISSIONS: tuple[Permission, ...] = get_args(Permission)

PERMISSION_NAMES: Mapping[Permission, str] = {
    "read": say("read"),
    "enter events": say("enter events"),
    "lead runs": say("start, change and end runs, and hand a shift over"),
    "decide on lots": say("decide on lots"),
    "close cases": say("close cases and pallets"),
    "ship": say("send cases and pallets out"),
    "correct records": say("correct records"),
    "export": say("take records out"),
    "manage people": say("manage people"),
}
"""What each permission is called where a person reads it."""

MAY: Mapping[Role, frozenset[Permission]] = {
    "hand": frozenset({"read", "enter events", "close cases"}),
    "lead": frozenset(
        {"read", "enter events", "lead runs", "close cases", "ship", "correct records", "export"}
    ),
    "quality": frozenset(
        {"read", "enter events", "decide on lots", "close cases", "correct records", "export"}
    ),
    "office": frozenset({"read", "close cases", "ship", "export"}),
}
"""What each role may do. Nobody manages people over the network."""

Scope = Literal["events:write", "read"]
SCOPES: tuple[Scope, ...] = get_args(Scope)

SCOPE_MAY: Mapping[Scope, frozenset[Permission]] = {
    "events:write": frozenset({"enter events", "close cases"}),
    "read": frozenset({"read", "export"}),
}
"""What a machine's token lets it do: it reports and reads; it leads no run and decides nothing."""

LOOPBACK_MAY: frozenset[Permission] = frozenset(PERMISSIONS)
"""Whoever sits at the mill's own machine holds the ledger's file, and so may do all of it."""

KIND_NEEDS: Mapping[str, Permission] = {
    "run start": "lead runs",
    "run set": "lead runs",
    "run end": "lead runs",
    "handover": "lead runs",
    "lot decision": "decide on lots",
    "case closed": "close cases",
    "pallet closed": "close cases",
    "shipped": "ship",
    "returned": "ship",
    "correction": "correct records",
}
"""Kinds of event that ask for more than "enter events"."""


def needed_for(kind: str) -> Permission:
    """Say what somebody must be allowed to do to enter an event.

    Parameters
    ----------
    kind : str
        One of `clew.ledger.events.kinds.KINDS`.

    Returns
    -------
    str
        A permission.
    """
    return KIND_NEEDS.get(kind, "enter events")
