"""The table of roles: complete, and of kinds that there are."""

from __future__ import annotations

import pytest

from clew.ledger.events.kinds import KINDS
from clew.ledger.people.roles import (
    KIND_NEEDS,
    MAY,
    PERMISSION_WORDS,
    PERMISSIONS,
    ROLES,
    Permission,
    needed_for,
    roles_that_may,
)


def test_every_permission_is_said_and_every_role_has_its_row() -> None:
    assert set(PERMISSION_WORDS) == set(PERMISSIONS)
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
    assert roles_that_may(permission) == tuple(roles.split())


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
        assert f"| {PERMISSION_WORDS[permission]} | {' | '.join(ticks)} |" in text
