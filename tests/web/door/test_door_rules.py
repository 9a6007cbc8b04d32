"""Every address, asked by everybody: the table of rules is complete, and it is kept."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from starlette.responses import PlainTextResponse
from starlette.testclient import TestClient
from starlette.types import Receive, Scope, Send
from tests.web.door.door_mill import NAMES, DoorMill, door_mill

from clew.ledger.people.roles import MAY, ROLES, SCOPE_MAY, SCOPES
from clew.web.app import create_app
from clew.web.door.door import Door
from clew.web.door.rules import RULES, addresses_of, rule_for

__all__ = ["door_mill"]

ADDRESSES = sorted(set(addresses_of(create_app(Path("no-such-mill")).routes)))
LET_IN = "let in"


async def behind(scope: Scope, receive: Receive, send: Send) -> None:
    """Stands for whatever a route does, so that only the door is asked."""
    await PlainTextResponse(LET_IN)(scope, receive, send)


def ask(client: TestClient, address: str) -> int:
    method, path = address.split(" ", 1)
    path = re.sub(r"\{\w+\}", "x", path)
    answer = client.request(method, path, headers={"accept": "text/html"})
    if answer.status_code == 303 and answer.headers["location"].startswith("/sign-in"):
        return 401
    return answer.status_code


def may(who: str, address: str) -> bool:
    rule = RULES[address]
    if rule == "anyone":
        return True
    if who in ROLES:
        return rule == "signed in" or rule in MAY[who]
    return who in SCOPES and (rule == "signed in" or rule in SCOPE_MAY[who])


def test_no_route_is_missing_from_the_table() -> None:
    assert [one for one in ADDRESSES if one not in RULES] == []


def test_no_rule_is_of_a_route_that_there_is_not() -> None:
    assert [one for one in RULES if one not in ADDRESSES] == []


@pytest.mark.parametrize("who", ["nobody", *ROLES, *SCOPES])
def test_every_address_lets_in_who_may_and_nobody_else(door_mill: DoorMill, who: str) -> None:
    door = Door(behind, door_mill.bench, sign_in=True)
    client = door_mill.client(who, app=door)
    for address in ADDRESSES:
        expected = 200 if may(who, address) else 401 if who == "nobody" else 403
        assert ask(client, address) == expected, address


@pytest.mark.parametrize("who", ["nobody", *ROLES, *SCOPES])
def test_whoever_may_not_is_refused_by_the_whole_application(door_mill: DoorMill, who: str) -> None:
    client = door_mill.client(who)
    refused = [address for address in ADDRESSES if not may(who, address)]
    assert refused or who == "lead"  # whose role holds every address so far
    for address in refused:
        assert ask(client, address) == (401 if who == "nobody" else 403), address


@pytest.mark.parametrize(
    ("address", "roles"),
    [
        ("POST /run/start", {"lead"}),
        ("POST /run/set", {"lead"}),
        ("POST /run/end", {"lead"}),
        ("POST /run/hand", {"hand", "lead", "quality"}),
        ("POST /run/hand/undo", {"hand", "lead", "quality"}),
        ("POST /api/events", {"hand", "lead", "quality"}),
        ("GET /wind", {"hand", "lead", "quality", "office"}),
        ("GET /api/events", {"hand", "lead", "quality", "office"}),
    ],
)
def test_who_comes_in_where(door_mill: DoorMill, address: str, roles: set[str]) -> None:
    door = Door(behind, door_mill.bench, sign_in=True)
    assert {
        role for role in ROLES if ask(door_mill.client(role, app=door), address) == 200
    } == roles


def test_nothing_that_changes_the_ledger_asks_no_more_than_reading() -> None:
    changing = {address: rule for address, rule in RULES.items() if not address.startswith("GET")}
    assert [address for address, rule in changing.items() if rule == "read"] == []
    assert {address for address, rule in changing.items() if rule == "anyone"} == {
        "POST /reader", "POST /sign-in",
    }  # fmt: skip


@pytest.mark.parametrize("who", ["nobody", *ROLES])
@pytest.mark.parametrize("method", ["GET", "POST", "PUT", "DELETE", "PATCH"])
def test_an_address_that_is_not_in_the_table_is_closed(
    door_mill: DoorMill, who: str, method: str
) -> None:
    client = door_mill.client(who, app=Door(behind, door_mill.bench, sign_in=True))
    for path in ("/secret", "/wind/secret", "/static", "/api", "/wind/"):
        assert client.request(method, path).status_code == (303 if who == "nobody" else 404) or (
            path == "/api" and who == "nobody"
        )
    if method != "GET":
        wrong = client.request(method, "/wind").status_code
        assert wrong == (303 if who == "nobody" else 405)


def test_odd_spellings_of_an_open_address_open_no_other(door_mill: DoorMill) -> None:
    client = door_mill.client(app=Door(behind, door_mill.bench, sign_in=True))
    for path in (
        "/static/x/../../wind", "/static/x/%2e%2e%2f%2e%2e%2fwind", "/wind%3f/static/x/y",
        "/sign-in%3f", "/sign-in/", "//sign-in", "/sign-in%0a", "/Sign-In", "/reader/x",
    ):  # fmt: skip
        answer = client.get(path)
        assert answer.status_code == 303, path
        assert answer.headers["location"].startswith("/sign-in")


def test_at_the_tablet_everything_is_open(door_mill: DoorMill) -> None:
    client = door_mill.client(app=Door(behind, door_mill.bench, sign_in=False))
    for address in [*ADDRESSES, "GET /not/in/the/table"]:
        assert ask(client, address) == 200, address


def test_a_token_is_held_to_its_scope_at_the_tablet_too(door_mill: DoorMill) -> None:
    door = Door(behind, door_mill.bench, sign_in=False)
    assert ask(door_mill.client("read", app=door), "POST /api/events") == 403
    assert ask(door_mill.client("events:write", app=door), "POST /api/events") == 200
    assert ask(door_mill.client("events:write", app=door), "GET /wind") == 403


@pytest.mark.parametrize(
    ("method", "path", "rule"),
    [
        ("HEAD", "/wind", "read"),
        ("GET", "/static/a/b.css", "anyone"),
        ("GET", "/static/a/b/c", None),
        ("POST", "/wind", "no such method"),
        ("GET", "/run/hand/undo", "no such method"),
        ("GET", "", None),
    ],
)
def test_how_a_rule_is_found(method: str, path: str, rule: str | None) -> None:
    assert rule_for(method, path) == rule


def test_a_route_of_an_unknown_kind_does_not_slip_by() -> None:
    with pytest.raises(TypeError, match="unknown kind"):
        list(addresses_of([object()]))


def test_every_role_has_somebody_here() -> None:
    assert tuple(NAMES) == ROLES
