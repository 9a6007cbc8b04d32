"""The workbench: query strings, forms, events over HTTP, cookies and the door."""

from __future__ import annotations

from functools import cache, partial

from tests.fuzz.asked import BETWEEN, MARK, ask, forms_on_pages, posted
from tests.fuzz.events import messages
from tests.fuzz.target import Target

_HEAVY = (
    "/shift",
    "/orders",
    "/api/line/simulate",
    "/api/line/shift",
    "/api/plan",
    "/api/line/heat",
)
_JSON = b"POST /api/events\ncontent-type: application/json\n\n"


@cache
def _words() -> tuple[bytes, ...]:
    from urllib.parse import quote

    names = {
        one.split(b"=")[0]
        for request in (*_programs(False), *_programs(True), *_deeds())
        for one in request.replace(b"?", b"&").replace(b"\n", b"&").split(b"&")
        if b"=" in one and len(one) < 60
    }
    marked = quote(MARK).encode()
    return (
        *(b"&" + name + b"=" for name in sorted(names)), marked, marked, marked,
        b"%0d%0aset-cookie:a=b",
        b"%00", b"%ED%A0%80", b"%E2%80%AE", b"%2e%2e%2f", b"&&&&", b"=&=", b"+", b"200+g", b"1+yd",
        b"SL-207", b"Line+1", b"Querl+100", b"2026-11-26", b"06%3A00", b"%1b%5b31m", b"&part=1",
        b"9" * 40, b"%2C", b"\ncookie: clew_units=yard", b"\naccept: application/json",
    )  # fmt: skip


def _pages(heavy: bool) -> list[bytes]:
    """Every page by itself, and with what the same question for programs is asked with."""
    from clew.web.door.rules import RULES

    asked = {one.split(b"?")[1] for one in _programs(heavy) if b"?" in one}
    pages = [
        path.encode()
        for method, _, path in (address.partition(" ") for address in RULES)
        if method == "GET" and "{" not in path and path.startswith(_HEAVY) is heavy
        and not path.startswith("/api") and path != "/openapi.json"
    ]  # fmt: skip
    longest = sorted(asked, key=lambda one: -len(one))[:6]
    made = [b"GET " + page for page in pages]
    return made + [b"GET " + page + b"?" + query for page in pages for query in longest]


def _forms() -> list[bytes]:
    """Every form to do something with that the pages hold, and with a name in it."""
    deeds = forms_on_pages()
    case = posted(
        "/case/close-case", line="Line 1", lot="SL-207", balls="12", by="Ina", key="c1",
        anyway="the reader was off",
    )  # fmt: skip
    lot = posted("/lots/decide", ball="Querl 100", lot="SL-207", by="Ina", lot_size="600", key="d1")
    return [
        *deeds, *(one + b"&by=Ina" for one in deeds), case, lot,
        BETWEEN.join((case, b"GET /case")), BETWEEN.join((lot, b"GET /lots?lot=SL-207")),
    ]  # fmt: skip


@cache
def _programs(heavy: bool) -> list[bytes]:
    """Every address for programs, with its parameters as the description has them."""
    from fastapi import FastAPI
    from tests.fuzz.demo import demo_folder

    from clew.web.app import create_app

    app: FastAPI = create_app(demo_folder())
    made = []
    for path, methods in app.openapi()["paths"].items():
        for one in methods.get("get", {}).get("parameters", []) or [{"name": "x"}]:
            made.append(f"GET {path}?{one['name']}={_example(one)}".encode())
        every = "&".join(
            f"{one['name']}={_example(one)}" for one in methods.get("get", {}).get("parameters", [])
        )
        made.append(f"GET {path}?{every}".encode())
        made.append(f"GET {path}".encode())
    app.state.bench.ledger.close()
    return [one for one in made if one[4:].decode().startswith(_HEAVY) is heavy]


_EXAMPLES = {
    "ball": "Querl+100", "lot": "SL-207", "line": "Line+1", "file": "shift-weighings.csv",
    "of": "lot:SL-207",
    "units": "yard", "at": "2026-11-26T06:00:00Z", "declared": "100+g", "n": "20",
    "code": "SL-207+L1+W4+251125-1432",
}  # fmt: skip


def _example(parameter: dict[str, object]) -> str:
    name = str(parameter["name"])
    schema = str(parameter.get("schema", ""))
    if name in _EXAMPLES:
        return _EXAMPLES[name]
    return "12" if "'integer'" in schema or "'number'" in schema else "1"


def _deeds() -> list[bytes]:
    """Every form, alone and after another, with a page that tells of it after."""
    start = posted(
        "/run/start",
        ball="Querl 100",
        lot="SL-207",
        line="Line 1",
        by="Ina",
        key="r1",
        order="1041",
    )
    hand = posted("/run/hand", deed="doff", lane="1", key="h1", line="Line 1", clock="05:41")
    ends = posted("/run/end", why="done", by="Ina", key="e1", line="Line 1")
    return [
        start, hand, ends, BETWEEN.join((start, hand, b"GET /run")),
        posted("/case/undo", key="u1", package="C-0001", by="Ina"),
        posted("/run/undo", key="u2", seq="1", line="Line 1"), posted("/run/hand/undo", seq="1"),
        posted("/lots/undo", seq="1", key="u3"), posted("/reader", units="yard", theme="dark",
        back="/run"),
        posted("/sign-in", name="Ina", password="no", back="/run"), posted("/sign-out"),
        posted("/who", name="Ina"), posted("/password", old="a", new="b"),
        b"POST /run/hand\ncontent-type: multipart/form-data; boundary=zz\n\n--zz\r\n"
        b'content-disposition: form-data; name="deed"\r\n\r\ndoff\r\n--zz--\r\n',
    ]  # fmt: skip


def _told() -> list[bytes]:
    """An event over HTTP, then a page or a program that tells what the line does."""
    after = (
        b"GET /run", b"GET /api/run/live", b"GET /trace?cone=cone-1", b"GET /case",
        b"GET /run/hand",
        b"GET /api/lot/recall?lot=lot-1", b"GET /api/lot/trace?line=Line+1&winder=1&lot=lot-1",
        b"GET /lots", b"GET /api/events?line=Line+1",
    )  # fmt: skip
    return [
        BETWEEN.join((_JSON + one, after[place % len(after)]))
        for place, one in enumerate(messages())
    ]


def _at_the_door() -> list[bytes]:
    return [
        b"GET /run\ncookie: clew_units=yard; clew_theme=dark; clew_session=abc; clew_hand=Ina",
        b"GET /run\nfrom-elsewhere: 1\nauthorization: Bearer clew_abcdef",
        b"GET /run\nfrom-elsewhere: 1\ncookie: __Host-clew=abc; clew_session=%22\n"
        b"x-forwarded-proto: https",
        b"POST /run/hand\nfrom-elsewhere: 1\nx-csrf: abc\ncontent-type: application/json\n\n{}",
        b"POST /reader\norigin: http://127.0.0.1\nsec-fetch-site: same-origin\n"
        b"content-type: application/x-www-form-urlencoded\n\nunits=yard&back=/run&csrf=x",
        b"POST /sign-in\nfrom-elsewhere: 1\nhost: 127.0.0.1:80\norigin: http://[::1]:99999\n\nname=a&password=b",
        b"GET /manual/../../etc/passwd\naccept-language: de;q=1.0, fr;q=x\nif-none-match: \"a\"",
        b"HEAD /static/abc/app.css\nrange: bytes=0-1\naccept-encoding: gzip;q=0",
        b"GET /run/stream\naccept: text/event-stream\nlast-event-id: 5",
    ]  # fmt: skip


_HEADERS = (
    b"\nfrom-elsewhere: 1", b"\ncookie: ", b"clew_units=", b"clew_theme=", b"clew_language=",
    b"clew_hand=",
    b"clew_session=", b"__Host-clew=", b"\nauthorization: Bearer ", b"\nauthorization: Basic Og==",
    b"\nx-csrf: ", b"\norigin: null", b"\norigin: http://[", b"\nsec-fetch-site: cross-site",
    b"\nhost: [::1]:x",
    b"\nhost: ", b"\nif-none-match: *", b"\nrange: bytes=9-1", b"\naccept-language: *;q=NaN",
    b"\ncontent-length: -1", b"\ncontent-type: text/plain; charset=utf-99", b"\nx-forwarded-for: ",
    b"%ff", b"\xff", b'"', b";", b"=",
)  # fmt: skip


def _asked(name: str, data: bytes) -> None:
    ask(name, data)


TARGETS = (
    Target("web/pages", partial(_pages, False), partial(_asked, "pages"), _words, cases=3,
           limit_s=20.0, share=3.0),
    Target("web/heavy-pages", partial(_pages, True), partial(_asked, "heavy"), _words, cases=2,
           limit_s=40.0, share=2.0),
    Target("web/programs", partial(_programs, False), partial(_asked, "programs"), _words, cases=5,
           limit_s=20.0, share=2.0),
    Target("web/heavy-programs", partial(_programs, True), partial(_asked, "heavy-programs"),
    _words,
           cases=2, limit_s=40.0, share=2.0),
    Target("web/forms", _deeds, partial(_asked, "forms"), _words, cases=5, limit_s=20.0, share=3.0,
           more=_forms),
    Target("web/events", _told, partial(_asked, "events"), _words, cases=4, limit_s=20.0,
    share=3.0),
    Target("web/door", _at_the_door, partial(_asked, "door"), _HEADERS, cases=15, limit_s=10.0),
)  # fmt: skip
