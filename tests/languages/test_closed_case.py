"""Nothing about closing, refusing and shipping is written past the catalogues."""

from __future__ import annotations

import html
from collections.abc import Iterator
from pathlib import Path

import pytest
from pseudo import CODE, Bracketed, unsaid
from starlette.testclient import TestClient
from tests.ledger.shipping.bench import decide, wind
from tests.web.case.test_ship_page import boxes_of, form_of, ledger_of
from unsaid import names_of, texts_of

from clew.languages import tongues
from clew.mill import write_demo
from clew.web.app import create_app

CASE, PALLET, SHIP = "/case/close-case", "/case/close-pallet", "/case/ship"


@pytest.fixture
def tablet(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[TestClient]:
    """The workbench in brackets, with 200 balls taken off; Ina is at the tablet."""
    write_demo(tmp_path / "mill")
    own, odd = tongues.tongue_of, Bracketed()
    monkeypatch.setattr(tongues, "tongue_of", lambda code: odd if code == CODE else own(code))
    with TestClient(
        create_app(tmp_path / "mill"), base_url="http://127.0.0.1",
        cookies={"clew_language": CODE, "clew_hand": "Ina"}, headers={"origin": "http://127.0.0.1"},
    ) as client:  # fmt: skip
        wind(ledger_of(client), "L1-251125-1", "SL-207", 200, pulled=4, order="1041")
        yield client


def test_a_case_on_its_way_is_told_in_the_readers_language(
    tablet: TestClient, tmp_path: Path
) -> None:
    names = names_of(tmp_path / "mill") | {"Ina"}

    def post(path: str, status: int, **typed: object) -> None:
        page = html.unescape(tablet.get("/case").text)
        answer = tablet.post(path, data={**form_of(page, path), **typed})
        assert answer.status_code == status, answer.text
        assert unsaid(texts_of(answer.text), names) == []

    def boxes(path: str) -> list[str]:
        return boxes_of(html.unescape(tablet.get("/case").text), path)

    post(CASE, 422, balls="900")
    post(CASE, 422, balls="x", lot="zz", order="q", line="w")
    post(CASE, 200, balls="80")
    post(CASE, 200, balls="50")
    post(PALLET, 422)
    post(PALLET, 200, case=boxes(PALLET))
    post(SHIP, 422, package=boxes(SHIP), order="1042")
    post(SHIP, 422, package=boxes(SHIP), order="1041")
    decide(ledger_of(tablet), "SL-207", "release")
    post(SHIP, 200, package=boxes(SHIP), order="1041")
