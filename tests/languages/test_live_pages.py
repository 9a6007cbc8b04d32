"""A run in progress is shown in the reader's language, and kept in the program's own."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from pseudo import CODE, Bracketed, unsaid
from starlette.testclient import TestClient
from unsaid import names_of, texts_of

from clew.languages import tongues
from clew.ledger.store.reading import chain_records
from clew.mill import write_demo
from clew.web.app import create_app

LINE = "Line 1"
ENTRIES = (
    {"lane": "1", "deed": "load", "cone": "C-1", "lot": "BR-088"},
    {"lane": "1", "deed": "tie", "cone": "C-1"},
    {"lane": "2", "deed": "weighed", "mass_g": "80"},
    {"lane": "3", "deed": "pulled", "why": "too light", "to": "waste"},
    {"lane": "4", "deed": "stop", "why": "no cones"},
    {"deed": "shut-down", "done": "1"},
)


@pytest.fixture(scope="module")
def mill(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo mill, with nothing recorded yet."""
    folder = tmp_path_factory.mktemp("live") / "mill"
    write_demo(folder)
    return folder


@pytest.fixture(scope="module")
def at(mill: Path) -> Iterator[TestClient]:
    """A workbench with a run in progress, read in the language whose messages show."""
    own, odd = tongues.tongue_of, Bracketed()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(tongues, "tongue_of", lambda code: odd if code == CODE else own(code))
        with TestClient(
            create_app(mill), base_url="http://127.0.0.1",
            cookies={"clew_language": CODE},
        ) as client:  # fmt: skip
            client.post("/who", data={"other": "1234"})
            run = {"line": LINE, "ball": "Querl 100", "lot": "SL-207", "trial": "yes", "key": "k"}
            assert client.post("/run/start", data=run).status_code == 200
            for number, entry in enumerate(ENTRIES):
                found = client.post("/run/hand", data={"line": LINE, "key": str(number), **entry})
                assert found.status_code == 200
            yield client


def test_a_run_in_progress_is_said(at: TestClient, mill: Path) -> None:
    names = names_of(mill)
    for address in ("/run", "/run?part=live", "/run?form=set", "/run/hand?lane=4"):
        left = [one for one in texts(at, address, names) if "·" not in one]  # a hash has letters
        assert left == []


def texts(at: TestClient, address: str, names: set[str]) -> list[str]:
    return unsaid(texts_of(at.get(address).text), names)


def test_what_a_button_offers_is_kept_in_english(at: TestClient) -> None:
    ledger = at.app.state.bench.ledger.ledger()  # type: ignore[attr-defined]
    kept = {one.kind: json.loads(one.body) for one in chain_records(ledger, LINE)}
    assert kept["stop"]["why"] == "no cones"
    assert (kept["pulled"]["why"], kept["pulled"]["to"]) == ("too light", "waste")
    assert len(kept["check"]["done"]) == 1
    assert not any("⟦" in json.dumps(one, ensure_ascii=False) for one in kept.values())
    assert "⟦no cones⟧" in at.get("/run").text


def test_a_touch_is_answered_in_the_reader_s_language(at: TestClient) -> None:
    touch = {"line": LINE, "lane": "9999", "deed": "doff", "key": "x"}
    said = at.post("/run/hand", data=touch, headers={"accept": "application/json"}).json()
    assert said["faults"][0]["what"] == "⟦no such lane⟧"
    for_programs = at.get("/api/run/live?line=Nowhere")
    assert for_programs.status_code == 422
    assert "⟦" not in for_programs.text
