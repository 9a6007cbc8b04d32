"""Where the workbench may be served, to whom, and under which names."""

from __future__ import annotations

import socket
from pathlib import Path

import pytest

from clew.faults import BadInput
from clew.web.door.csrf import comes_from_elsewhere
from clew.web.door.guard import ANY_ADDRESS, LOOPBACK
from clew.web.serve import Place, check_place, hosts_of, is_loopback


@pytest.mark.parametrize(
    ("host", "own"),
    [
        ("127.0.0.1", True), ("127.8.9.1", True), ("::1", True), ("localhost", True),
        ("LOCALHOST", True), ("0.0.0.0", False), ("::", False), ("192.168.1.9", False),
        ("mill.example", False), ("localhost.example", False), ("", False),
    ],
)  # fmt: skip
def test_what_is_this_machine_alone(host: str, own: bool) -> None:
    assert is_loopback(host) is own
    assert Place(host=host).sign_in is not own


def test_behind_a_proxy_readers_sign_in_wherever_it_listens() -> None:
    assert Place(proxies=("127.0.0.1",)).sign_in


@pytest.mark.parametrize("place", [Place(host="0.0.0.0"), Place(proxies=("127.0.0.1",))])
def test_it_is_not_opened_to_others_while_nobody_may_sign_in(place: Place) -> None:
    with pytest.raises(BadInput, match="clew ledger user add"):
        check_place(place, anybody=False)
    check_place(place, anybody=True)


def test_at_this_machine_nobody_need_be_there() -> None:
    assert check_place(Place(), anybody=False) == ()


@pytest.mark.parametrize(
    ("place", "warned"),
    [(Place(), False), (Place(host="0.0.0.0"), True), (Place(proxies=("10.0.0.0/8",)), False)],
)
def test_without_tls_it_warns(place: Place, warned: bool) -> None:
    assert any("without TLS" in one for one in check_place(place, anybody=True)) is warned


@pytest.mark.parametrize(
    ("terms", "words"),
    [
        ({"cert": Path("c.pem")}, "go together"),
        ({"key": Path("k.pem")}, "go together"),
        ({"cert": Path("no.pem"), "key": Path("no.pem")}, "no such file"),
        ({"proxies": ("proxy.example",)}, "no address of a proxy"),
        ({"proxies": ("*",)}, "no address of a proxy"),
    ],
)
def test_what_cannot_be_served_is_refused(terms: dict[str, object], words: str) -> None:
    with pytest.raises(BadInput, match=words):
        check_place(Place(**terms), anybody=True)  # type: ignore[arg-type]


def test_a_certificate_that_is_none_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "c.pem"
    path.write_text("not a certificate", encoding="ascii")
    with pytest.raises(BadInput, match="cannot be used"):
        check_place(Place(cert=path, key=path), anybody=True)


def test_which_names_it_answers_to() -> None:
    assert hosts_of(Place()) == LOOPBACK
    found = hosts_of(Place(host="0.0.0.0", names=("mill.example",)))
    assert {ANY_ADDRESS, "mill.example", socket.gethostname().lower(), *LOOPBACK} <= set(found)
    assert "*" not in found


@pytest.mark.parametrize(
    ("said", "scheme", "elsewhere"),
    [
        ({}, "http", False),
        ({"origin": "http://mill:80"}, "http", False),
        ({"origin": "http://MILL"}, "http", False),
        ({"origin": "https://mill"}, "http", False),  # a proxy whose word on TLS is not taken
        ({"origin": "http://mill"}, "https", True),
        ({"origin": "http://mill:8340"}, "http", True),
        ({"origin": "http://mill.example"}, "http", True),
        ({"origin": "null"}, "http", True),
        ({"origin": ""}, "http", True),
        ({"origin": "http://[bad"}, "http", True),
        ({"origin": "http://mill:99999"}, "http", True),
        ({"origin": "file://mill"}, "http", True),
        ({"sec-fetch-site": "same-origin"}, "https", False),
        ({"sec-fetch-site": "none"}, "https", False),
        ({"sec-fetch-site": "same-site"}, "https", True),
        ({"sec-fetch-site": "cross-site"}, "https", True),
        ({"sec-fetch-site": "anything"}, "https", True),
    ],
)
def test_where_a_request_comes_from(said: dict[str, str], scheme: str, elsewhere: bool) -> None:
    from starlette.datastructures import Headers

    headers = Headers({"host": "mill", **said})
    assert comes_from_elsewhere(headers, scheme) is elsewhere


def test_the_manual_says_every_header_that_is_sent() -> None:
    from clew.web.door.guard import HEADERS, TLS_ONLY

    page = Path(__file__).parents[3] / "docs" / "security.md"
    text = page.read_text(encoding="utf-8")
    for name, value in {**HEADERS, **TLS_ONLY}.items():
        assert f"| `{name}` | `{value}`" in text


def test_the_manual_says_how_guessing_is_slowed() -> None:
    from clew.ledger.people.tries import ADDRESS, NAME, PAIR

    page = Path(__file__).parents[3] / "docs" / "who_may.md"
    text = page.read_text(encoding="utf-8")
    for patience in (PAIR, ADDRESS, NAME):
        most_min = patience.most_s // 60
        row = f"| {patience.free} failed | {patience.first_s} s, doubling | {most_min} min |"
        assert row in text
