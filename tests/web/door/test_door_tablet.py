"""At the mill's own machine: nobody signs in, and the pages ask who is at the tablet."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from urllib.parse import unquote

import pytest
from starlette.testclient import TestClient

from clew.ledger.events.moments import us_of
from clew.ledger.store.ledger import sqlite_url
from clew.ledger.store.opening import open_ledger
from clew.ledger.store.reading import chain_records
from clew.mill import mill_from_text
from clew.web.door.names import shift_ends_us

Opener = Callable[[Path], TestClient]


@pytest.fixture
def tablet(open_mill: Opener, mill_dir: Path) -> TestClient:
    return open_mill(mill_dir)


def test_the_page_asks_who_and_one_touch_says_it(tablet: TestClient, mill_dir: Path) -> None:
    assert "Who is at the tablet?" in tablet.get("/steam").text
    assert not (mill_dir / "mill.db").exists()  # looking makes no ledger
    assert "lately used" not in tablet.get("/who?back=/steam").text
    for name in ("Anke Märten", "Jo"):
        said = tablet.post("/who", data={"other": f"  {name} ", "back": "/steam"})
        assert (said.status_code, said.headers["location"]) == (303, "/steam")
        assert name in tablet.get("/steam").text
    page = tablet.get("/who").text
    assert page.index('value="Jo" aria-pressed="true"') < page.index(
        'value="Anke Märten" aria-pressed="false"'
    )
    touched = tablet.post("/who", data={"hand": "Anke Märten", "back": "/dry"})
    assert touched.headers["location"] == "/dry"
    assert unquote(tablet.cookies["clew_hand"]) == "Anke Märten"
    ledger = open_ledger(sqlite_url(mill_dir / "mill.db"))
    line = ledger.engine and next(iter(_lines(mill_dir)))
    records = list(chain_records(ledger, line))
    ledger.close()
    assert [(r.kind, r.author, r.fields()["hand"]) for r in records] == [
        ("at the tablet", name, name) for name in ("Anke Märten", "Jo", "Anke Märten")
    ]


def _lines(folder: Path) -> tuple[str, ...]:
    from clew.mill import read_mill

    return tuple(line.name for line in read_mill(folder).line)


def test_the_name_goes_when_nobody_is_there(tablet: TestClient) -> None:
    tablet.post("/who", data={"other": "Jo"})
    tablet.post("/who", data={"hand": ""})
    assert "clew_hand" not in tablet.cookies
    assert "Who is at the tablet?" in tablet.get("/steam").text


@pytest.mark.parametrize("name", ["x" * 200, "Jo\x07", "Jo\nBo"])
def test_what_is_no_name_is_said_so(tablet: TestClient, name: str) -> None:
    refused = tablet.post("/who", data={"other": name})
    assert refused.status_code == 422
    assert "no name" in refused.text
    assert "set-cookie" not in refused.headers


@pytest.mark.parametrize("cookie", ["x" * 3000, "%00", '""', "%ff%0a", ""])
def test_a_cookie_that_is_no_name_names_nobody(tablet: TestClient, cookie: str) -> None:
    page = tablet.get("/steam", headers={"cookie": f"@=,; a b; clew_hand={cookie}"})
    assert page.status_code == 200
    assert "Who is at the tablet?</a>" in page.text


def test_a_name_is_shown_as_it_is_whatever_it_looks_like(tablet: TestClient) -> None:
    page = tablet.get("/steam", headers={"cookie": "@=,; a b; clew_hand=%3Cb%3EJo"}).text
    assert "</span>&lt;b&gt;Jo<span" in page


def test_the_cookie_holds_until_the_shift_ends(tablet: TestClient) -> None:
    said = tablet.post("/who", data={"other": "Jo"}).headers["set-cookie"]
    seconds = int(said.split("Max-Age=")[1].split(";")[0])
    assert 0 < seconds <= 8 * 3600
    assert "HttpOnly" in said and "SameSite=lax" in said


@pytest.mark.parametrize(
    ("now", "ends"),
    [
        ("2026-11-25T05:59:59", "2026-11-25T06:00:00"),
        ("2026-11-25T06:00:00", "2026-11-25T14:00:00"),
        ("2026-11-25T23:30:00", "2026-11-26T06:00:00"),  # over midnight
        ("2026-03-28T22:30:00", "2026-03-29T05:00:00"),  # clocks go on: 06:00 is 05:00 UTC
        ("2026-10-24T23:30:00", "2026-10-25T06:00:00"),  # clocks go back
        ("2026-07-01T12:59:59", "2026-07-01T13:00:00"),
    ],
)
def test_when_a_shift_ends(demo_text: str, now: str, ends: str) -> None:
    import re

    text = re.sub(r'time_zone = "[^"]+"', 'time_zone = "Europe/London"', demo_text)
    mill = mill_from_text(text)
    assert mill.mill.shift_starts == ("06:00", "14:00", "22:00")
    found = shift_ends_us(mill, us_of(datetime.fromisoformat(now).replace(tzinfo=UTC)))
    assert found == us_of(datetime.fromisoformat(ends).replace(tzinfo=UTC))


@pytest.mark.parametrize(
    "headers", [{"origin": "https://evil.example"}, {"sec-fetch-site": "cross-site"}]
)
def test_another_site_cannot_enter_anything_here(
    tablet: TestClient, mill_dir: Path, headers: dict[str, str]
) -> None:
    for path in ("/who", "/reader", "/run/hand", "/api/events"):
        assert tablet.post(path, data={"other": "Eve"}, headers=headers).status_code == 403
    assert not (mill_dir / "mill.db").exists()


@pytest.mark.parametrize("name", ["x-forwarded-for", "forwarded", "x-real-ip"])
def test_readers_that_a_proxy_brings_are_not_taken_for_the_mill_s_own(
    tablet: TestClient, name: str
) -> None:
    refused = tablet.get("/steam", headers={name: "203.0.113.9"})
    assert refused.status_code == 403
    assert "--behind-proxy" in refused.text


def test_there_is_nothing_to_sign_in_to(tablet: TestClient) -> None:
    assert tablet.get("/sign-in?back=/dry").headers["location"] == "/dry"
    assert tablet.post("/sign-in", data={"name": "x"}).headers["location"] == "/who"
    assert tablet.post("/password", data={"now": "x"}).headers["location"] == "/who"
    assert tablet.post("/sign-out").headers["location"] == "/"
