"""Nothing a reader types or a mill file holds gives a traceback: each fault is a plain line."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from clew.web.app import create_app
from clew.web.stations import LINE

Opener = Callable[[Path], TestClient]

KEYS = {"what", "expected", "key", "value", "place"}

WIND_FAULTS = [
    ({"tension": "abc"}, "tension", "not a quantity"),
    ({"tension": "90000"}, "tension", "stretch"),
    ({"tension": "40 m"}, "tension", "m is a length, not a force"),
    ({"tension": "-4 cN"}, "tension", "cannot be negative"),
    ({"tension": "nan cN"}, "tension", "not a number"),
    ({"tension": "9" * 5000 + " cN"}, "tension", ""),
    ({"tension": "90000 cN"}, "tension", "stretch"),
    ({"target_mass": "90 g"}, "target_mass", "below the declared mass"),
    ({"target_length": "100 m"}, "target_length", "below the declared length"),
    ({"pack_density": "5 kg/m3"}, "pack_density", "at least 20"),
    ({"pack_density": "1400 kg/m3"}, "pack_density", "denser than its fibre"),
    ({"wind_ratio": "abc"}, "wind_ratio", "not a number"),
    ({"wind_ratio": "inf"}, "wind_ratio", "not a number"),
    ({"wind_ratio": "1.5"}, "wind_ratio", "at least 2"),
    ({"shrink": "95 %"}, "shrink", "less than 90 %"),
    ({"regain_out": "500 %"}, "regain_out", "a regain above"),
    ({"shrink": "\x00\x07 <b>"}, "shrink", "not a quantity"),
]
CREEL_FAULTS = [
    ({"count": "0"}, "count", "more than 0"),
    ({"count": "0 tex"}, "count", "more than 0"),
    ({"count": "40 furlongs"}, "count", "no such count system"),
    ({"shrink": "100 %"}, "shrink", "less than 90 %"),
    ({"regain_in": "12 g"}, "regain_in", "g is a mass"),
    ({"finish_loss": "60 %"}, "finish_loss", "less than 50 %"),
    ({"of": "lot:NOPE"}, "", "no such dye lot"),
    ({"of": "yarn:NOPE"}, "", "no such yarn"),
    ({"of": "NOPE"}, "of", "neither a dye lot nor a yarn"),
]


@pytest.mark.parametrize(("asked", "key", "words"), WIND_FAULTS)
def test_wind_refuses_with_a_plain_line_beside_the_field(
    client: TestClient, asked: dict[str, str], key: str, words: str
) -> None:
    page = client.get("/wind", params=asked)
    said = client.get("/api/ball/turns", params=asked)
    assert page.status_code == said.status_code == 422
    beside = page.text.split(f'id="{key}-fault" data-live>')[1].split("</p>")[0]
    assert words in beside or not words
    faults = said.json()["faults"]
    assert [set(fault) for fault in faults] == [KEYS] * len(faults)
    assert any(fault["key"] == key for fault in faults)
    assert "Traceback" not in page.text


@pytest.mark.parametrize(("asked", "key", "words"), CREEL_FAULTS)
def test_creel_refuses_with_a_plain_line(
    client: TestClient, asked: dict[str, str], key: str, words: str
) -> None:
    page = client.get("/creel", params=asked)
    said = client.get("/api/yarn", params=asked)
    assert page.status_code == said.status_code == 422
    assert words in page.text
    (fault,) = said.json()["faults"]
    assert set(fault) == KEYS
    assert fault["key"] == key


def test_every_fault_is_told_at_once_and_what_was_typed_is_kept(client: TestClient) -> None:
    asked = {"tension": "four", "shrink": "5 kg", "target_mass": "101.5 g"}
    page = client.get("/wind", params=asked).text
    for text in asked.values():
        assert f'value="{text}"' in page
    assert page.count('aria-invalid="true"') == 2
    said = client.get("/api/ball/turns", params=asked).json()
    assert {fault["key"] for fault in said["faults"]} == {"tension", "shrink"}


@pytest.mark.parametrize(
    "asked", [{"ball": "Nope"}, {"lot": "Nope"}, {"line": "Nope"}, {"ball": "'; drop table"}]
)
def test_a_name_that_is_not_there_is_told_with_those_that_are(
    client: TestClient, asked: dict[str, str]
) -> None:
    page = client.get("/wind", params=asked)
    assert page.status_code == 422
    assert "no such" in page.text
    assert "one of" in page.text


def test_a_dye_lot_of_another_yarn_can_be_changed_on_the_page(client: TestClient) -> None:
    page = client.get("/wind", params={"ball": "Querl 100", "lot": "BR-091"})
    assert page.status_code == 422
    assert "is of Dunnow" in page.text
    assert '<option value="SL-207"' in page.text


ENDPOINTS = [
    "/api/yarn", "/api/ball/turns", "/api/ball/path", "/api/knots/law", "/api/knots/price",
    "/api/knots/strand", "/api/knots/answer", "/api/line/heat", "/api/line/limits",
    "/api/line/simulate", "/api/line/shift/timeline", "/api/lot/release", "/api/lot/test",
    "/api/lot/sample", "/api/weigh/charts", "/api/weigh/components", "/api/weigh/corrections",
    "/api/weigh/target", "/api/run/live", "/api/lot/trace", "/api/lot/recall",
    "/api/plan/materials", "/api/plan/sequence", "/api/plan/wish", "/api/plan/pack",
    "/api/plan/cost",
]  # fmt: skip


TRIED_ELSEWHERE = ["/api/events", "/api/ledger"]
"""For machines that tell the ledger: tests/web/api/test_api_events.py."""


@pytest.mark.parametrize("path", ENDPOINTS)
@pytest.mark.parametrize(
    ("query", "status"),
    [
        ("?shrink=x", 422),
        ("?shrink=%FF", 422),
        ("?shrinc=20+%25", 422),
        (f"?shrink={'9' * 300}", 422),
    ],
)
def test_one_shape_of_fault_at_every_address_for_programs(
    client: TestClient, path: str, query: str, status: int
) -> None:
    answer = client.get(path + query)
    assert answer.status_code == status
    assert set(answer.json()) == {"faults"}
    assert all(set(fault) == KEYS for fault in answer.json()["faults"])
    wrong_way = client.post(path)
    assert wrong_way.status_code == 405
    assert all(set(fault) == KEYS for fault in wrong_way.json()["faults"])


def test_every_address_for_programs_is_tried_here(client: TestClient) -> None:
    described = client.get("/openapi.json").json()
    taken = {path for path, ways in described["paths"].items() if "post" in ways}
    assert taken == {"/api/events"}  # tests/web/api/test_api_events.py
    assert sorted(described["paths"]) == sorted([*ENDPOINTS, *TRIED_ELSEWHERE])


@pytest.mark.parametrize(
    ("path", "api"),
    [
        ("/wind", "/api/ball/turns"),
        ("/wind/card", "/api/ball/path"),
        ("/creel", "/api/yarn"),
        ("/knots", "/api/knots/law"),
        ("/knots/answer", "/api/knots/answer"),
    ],
)
def test_a_name_that_is_not_asked_is_refused_alike_on_page_and_api(
    client: TestClient, path: str, api: str
) -> None:
    page, said = client.get(f"{path}?shrinc=20"), client.get(f"{api}?shrinc=20")
    (fault,) = said.json()["faults"]
    assert page.status_code == said.status_code == 422
    assert fault["key"] == "shrinc"
    for words in (fault["what"], fault["expected"]):
        assert words
        assert words in page.text


def test_a_limit_is_said_in_the_readers_units_and_holds_there(client: TestClient) -> None:
    client.cookies.set("clew_units", "yard")
    page = client.get("/wind", params={"target_mass": "3.4 oz", "tension": "90000 cN"}).text
    limit = re.search(r"below the declared mass: (\S+ oz) or more", page)
    assert limit
    assert "100 g or more" not in page
    assert client.get("/wind", params={"target_mass": limit[1]}).status_code == 200
    tension = client.get("/wind", params={"tension": "90000 cN"}).text
    assert re.search(r"less than [\d.]+ gf", tension)


def test_an_address_that_is_not_there(client: TestClient) -> None:
    page, said = client.get("/nowhere"), client.get("/api/nowhere")
    assert page.status_code == said.status_code == 404
    assert "There is no such page" in page.text
    assert set(said.json()["faults"][0]) == KEYS
    assert client.post("/wind").status_code == 405
    assert client.get("/docs").status_code == client.get("/redoc").status_code == 404


def test_a_broken_mill_file_shows_its_faults_and_heals_when_mended(
    open_mill: Opener, mill_dir: Path
) -> None:
    file = mill_dir / "mill.toml"
    sound = file.read_text(encoding="utf-8")
    client = open_mill(mill_dir)
    assert client.get("/wind").status_code == 200
    file.write_text(
        sound.replace('"20 %"', '"20 m"').replace('"40 cN"', '"lots"'), encoding="utf-8"
    )
    for path in ("/wind", "/creel", "/wind?part=answer"):
        page = client.get(path)
        assert page.status_code == 422
        assert "The mill file cannot be used yet" in page.text
        assert "mill.toml:" in page.text
        assert "m is a length, not a fraction" in page.text
        assert "Traceback" not in page.text
    said = client.get("/api/ball/turns").json()["faults"]
    assert len(said) >= 2
    assert all(fault["place"].split(":")[-1].split()[0].isdigit() for fault in said)
    file.write_text(sound, encoding="utf-8")
    assert client.get("/wind").status_code == 200


def test_a_change_of_the_mill_file_is_seen_at_the_next_page(
    open_mill: Opener, mill_dir: Path
) -> None:
    client = open_mill(mill_dir)
    before = client.get("/api/ball/turns").json()["turns"]
    file = mill_dir / "mill.toml"
    text = file.read_text(encoding="utf-8")
    file.write_text(
        text.replace('target_mass = "101 g"', 'target_mass = "104 g"'), encoding="utf-8"
    )
    assert client.get("/api/ball/turns").json()["turns"] > before


@pytest.mark.parametrize("content", [b"", b"\xff\xfe\x00", b"[mill", b"[mill]\nversion = 1\n"])
def test_any_mill_file_gives_lines_and_no_traceback(
    open_mill: Opener, tmp_path: Path, content: bytes
) -> None:
    (tmp_path / "mill.toml").write_bytes(content)
    page = open_mill(tmp_path).get("/wind")
    assert page.status_code == 422
    assert "<li>" in page.text


def test_a_folder_without_a_mill_file(open_mill: Opener, tmp_path: Path) -> None:
    page = open_mill(tmp_path).get("/creel")
    assert page.status_code == 422
    assert "mill.toml" in page.text


def test_a_fault_of_our_own_is_called_ours(
    demo_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise RuntimeError("secret detail")

    monkeypatch.setattr("clew.web.wind.routes.open_wind", broken)
    client = TestClient(
        create_app(demo_folder), base_url="http://127.0.0.1", raise_server_exceptions=False
    )
    page = client.get("/wind")
    assert page.status_code == 500
    assert "fault of the program" in page.text
    assert "secret detail" not in page.text


@pytest.mark.parametrize("path", ["/nowhere", "/wind?ball=NOPE"])
def test_a_page_of_faults_names_the_stations_that_are_open(client: TestClient, path: str) -> None:
    page = client.get(path)
    assert page.status_code in (404, 422)
    (said,) = re.findall(r'<p class="open-stations">(.*?)</p>', page.text)
    links = re.findall(r'<a href="([^"]+)">([^<]+)</a>', said)
    assert links == [(one.path, one.name) for one in LINE]
    assert re.sub(r"<[^>]*>", "", said).endswith(f" and {links[-1][1]} are open.")


@pytest.mark.parametrize(
    "address", ["/knots?cone_mass=%00", "/orders?within=%00", "/wind?shrink=9%07%7F+%25"]
)
def test_what_cannot_be_seen_stands_on_no_page(client: TestClient, address: str) -> None:
    answer = client.get(address)
    assert answer.headers["content-type"].startswith("text/html")
    assert re.search(r"[\x00-\x08\x0b\x0e-\x1f\x7f]", answer.text) is None
