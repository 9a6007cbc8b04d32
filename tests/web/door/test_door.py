"""The door: signing in and out, cookies, forms, tokens, and what is said without a ledger."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient
from tests.web.door.door_mill import HOST, NAMES, ORIGIN, PASSWORD, DoorMill, door_mill

from clew.ledger.people.people import person_of, set_password, set_role
from clew.ledger.people.sessions import IDLE_US, session_of
from clew.ledger.people.tokens import add_token, end_token
from clew.ledger.people.tries import ADDRESS, PAIR
from clew.ledger.store.ledger import now_us
from clew.ledger.store.reading import chain_records
from clew.ledger.store.trouble import CannotKeep
from clew.web.door.door import session_cookie

__all__ = ["door_mill"]
RIGHT = {"name": "Anke", "password": PASSWORD, "back": "/steam"}


@pytest.fixture(autouse=True)
def no_waiting(request: pytest.FixtureRequest) -> Iterator[None]:
    """No test leaves another one waiting for the counts of its tries."""
    yield
    if "door_mill" in request.fixturenames:
        from sqlalchemy import delete

        from clew.ledger.people.tables import SIGN_IN_TRY

        mill: DoorMill = request.getfixturevalue("door_mill")
        with mill.ledger.writing() as connection:
            connection.execute(delete(SIGN_IN_TRY))


def csrf_in(page: str) -> str:
    return re.findall(r'name="csrf" value="([0-9a-f]*)"', page)[0]


def test_a_stranger_is_asked_in_and_brought_back(door_mill: DoorMill) -> None:
    client = door_mill.client()
    sent = client.get("/wind?ball=Querl+200")
    assert sent.status_code == 303
    assert sent.headers["location"] == "/sign-in?back=/wind%3Fball%3DQuerl%2B200"
    page = client.get(sent.headers["location"])
    assert page.status_code == 200
    assert 'value="/wind?ball=Querl+200"' in page.text
    assert 'type="password"' in page.text and 'autocomplete="current-password"' in page.text
    done = client.post("/sign-in", data={**RIGHT, "back": "/steam"}, headers=ORIGIN)
    assert (done.status_code, done.headers["location"]) == (303, "/steam")
    shown = client.get("/steam")
    assert shown.status_code == 200
    assert "Anke, hand" in shown.text
    assert client.get("/sign-in?back=/dry").headers["location"] == "/dry"


@pytest.mark.parametrize("back", ["//evil.example/", "https://evil.example", "/\\evil.example"])
def test_the_way_back_stays_here(door_mill: DoorMill, back: str) -> None:
    done = door_mill.client().post("/sign-in", data={**RIGHT, "back": back})
    assert done.headers["location"] == "/"


@pytest.mark.parametrize("path", ["/api/yarn", "/api/events", "/openapi.json"])
def test_a_program_is_told_in_its_own_form(door_mill: DoorMill, path: str) -> None:
    refused = door_mill.client().get(path)
    assert refused.status_code == 401
    assert refused.headers["www-authenticate"] == "Bearer"
    assert refused.json()["faults"][0]["what"] == "not signed in"
    script = door_mill.client().post("/run/hand", headers={"accept": "application/json"})
    assert script.status_code == 401


def test_the_cookie_is_as_safe_as_it_can_be(door_mill: DoorMill) -> None:
    over_tls = door_mill.client().post("/sign-in", data=RIGHT).headers["set-cookie"]
    name, *terms = [part.strip() for part in over_tls.split(";")]
    assert re.fullmatch(r"__Host-clew=[\w-]{43}", name)
    assert {term.lower() for term in terms} == {
        "httponly", "secure", "path=/", "samesite=lax", "max-age=43200",
    }  # fmt: skip
    plain = door_mill.client(scheme="http").post("/sign-in", data=RIGHT).headers["set-cookie"]
    assert plain.startswith("clew_session=")
    assert "httponly" in plain.lower() and "secure" not in plain.lower()


def test_a_cookie_of_plain_http_opens_nothing_over_tls(door_mill: DoorMill) -> None:
    client = door_mill.client()
    plain = door_mill.client("hand", scheme="http")
    client.cookies.set("clew_session", plain.cookies["clew_session"])
    assert client.get("/wind").status_code == 303


def test_signing_in_gives_a_new_session_and_ends_the_old(door_mill: DoorMill) -> None:
    client = door_mill.client("hand")
    before = client.cookies[session_cookie("https")]
    del client.headers["x-csrf"]
    form = csrf_in(client.get("/who").text)
    client.post("/sign-in", data={**RIGHT, "csrf": form})
    assert client.cookies[session_cookie("https")] != before
    assert session_of(door_mill.ledger, before) is None
    assert client.get("/steam").status_code == 200


def test_signing_out_ends_the_session_at_the_ledger(door_mill: DoorMill) -> None:
    client = door_mill.client("hand")
    token = client.cookies[session_cookie("https")]
    assert client.get("/sign-out").status_code == 405
    assert session_of(door_mill.ledger, token) is not None
    answer = client.post("/sign-out")
    assert (answer.status_code, answer.headers["location"]) == (303, "/sign-in")
    assert "max-age=0" in answer.headers["set-cookie"].lower()
    assert answer.headers["clear-site-data"] == '"cache"'
    assert session_of(door_mill.ledger, token) is None
    client.cookies.set(session_cookie("https"), token, domain=HOST)
    assert client.get("/wind").status_code == 303


def test_a_session_that_was_left_alone_has_ended(
    door_mill: DoorMill, monkeypatch: pytest.MonkeyPatch
) -> None:
    client = door_mill.client("hand")
    assert client.get("/steam").status_code == 200
    monkeypatch.setattr(door_mill.ledger, "clock", lambda: now_us() + IDLE_US + 1)
    assert client.get("/steam").status_code == 303


def test_a_role_holds_from_the_next_request(door_mill: DoorMill) -> None:
    client = door_mill.client("office")
    set_role(door_mill.ledger, NAMES["office"], "hand", author="root")
    try:
        assert client.get("/steam").status_code == 303
        assert "Pat, hand" in _signed_in(door_mill, "Pat").get("/steam").text
    finally:
        set_role(door_mill.ledger, NAMES["office"], "office", author="root")


def _signed_in(mill: DoorMill, name: str, password: str = PASSWORD) -> TestClient:
    client = mill.client()
    assert client.post("/sign-in", data={"name": name, "password": password}).status_code == 303
    return client


@pytest.mark.parametrize("name", ["Anke", "Nobody at all"])
def test_a_wrong_name_and_a_wrong_password_look_the_same(door_mill: DoorMill, name: str) -> None:
    refused = door_mill.client().post("/sign-in", data={"name": name, "password": "wrong wrong"})
    assert refused.status_code == 401
    assert "That name and password do not go together." in refused.text
    assert "set-cookie" not in refused.headers
    assert "wrong wrong" not in refused.text
    assert refused.text.replace(name, "") == (
        door_mill.client().post("/sign-in", data={"name": "Zoe", "password": "wrong wrong"})
    ).text.replace("Zoe", "")


def test_guessing_has_to_wait(door_mill: DoorMill) -> None:
    client = door_mill.client()
    for _ in range(PAIR.free + 1):
        wrong = client.post("/sign-in", data={"name": "Jo", "password": "wrong wrong"})
        assert wrong.status_code == 401
    waits = client.post("/sign-in", data={"name": "Jo", "password": PASSWORD})
    assert waits.status_code == 429
    assert 1 <= int(waits.headers["retry-after"]) <= 2
    assert "Too many tries. Wait" in waits.text
    assert "set-cookie" not in waits.headers


def test_many_names_from_one_address_have_to_wait(door_mill: DoorMill) -> None:
    client = door_mill.client()
    answers = [
        client.post("/sign-in", data={"name": f"n{n}", "password": "wrong wrong"}).status_code
        for n in range(ADDRESS.free + 2)
    ]
    assert answers == [401] * (ADDRESS.free + 1) + [429]


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "https://evil.example"},
        {"origin": "null"},
        {"origin": f"http://{HOST}"},
        {"origin": f"https://{HOST}:8443"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
        {"sec-fetch-site": "cross-site", **ORIGIN},
    ],
)
@pytest.mark.parametrize("path", ["/sign-in", "/reader", "/run/hand"])
def test_what_another_site_sends_is_refused(
    door_mill: DoorMill, path: str, headers: dict[str, str]
) -> None:
    client = door_mill.client("lead")
    assert client.post(path, data=RIGHT, headers=headers).status_code == 403


@pytest.mark.parametrize(
    "headers",
    [{}, ORIGIN, {"origin": f"https://{HOST}:443"}, {"sec-fetch-site": "same-origin"}],
)
def test_what_our_own_pages_send_is_taken(door_mill: DoorMill, headers: dict[str, str]) -> None:
    client = door_mill.client("hand")
    del client.headers["x-csrf"]
    form = {"units": "yard", "back": "/steam", "csrf": csrf_in(client.get("/steam").text)}
    answer = client.post("/reader", data=form, headers=headers)
    assert (answer.status_code, answer.headers["location"]) == (303, "/steam")


@pytest.mark.parametrize("proof", [None, "", "0" * 64, "of another", "ä"])
def test_a_form_without_its_proof_is_refused(door_mill: DoorMill, proof: str | None) -> None:
    client = door_mill.client("hand")
    del client.headers["x-csrf"]
    said = {"units": "yard"} | ({} if proof is None else {"csrf": proof})
    assert client.post("/reader", data=said, headers=ORIGIN).status_code == 403
    others = csrf_in(door_mill.client("lead").get("/steam").text)
    assert client.post("/reader", data={"csrf": others}, headers=ORIGIN).status_code == 403
    assert client.post("/api/events", json={}, headers=ORIGIN).status_code == 401
    script = {**ORIGIN, "accept": "application/json"}
    assert client.post("/run/hand", data=said, headers=script).status_code == 401
    too_long = client.post("/reader", data={"csrf": "x" * 70_000}, headers=ORIGIN)
    assert too_long.status_code == 413


def test_every_form_of_every_page_carries_the_proof() -> None:
    templates = Path(__file__).parents[3] / "src" / "clew" / "web" / "templates"
    seen = 0
    for path in templates.rglob("*.html"):
        text = path.read_text(encoding="utf-8")
        macro = 'name="csrf" value="{{ who.csrf }}"'
        for form in re.findall(r'<form method="post".*?</form>', text, flags=re.S):
            seen += 1
            if 'action="/sign-in"' in form:
                continue
            assert macro in form or ("{{ hidden(" in form and macro in text), path.name
    assert seen >= 8


def test_what_took_signing_in_is_not_kept_by_the_browser(door_mill: DoorMill) -> None:
    client = door_mill.client("hand")
    page = client.get("/steam")
    assert page.headers["cache-control"] == "no-store"
    assert page.headers["strict-transport-security"] == "max-age=31536000"
    sheet = re.findall(r'href="(/static/[^"]+)"', page.text)[0]
    assert "immutable" in client.get(sheet).headers["cache-control"]
    assert "strict-transport-security" not in door_mill.client(scheme="http").get("/x").headers


def test_one_changes_ones_own_password(door_mill: DoorMill) -> None:
    other = "green door at the mill"
    client, elsewhere = _signed_in(door_mill, "Mika"), _signed_in(door_mill, "Mika")
    form = {"csrf": csrf_in(client.get("/who").text), "now": PASSWORD, "new": other}
    try:
        for wrong, words in (
            ({"again": PASSWORD}, "not typed the same twice"),
            ({"again": other, "now": "wrong wrong"}, "not the password you have now"),
            ({"new": "short", "again": "short"}, "too short"),
        ):
            refused = client.post("/password", data={**form, **wrong})
            assert refused.status_code == 422
            assert words in refused.text
        assert client.post("/password", data={**form, "again": other}).status_code == 303
        assert client.get("/steam").status_code == 200
        assert elsewhere.get("/steam").status_code == 303
        _signed_in(door_mill, "Mika", other)
        last = list(chain_records(door_mill.ledger, ""))[-1]
        assert (last.author, last.fields()["note"]) == ("Mika", "Mika has another password")
    finally:
        set_password(door_mill.ledger, "Mika", PASSWORD, author="root")
    assert person_of(door_mill.ledger, "Mika").role == "quality"


@pytest.mark.parametrize(
    "said", ["Bearer nonsense", "Bearer clew_" + "x" * 43, "Basic QW5rZTp4", "Bearer", ""]
)
def test_what_is_no_token_is_refused_even_with_a_session(door_mill: DoorMill, said: str) -> None:
    client = door_mill.client("lead")
    refused = client.get("/api/yarn", headers={"authorization": said})
    assert refused.status_code == 401
    assert 'error="invalid_token"' in refused.headers["www-authenticate"]


def test_a_token_sends_under_its_own_name_to_its_own_line(door_mill: DoorMill) -> None:
    line = door_mill.bench.mill.read().mill.line[0].name
    _, said = add_token(door_mill.ledger, "winder box", ["events:write"], line=line, author="root")
    client = door_mill.client()
    client.headers["authorization"] = f"Bearer {said}"
    doff = {"kind": "doff", "line": line, "lane": 1, "at": "2026-11-25T05:40:00Z", "key": "a"}
    # a machine's page is none of ours, and it has no cookies: nothing is asked of its origin's form
    kept = client.post("/api/events", json=doff)
    assert kept.status_code == 200, kept.text
    record = list(chain_records(door_mill.ledger, line))[-1]
    assert (record.kind, record.source, record.author) == ("doff", "winder box", "")
    other = client.post("/api/events", json={**doff, "line": "Elsewhere", "key": "b"})
    assert other.status_code == 422
    run_end = {"kind": "run end", "line": line, "run": "r", "at": doff["at"], "key": "c"}
    refused = client.post("/api/events", json=run_end)
    assert refused.status_code == 422
    assert 'may "lead runs"' in refused.text or "lead runs" in refused.text
    end_token(door_mill.ledger, "winder box", author="root")
    assert client.post("/api/events", json={**doff, "key": "d"}).status_code == 401


def test_when_the_ledger_is_away_nobody_is_let_in_unknown(
    door_mill: DoorMill, monkeypatch: pytest.MonkeyPatch
) -> None:
    client = door_mill.client("hand")

    def away(**_: object) -> None:
        raise CannotKeep("the disk that holds the ledger is full", for_good=True)

    monkeypatch.setattr(door_mill.bench.ledger, "ledger", away)
    refused = client.get("/steam")
    assert refused.status_code == 503
    assert "the disk that holds the ledger is full" in refused.text
    assert "Steam" in refused.text  # the drawn line is there all the same
    del client.headers["x-csrf"]
    client.cookies.clear()
    nobody = client.post("/sign-in", data=RIGHT)
    assert nobody.status_code == 503
    assert "Nobody can sign in now" in nobody.text


def test_every_page_says_so_when_nothing_can_be_kept(
    door_mill: DoorMill, monkeypatch: pytest.MonkeyPatch
) -> None:
    client = door_mill.client("hand")
    assert 'role="alert"' not in client.get("/steam").text
    monkeypatch.setattr(door_mill.bench.ledger, "trouble", lambda: "the disk <is> full")
    for path in ("/steam", "/who", "/wind/card", "/nowhere"):
        page = client.get(path, headers={"accept": "text/html"}).text
        if path == "/wind/card" and 'class="trouble"' not in page:
            assert "frame" not in page  # a sheet for paper has no frame
            continue
        assert '<div class="trouble" role="alert">' in page
        assert "The ledger can keep nothing:</strong> the disk &lt;is&gt; full." in page


def test_at_the_page_for_hands_a_hand_enters_what_a_hand_may(door_mill: DoorMill) -> None:
    line = door_mill.bench.mill.read().mill.line[0].name
    said = {"deed": "handover", "line": line, "note": "belt damp", "key": "h-1"}
    refused = door_mill.client("hand").post("/run/hand", data=said, headers=ORIGIN)
    assert refused.status_code == 422
    assert "start, change and end runs" in refused.text
    assert door_mill.client("lead").post("/run/hand", data=said, headers=ORIGIN).status_code == 303
    last = list(chain_records(door_mill.ledger, line))[-1]
    assert (last.kind, last.author, last.source) == ("handover", "Jo", "web")
