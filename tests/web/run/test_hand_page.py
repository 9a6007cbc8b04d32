"""The page for hands: what is touched is kept once, said back, and can be taken back."""

from __future__ import annotations

import html
import re
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from clew.ledger.events.message import Record
from clew.ledger.ingest.by_hand import DEEDS
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.reading import chain_records
from clew.ledger.store.trouble import CannotKeep
from clew.mill import write_demo
from clew.web.app import create_app
from clew.web.door.who import Who
from clew.web.run.hand_routes import OtherHand, _pressed_by
from clew.web.workbench import Workbench

LINE = "Line 1"


@pytest.fixture
def tablet(tmp_path: Path) -> TestClient:
    """The workbench of a mill of its own."""
    write_demo(tmp_path / "mill")
    return TestClient(
        create_app(tmp_path / "mill"), base_url="http://127.0.0.1", follow_redirects=False
    )


def ledger_of(client: TestClient) -> Ledger:
    bench = client.app.state.bench  # type: ignore[attr-defined]
    assert isinstance(bench, Workbench)
    return bench.ledger.ledger()


def kept(client: TestClient) -> list[Record]:
    return list(chain_records(ledger_of(client), LINE))


def page_of(client: TestClient, **asked: str) -> str:
    answer = client.get("/run/hand", params=asked)
    assert answer.status_code == 200, answer.text
    return html.unescape(answer.text)


def form_of(page: str, deed: str) -> dict[str, str]:
    """The hidden fields of a button's form."""
    for form in re.findall(r"<form[^>]*data-deed>(.*?)</form>", page, re.S):
        found = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)">', form))
        if found.get("deed") == deed:
            return found
    raise AssertionError(deed)


def test_every_button_is_there_once_a_lane_is_touched(tablet: TestClient) -> None:
    before, after = page_of(tablet), page_of(tablet, lane="3")
    assert "Touch your lane." in before
    for deed in DEEDS:
        assert (f'value="{deed.key}"' in before) == (deed.place == "line")
        assert f'value="{deed.key}"' in after


def test_a_touch_is_kept_once_however_often_it_is_sent(tablet: TestClient) -> None:
    form = form_of(page_of(tablet, lane="3"), "tie")
    first, second = (tablet.post("/run/hand", data=form) for _ in range(2))
    assert first.status_code == second.status_code == 303
    (record,) = kept(tablet)
    assert (record.kind, record.lane, record.line) == ("tie", 3, LINE)
    assert f"<strong>Kept</strong> as record {record.seq}" in page_of(
        tablet, lane="3", kept=str(record.seq)
    )
    assert first.headers["location"].endswith("kept=1&lane=3")
    assert "again=1" in second.headers["location"]
    said = tablet.post("/run/hand", data=form, headers={"Accept": "application/json"}).json()
    assert said["outcome"] == "already"


def test_what_was_typed_stays_beside_what_is_wrong_with_it(tablet: TestClient) -> None:
    form = form_of(page_of(tablet, lane="2"), "load") | {"cone": "", "cone_mass_g": "heavy"}
    answer = tablet.post("/run/hand", data=form)
    assert answer.status_code == 422
    text = html.unescape(answer.text)
    assert 'value="heavy"' in text
    assert 'id="load-cone-fault"' in text
    assert 'id="load-cone_mass_g-fault"' in text
    assert '<details id="deed-load" class="asks" open>' in text
    assert kept(tablet) == []


def test_no_control_character_comes_back_in_what_was_typed(tablet: TestClient) -> None:
    odd = "12\x0634\u202e\x7f"
    form = form_of(page_of(tablet, lane="2"), "load")
    answers = (
        tablet.post("/run/hand", data=form | {"cone": odd, "cone_mass_g": odd}),
        tablet.post("/run/hand", data=form | {"clock": odd}),
        tablet.get("/run/hand", params={"lane": "2", "clock": odd}),
    )
    for answer in answers:
        assert answer.status_code == 422
        assert 'value="1234"' in answer.text
        assert re.search("[\x00-\x08\x0b-\x1f\x7f\u202e]", answer.text) is None
    assert kept(tablet) == []


def test_a_cone_is_loaded_with_all_that_its_label_says(tablet: TestClient) -> None:
    form = form_of(page_of(tablet, lane="2"), "load")
    tablet.post("/run/hand", data=form | {"cone": "C-9", "lot": "SL-207", "cone_mass_g": "1.58 kg"})
    (record,) = kept(tablet)
    assert (record.cone, record.lot, record.fields()["cone_mass_g"]) == ("C-9", "SL-207", 1580.0)


@pytest.mark.parametrize(
    ("language", "typed", "mass_g"),
    [
        ("en", "101,3", 101.3), ("en", "101.3 g", 101.3), ("en", "1,000", None),
        ("de", "101,3", 101.3), ("de", "101,3 g", 101.3), ("de", "1.000", None),
    ],
)  # fmt: skip
def test_a_weighing_is_typed_with_the_mark_of_whoever_types_it(
    tablet: TestClient, language: str, typed: str, mass_g: float | None
) -> None:
    form = form_of(page_of(tablet, lane="2"), "weighed") | {"mass_g": typed}
    tablet.cookies.set("clew_language", language)
    answer = tablet.post("/run/hand", data=form)
    if mass_g is None:
        assert answer.status_code == 422
        assert 'id="weighed-mass_g-fault"' in answer.text
        assert kept(tablet) == []
    else:
        (record,) = kept(tablet)
        assert record.fields()["mass_g"] == mass_g


def test_an_entry_waits_for_a_mill_file_that_is_being_mended(tablet: TestClient) -> None:
    form, script = form_of(page_of(tablet, lane="2"), "doff"), {"Accept": "application/json"}
    bench = tablet.app.state.bench  # type: ignore[attr-defined]
    file = bench.mill.folder / "mill.toml"
    sound = file.read_text(encoding="utf-8")
    file.write_text(sound + "\n[half", encoding="utf-8")
    # the tablet keeps what is answered with 503, and takes off its list what is refused with 422
    assert tablet.post("/run/hand", data=form, headers=script).status_code == 503
    file.write_text(sound, encoding="utf-8")
    assert tablet.post("/run/hand", data=form, headers=script).json()["outcome"] == "kept"


def test_an_entry_can_be_for_a_time_before_now(tablet: TestClient) -> None:
    page = page_of(tablet, lane="1", clock="00:01")
    assert "Entering for 00:01, not for now." in page
    tablet.post("/run/hand", data=form_of(page, "doff"))
    (record,) = kept(tablet)
    assert record.received_us - record.at_us < 26 * 3_600_000_000
    assert record.at_us % 60_000_000 == 0
    assert tablet.get("/run/hand", params={"clock": "25:99"}).status_code == 422


def test_a_slip_is_taken_back_and_both_stay_in_the_ledger(tablet: TestClient) -> None:
    tablet.post("/run/hand", data=form_of(page_of(tablet, lane="1"), "doff"))
    page = page_of(tablet, lane="1")
    assert "Take back" in page
    answer = tablet.post("/run/hand/undo", data={"line": LINE, "seq": "1", "lane": "1"})
    assert answer.status_code == 303
    records = kept(tablet)
    assert [one.kind for one in records] == ["doff", "correction"]
    assert records[1].fields() == {
        "of_seq": 1, "void": True, "why": "taken back at the tablet",
    }  # fmt: skip
    page = page_of(tablet, lane="1")
    assert "taken back" in page
    assert "Take back" not in page
    assert tablet.post("/run/hand/undo", data={"line": LINE, "seq": "7"}).status_code == 422


def test_a_look_over_the_line_keeps_what_was_ticked(tablet: TestClient) -> None:
    form = form_of(page_of(tablet), "start-up")
    tablet.post("/run/hand", data={**form, "done": ["0", "1"], "note": "belt damp"})
    (record,) = kept(tablet)
    assert len(record.fields()["done"]) == 2
    assert record.fields()["not_done"]


@pytest.mark.parametrize(
    ("asked", "status"),
    [({"lane": "7"}, 422), ({"lane": "x"}, 422), ({"line": "Line 9"}, 422), ({"foo": "1"}, 422)],
)
def test_what_is_not_there_is_a_plain_page(
    tablet: TestClient, asked: dict[str, str], status: int
) -> None:
    assert tablet.get("/run/hand", params=asked).status_code == status


def test_when_nothing_can_be_kept_nothing_is_said_to_be(
    tablet: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = page_of(tablet, lane="1")
    form = form_of(page, "doff")

    def full(*_: object, **__: object) -> None:
        raise CannotKeep("the disk that holds the ledger is full", for_good=True)

    with monkeypatch.context() as patched:
        patched.setattr(Ledger, "append", full)
        answer = tablet.post("/run/hand", data=form)
        assert answer.status_code == 503
        assert "the disk that holds the ledger is full" in answer.text
        said = tablet.post("/run/hand", data=form, headers={"Accept": "application/json"})
        assert said.status_code == 503
    assert kept(tablet) == []
    assert tablet.post("/run/hand", data=form).status_code == 303
    assert len(kept(tablet)) == 1


def test_what_waited_on_the_tablet_stays_its_authors(tablet: TestClient) -> None:
    form = form_of(page_of(tablet, lane="1"), "doff") | {"by": "Ina Marl"}
    tablet.cookies.set("clew_hand", "Somebody")
    assert tablet.post("/run/hand", data=form).status_code == 303
    (record,) = kept(tablet)
    assert record.author == "Ina Marl"
    spoilt = form | {"by": "a" * 200, "key": "k2"}
    assert tablet.post("/run/hand", data=spoilt).status_code == 422


def test_an_entry_of_somebody_else_waits_for_them_to_sign_in() -> None:
    mine = Who("Bo", "hand", "session", frozenset(), "web")
    assert _pressed_by({"by": "Bo"}, mine) == "Bo"
    assert _pressed_by({}, mine) == "Bo"
    with pytest.raises(OtherHand, match="entered by somebody else"):
        _pressed_by({"by": "Ina Marl"}, mine)
