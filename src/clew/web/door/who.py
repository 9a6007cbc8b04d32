"""Who asks: a person at the tablet, a person who signed in, a machine with a token."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from starlette.requests import Request

from clew.ledger.people.roles import (
    LOOPBACK_MAY,
    MAY,
    ROLE_WORDS,
    SCOPE_MAY,
    Permission,
    Role,
    Scope,
)

How = Literal["tablet", "session", "token", "nobody"]


@dataclass(frozen=True, slots=True)
class Who:
    """Who asks, and what they may do.

    Attributes
    ----------
    name : str
        The author of whatever is entered: a person's name; empty where nobody said who stands at
        the tablet, and for a machine.
    role : str
        hand, lead, quality or office; empty for a machine and for nobody.
    how : {"tablet", "session", "token", "nobody"}
        At the mill's own machine without signing in; signed in; a machine's token; not at all.
    permissions : frozenset of str
        What they may do.
    source : str
        For a message's ``source``: "tablet", the session's "web", or the token's name.
    line : str
        The one line a token may write to; empty for any.
    csrf : str
        What a form must send back as ``csrf``; empty where nothing is asked.
    """

    name: str
    role: Role | Literal[""]
    how: How
    permissions: frozenset[Permission]
    source: str
    line: str = ""
    csrf: str = ""

    @property
    def role_words(self) -> str:
        """What their role is called; empty for a machine and for nobody."""
        return ROLE_WORDS.get(self.role, "")

    def may(self, permission: Permission) -> bool:
        """Say whether they may do something."""
        return permission in self.permissions

    def may_write_to(self, line: str) -> bool:
        """Say whether they may enter events of a line."""
        return not self.line or self.line == line


NOBODY = Who(name="", role="", how="nobody", permissions=frozenset(), source="")


def at_tablet(name: str) -> Who:
    """Make the one who stands at the mill's own machine; the name may be empty."""
    return Who(name=name, role="lead", how="tablet", permissions=LOOPBACK_MAY, source="tablet")


def of_session(name: str, role: Role, csrf: str) -> Who:
    """Make somebody who signed in."""
    return Who(name=name, role=role, how="session", permissions=MAY[role], source="web", csrf=csrf)


def of_token(name: str, scopes: tuple[Scope, ...], line: str) -> Who:
    """Make a machine that has a token; its name is its source, and it vouches as nobody."""
    may = frozenset[Permission]().union(*(SCOPE_MAY[scope] for scope in scopes))
    return Who(name="", role="", how="token", permissions=may, source=name, line=line)


def who_of(request: Request) -> Who:
    """Say who asks; the door has found it out before any page is made."""
    who = getattr(request.state, "who", NOBODY)
    assert isinstance(who, Who)
    return who
