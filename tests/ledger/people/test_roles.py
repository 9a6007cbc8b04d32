"""The table of roles: complete, and of kinds that there are."""

from __future__ import annotations

import pytest

from clew.ledger.events.kinds import KINDS
from clew.ledger.people.roles import (
    KIND_NEEDS,
    MAY,
    PERMISSIONS,
    ROLES,
    Permission,
    needed_for,
)

WORDS = {
    "read": "read every page, and ask what it answers",
    "enter events": "enter what happens on the line, late entries too",
    "lead runs": "start a run, change its settings, end it, hand a shift over",
    "decide on lots": "release a lot, hold it, send it to rework, refuse it",
    "close cases": "close a case or a pallet",
    "ship": "send a case or a pallet out, take one back",
    "correct records": "enter a correction of an earlier record",
    "export": "take records out: a recall list, a trace for a customer",
    "manage people": "make and end people and tokens; done with commands at the ledger's machine",
}
"""What the manual says of each permission."""


def test_every_permission_is_said_and_every_role_has_its_row() -> None:
    assert set(WORDS) == set(PERMISSIONS)
    assert tuple(MAY) == ROLES == ("hand", "lead", "quality", "office")
    assert all(may <= set(PERMISSIONS) for may in MAY.values())


@pytest.mark.parametrize(
    ("permission", "roles"),
    [
        ("read", "hand lead quality office"),
        ("enter events", "hand lead quality"),
        ("lead runs", "lead"),
        ("decide on lots", "quality"),
        ("close cases", "hand lead quality office"),
        ("ship", "lead office"),
        ("correct records", "lead quality"),
        ("export", "lead quality office"),
        ("manage people", ""),
    ],
)
def test_who_may_what(permission: Permission, roles: str) -> None:
    assert " ".join(role for role in ROLES if permission in MAY[role]) == roles


def test_kinds_that_ask_for_more_are_kinds_that_there_are() -> None:
    assert set(KIND_NEEDS) <= set(KINDS)
    assert needed_for("doff") == "enter events"
    assert needed_for("lot decision") == "decide on lots"


def test_the_manual_s_table_is_the_program_s() -> None:
    from pathlib import Path

    from clew.ledger.people.roles import SCOPE_MAY, SCOPES

    page = Path(__file__).parents[3] / "docs" / "who_may.md"
    text = page.read_text(encoding="utf-8")
    for permission in PERMISSIONS:
        ticks = ["yes" if permission in MAY[role] else "" for role in ROLES]
        ticks += ["yes" if permission in SCOPE_MAY[scope] else "" for scope in SCOPES]
        assert f"| {WORDS[permission]} | {' | '.join(ticks)} |" in text
