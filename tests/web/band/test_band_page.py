"""Band: what to change in words, winders side by side, and every file that a mill may put there."""

from __future__ import annotations

import html
import re
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from clew.mill import write_demo
from clew.web.app import create_app

HEAD = "winder,cone,mass_g\n"


def text_of(page: str) -> str:
    """A page's words without its tags, spaces held together made plain."""
    plain = re.sub(r"<(svg|script|style).*?</\1>", " ", page, flags=re.S)
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", "", plain))).strip()


@pytest.fixture
def mill(tmp_path: Path) -> Path:
    """A demo mill without weighings."""
    write_demo(tmp_path / "mill")
    (tmp_path / "mill" / "shift-weighings.csv").unlink()
    return tmp_path / "mill"


def opened(folder: Path) -> TestClient:
    """The workbench of a folder."""
    return TestClient(create_app(folder), base_url="http://127.0.0.1", follow_redirects=False)


def test_the_demo_shift_is_answered_in_words_first(client: TestClient) -> None:
    said = text_of(client.get("/band").text)
    assert "Take 13 counts off winder 4 and add 3 counts to winder 2" in said
    assert "leave winders 1, 3, 5 and 6 alone" in said
    assert "it winds long; take off 13 turns (13 counts)" in said
    assert "drew back after winding" in said
    assert "they do not mend the cause" in said
    assert "The yarn, not a winder: dye lot SL-211 is 1.2 % heavier in count than SL-207" in said
    assert "Winder 3: it seems to run 1.2 g heavy, but the yarn saved" in said
    assert "Net mass as weighed; not corrected for moisture." in said
    assert "Target 101.00 g, for balls to come of dye lot SL-211; whether" in said
    assert said.index("Take 13 counts") < said.index("The winders, one by one")


def test_one_panel_a_winder_each_with_title_and_table(client: TestClient) -> None:
    page = client.get("/band").text
    for place in range(6):
        assert f'aria-labelledby="panel-{place}-title panel-{place}-desc"' in page
        assert f'<details id="panel-{place}-table">' in page
    assert page.count('class="control small"') == 6
    assert page.count('class="control"') == 2  # the chosen one's level and its spread
    assert "Winder 4, large" in page
    assert "Winder 2, large" in client.get("/band", params={"winder": "2"}).text
    ids = re.findall(r'\bid="([^"]+)"', page)
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ({"chart": "xbar-s"}, "Limits ±3.40 g: cones are counted"),
        ({"chart": "individuals"}, "chart calls once in about"),
        ({"chart": "ewma"}, "once in about 554 groups"),
        ({"chart": "cusum"}, "The sums run in standard deviations"),
        ({"value": "length"}, "from one ball to the next (moving range)"),
    ],
)
def test_every_chart_says_its_variance_and_its_false_calls(
    client: TestClient, asked: dict[str, str], words: str
) -> None:
    page = client.get("/band", params=asked)
    assert page.status_code == 200
    assert words in text_of(page.text)


def test_a_cusum_signals_in_words_and_with_a_mark(client: TestClient) -> None:
    page = client.get("/band", params={"chart": "cusum", "winder": "2"}).text
    assert "signals at group 35 (08:38)" in text_of(page)
    assert "Winder 2 rose at group 25 (07:52) to about 102.29 g." in text_of(page)
    assert '<path class="signal"' in page
    assert '<text class="called"' in page


def test_a_target_that_is_tried_moves_corrections_and_says_so(client: TestClient) -> None:
    said = text_of(client.get("/band", params={"target_mass": "103 g"}).text)
    assert "Tried: target mass 103 g (mill file 101 g)" in said
    assert "Target 103.00 g" in said
    assert "take off 13 turns" not in said
    part = client.get("/band", params={"target_mass": "103 g", "part": "answer"}).text
    assert "<html" not in part
    for key in ("words", "picture", "corrections", "mini", "answer", "more"):
        assert f'id="{key}" data-live' in part
    dear = text_of(client.get("/band", params={"yarn_per_kg": "170"}).text)
    assert "leave winders 1" not in dear  # yarn so dear pays for their change


def test_what_cannot_be_read_stands_beside_its_input(client: TestClient) -> None:
    page = client.get("/band", params={"target_mass": "heavy"})
    assert page.status_code == 422
    assert "No answer until this is put right" in page.text
    assert 'aria-invalid="true"' in page.text
    assert client.get("/band", params={"weigh_each": "-3"}).status_code == 422


@pytest.mark.parametrize(
    "asked",
    [
        {"file": "../mill.toml"}, {"file": "none.csv"}, {"ball": "no such"}, {"line": "Line 9"},
        {"chart": "pie"}, {"value": "colour"}, {"shrink": "2 %"},
    ],
)  # fmt: skip
def test_what_is_not_there_is_refused_plainly(client: TestClient, asked: dict[str, str]) -> None:
    page = client.get("/band", params=asked)
    assert page.status_code == 422
    assert "That cannot be answered" in page.text


def test_one_dye_lot_is_looked_at_alone(client: TestClient) -> None:
    said = text_of(client.get("/band", params={"lot": "SL-207"}).text)
    assert "for balls to come of dye lot SL-207" in said
    assert "The yarn, not a winder" not in said
    gone = text_of(client.get("/band", params={"lot": "SL-999"}).text)
    assert "No ball of dye lot SL-999 is in shift-weighings.csv: all its lots are shown." in gone


def test_ounces_and_yards_are_printed_for_who_reads_them(client: TestClient) -> None:
    client.cookies.set("clew_units", "yard")
    page = client.get("/band").text
    said = text_of(page)
    assert "Winder 4 runs 0.12 oz heavy" in said
    assert "Target 3.563 oz" in said
    assert not re.search(
        r"\d g\b", text_of(page[page.index('id="words"') : page.index('id="picture"')])
    )
    assert "mean of a group, oz" in page


def test_what_the_law_needs_comes_later_and_without_script_by_a_link(client: TestClient) -> None:
    page = client.get("/band").text
    assert 'href="/band?file=shift-weighings.csv' in page
    assert "law=yes#law" in page
    part = client.get("/band", params={"part": "price"}).text
    assert part.lstrip().startswith('<div class="parts" id="law"')
    whole = client.get("/band", params={"law": "yes"}).text
    for said in (text_of(part), text_of(whole)):
        assert "above the declared 100 g" in said
        assert "You are set to 101.00 g" in said
        assert "for in-house control; your weights-and-measures office decides" in said
        assert "clew weigh target --" not in said or "first-balls" in said
    assert 'aria-labelledby="passing-title passing-desc"' in whole


def test_an_unconfirmed_table_is_marked(mill: Path) -> None:
    """The American rules on thread rest on tables read in memory only."""
    rows = "".join(f"{k % 3 + 1},C-{k // 8},{100 + (k * 7 % 11) / 10}\n" for k in range(96))
    (mill / "w.csv").write_text(HEAD + rows, encoding="utf-8")
    said = text_of(opened(mill).get("/band", params={"ball": "Sallowe 100", "part": "price"}).text)
    assert "Table unconfirmed." in said


def test_without_a_file_the_page_says_how_to_make_one(mill: Path) -> None:
    page = opened(mill).get("/band")
    assert page.status_code == 200
    said = text_of(page.text)
    assert "No weighings yet." in said
    assert "clew weigh import FILE" in said
    assert str(mill) in said


def test_a_file_with_bad_rows_is_named_with_what_parts_them(mill: Path) -> None:
    rows = "".join(f"1,C-1,x{k}\n" for k in range(12))
    (mill / "monday.csv").write_text(HEAD + rows, encoding="utf-8")
    page = opened(mill).get("/band")
    assert page.status_code == 422
    said = text_of(page.text)
    assert "monday.csv:2: mass_g: not a number" in said
    assert "And 4 lines more." in said
    assert "clew weigh import monday.csv --out good.csv --rejected bad.csv" in said


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (HEAD, "no rows"),
        ("", ""),
        (HEAD + "1,C-1,101.2\n", "cannot be told"),
        (HEAD + "1,C-1,101\n" * 20, ""),
        ("mass_g\n" + "101.2\n100.9\n" * 10, "winders are not named"),
        ("winder,mass_g\n" + "four,101.2\nfive,100.9\n" * 10, "not a winder's number"),
        ("winder,mass_g\n" + "99,101.2\n1,100.9\n" * 10, ""),
        ("winder,length_m\n" + "1,201.2\n2,200.9\n" * 10, "no column of mass"),
        ("winder,gross_g\n" + "1,103.2\n2,103.9\n1,104.1\n2,103.5\n" * 5, "a tare of 2.1 g"),
        ("winder,mass_g\n" + "1,\n2,\n" * 5 + "1,101\n", ""),
    ],
)
def test_files_of_every_kind_get_an_answer_or_a_plain_line(
    mill: Path, text: str, words: str
) -> None:
    (mill / "w.csv").write_text(text, encoding="utf-8")
    for query in ("", "?value=length", "?chart=cusum", "?chart=ewma", "?part=price", "?law=yes"):
        page = opened(mill).get("/band" + query)
        assert page.status_code in (200, 422)
        assert "Clew failed" not in page.text
    assert words in text_of(opened(mill).get("/band").text)


def test_the_ball_is_the_one_the_file_looks_like(mill: Path) -> None:
    rows = "".join(f"{k % 2 + 1},C-{k // 8},{201 + k % 5}\n" for k in range(40))
    (mill / "w.csv").write_text("lot," + HEAD + rows.replace("1,C", "SL-207,1,C").replace(
        "2,C", "SL-207,2,C"), encoding="utf-8")  # fmt: skip
    page = opened(mill).get("/band").text
    assert '<option value="Querl 200" selected>' in page
    other = text_of(opened(mill).get("/band", params={"ball": "Querl 100"}).text)
    assert "is it another ball?" in other


def test_nothing_is_written_into_the_page_unescaped(mill: Path) -> None:
    name = "<i>.csv"
    rows = "".join(f"{k % 2 + 1},<b>{k // 8},{101 + k % 5}\n" for k in range(40))
    (mill / name).write_text(HEAD + rows, encoding="utf-8")
    page = opened(mill).get("/band").text
    assert "<i>.csv" not in page
    assert "&lt;i&gt;.csv" in page
    assert "style=" not in page[page.index("<main") :].replace('class="', "")


def test_the_second_time_nothing_is_worked_out_again(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = client.get("/band").text

    def never(*_: object, **__: object) -> None:
        raise AssertionError("worked out again")

    monkeypatch.setattr("clew.checks.components.drifted.who_drifted", never)
    monkeypatch.setattr("clew.checks.charts.charting.chart_of", never)
    again = client.get("/band").text
    clock = re.compile(r"Printed [^.]+\.")
    assert clock.sub("", again) == clock.sub("", first)
