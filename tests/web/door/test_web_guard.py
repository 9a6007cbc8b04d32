"""Headers, host names, static files, cookies: the pages keep to themselves."""

from __future__ import annotations

import re

import pytest
from starlette.responses import PlainTextResponse
from starlette.testclient import TestClient

from clew.web.asked.reader import local_path
from clew.web.assets import read_assets
from clew.web.door.guard import ANY_ADDRESS, Guard, host_name


@pytest.mark.parametrize("path", ["/wind", "/api/yarn", "/nowhere", "/openapi.json"])
def test_every_answer_keeps_other_sites_out(client: TestClient, path: str) -> None:
    headers = client.get(path).headers
    policy = headers["content-security-policy"]
    assert policy.startswith("default-src 'self';")
    assert "unsafe" not in policy
    for nothing in ("object-src", "frame-src", "worker-src", "base-uri", "frame-ancestors"):
        assert f"{nothing} 'none'" in policy
    for ours in ("script-src", "style-src", "form-action"):
        assert f"{ours} 'self'" in policy
    assert headers["x-frame-options"] == "DENY"
    assert headers["referrer-policy"] == "same-origin"
    assert "camera=()" in headers["permissions-policy"]
    assert "strict-transport-security" not in headers
    assert "access-control-allow-origin" not in headers
    assert "server" not in headers
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["cross-origin-resource-policy"] == "same-origin"


@pytest.mark.parametrize(
    ("host", "status"),
    [
        ("127.0.0.1:8340", 200),
        ("localhost", 200),
        ("LOCALHOST:1", 200),
        ("[::1]:8340", 200),
        ("evil.example", 421),
        ("127.0.0.1.evil.example", 421),
        ("", 421),
    ],
)
def test_another_hosts_name_is_refused(client: TestClient, host: str, status: int) -> None:
    answer = client.get("/creel", headers={"host": host})
    assert answer.status_code == status
    assert "content-security-policy" in answer.headers


@pytest.mark.parametrize(
    ("hosts", "host", "answers"),
    [
        ((ANY_ADDRESS,), "192.168.1.9:8340", True),
        ((ANY_ADDRESS,), "[fe80::1]:8340", True),
        ((ANY_ADDRESS,), "mill.example", False),
        ((ANY_ADDRESS,), "1.2.3.4.example", False),
        (("Mill.Example",), "mill.EXAMPLE:80", True),
        (("mill.example",), "192.168.1.9", False),
        (("*",), "whoever", True),
    ],
)
def test_which_names_are_answered_to(hosts: tuple[str, ...], host: str, answers: bool) -> None:
    app = Guard(PlainTextResponse("here"), hosts)
    assert (TestClient(app).get("/", headers={"host": host}).status_code == 200) == answers


def test_a_port_is_no_part_of_a_hosts_name() -> None:
    assert host_name("[::1]:80") == "[::1]"
    assert host_name("Mill-Box:8340") == "mill-box"


def test_static_files_are_kept_for_a_year_under_an_address_of_their_own(client: TestClient) -> None:
    linked = set(re.findall(r'"(/static/[^"]+)"', client.get("/wind").text))
    assert {"ball.js", "live.js", "theme.js", "colours.css", "clew.svg"} <= {
        path.rsplit("/", 1)[1] for path in linked
    }
    for path in linked:
        answer = client.get(path)
        assert answer.status_code == 200
        assert "immutable" in answer.headers["cache-control"]
    digest = read_assets().digest
    assert client.get("/static/000000000000/ball.js").status_code == 404
    assert client.get(f"/static/{digest}/nothing.js").status_code == 404
    assert client.get(f"/static/{digest}/..%2fapp.py").status_code == 404


def test_units_and_light_are_remembered(client: TestClient) -> None:
    back = "/wind?ball=Querl+200"
    answer = client.post("/reader", data={"units": "yard", "back": back})
    assert answer.status_code == 303
    assert answer.headers["location"] == back
    client.post("/reader", data={"theme": "dark", "back": back})
    page = client.get(back).text
    assert 'data-theme="dark"' in page
    assert re.search(r'value="yard" aria-pressed="true"', page)
    assert "yd" in page


def test_a_choice_that_is_none_changes_nothing(client: TestClient) -> None:
    answer = client.post("/reader", data={"units": "cubits", "theme": "<b>", "back": "/creel"})
    assert answer.status_code == 303
    assert "set-cookie" not in answer.headers
    client.cookies.set("clew_theme", "<script>")
    assert "<script>" not in client.get("/creel").text.replace('<script type="module"', "")


def test_a_form_that_is_too_long_is_refused(client: TestClient) -> None:
    assert client.post("/reader", content=b"x" * 100_000).status_code == 413


@pytest.mark.parametrize(
    ("back", "where"),
    [
        ("/wind?lot=SL-207", "/wind?lot=SL-207"),
        ("//evil.example/", "/"),
        ("/\\evil.example", "/"),
        ("https://evil.example/", "/"),
        ("", "/"),
        ("/wind\r\nSet-Cookie: x", "/"),
    ],
)
def test_the_way_back_never_leaves_the_workbench(back: str, where: str) -> None:
    assert local_path(back) == where
