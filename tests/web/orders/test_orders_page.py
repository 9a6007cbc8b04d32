"""Orders: which run next, whether the cones suffice, what it costs, and what a wish would."""

from __future__ import annotations

import html
import json
import re
from collections.abc import Callable, Iterator
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from pypdf import PdfReader
from starlette.testclient import TestClient
from tests.ledger.state.told import say

from clew.cli.main import main
from clew.ledger.store.opening import open_ledger, url_of
from clew.mill import write_demo
from clew.mill.model import Mill
from clew.plan.orders.asked import orders_of_mill
from clew.plan.orders.materials import materials_for
from clew.plan.orders.words import chance_words, head_words
from clew.plan.sequence.plan_file import present_from_csv
from clew.web.mill_on_disk import MillOnDisk
from clew.web.orders.page import warm_orders

Opener = Callable[[Path], TestClient]
NOW = {"now": "2026-11-30 06:00", "within": "10"}
HEAD = "order,customer,ball,colour,balls,due\n"
DECEMBER = "1,Customer 1,Querl 100,Sloe,300,2026-12-04\n"


@pytest.fixture(scope="module")
def office(open_mill: Opener, demo_folder: Path) -> Iterator[TestClient]:
    """One workbench for all tests that change nothing, so that a plan is made once."""
    yield open_mill(demo_folder)


def said(client: TestClient, status: int = 200, path: str = "/orders", **asked: str) -> str:
    """What the page says, its entities read."""
    page = client.get(path, params=NOW | asked)
    assert page.status_code == status, page.text
    assert "Traceback" not in page.text
    return html.unescape(page.text)


def rows_of(page: str, caption: str) -> list[list[str]]:
    """The cells of a table, its heading first."""
    table = page[page.index(f"<caption>{caption}") :].split("</table>", maxsplit=1)[0]
    rows = re.findall(r"<tr>(.*?)</tr>", table, re.S)
    return [re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row, re.S) for row in rows]


def api(client: TestClient, what: str, **asked: str) -> dict[str, Any]:
    answer = client.get(f"/api/plan/{what}", params=NOW | asked)
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()
    return found


def command(*arguments: object, code: int = 0) -> dict[str, Any]:
    result = CliRunner().invoke(main, [str(one) for one in (*arguments, "--json")])
    assert result.exit_code == code, result.output
    found: dict[str, Any] = json.loads(result.stdout)
    return found


def test_page_interface_and_command_say_the_same_plan(
    office: TestClient, demo_folder: Path
) -> None:
    page, found = said(office), api(office, "sequence")
    told = command(
        "plan", "sequence", "--mill", demo_folder, "--now", NOW["now"], "--within", "10 s"
    )
    assert set(told) - set(found) == {"written", "left_out"}  # of files, which only it writes
    assert set(found) < set(told)
    assert found["proven"] and found["kept"] and found["unmet"] == []
    for key in ("plan", "light_to_dark", "bound_money", "currency", "now", "late", "cannot"):
        assert found[key] == pytest.approx(told[key]), key
    assert "<strong>All 4 orders will be done in time.</strong>" in page
    assert "It is the cheapest order of runs there is: proven." in page
    (line,) = found["lines"]
    head, *rows = rows_of(page, "The runs, by line and in time")
    assert head[:6] == ["Run", "Line", "Ball", "Colour", "Dye lot", "Balls"]
    assert [row[:6] for row in rows] == [
        [one["run"], line["line"], one["ball"], one["colour"], one["lot"], str(one["balls"])]
        for one in line["runs"]
    ]
    first, second = line["runs"][:2]
    assert f"Line 1: {first['ball']} in {first['colour']} from {first['lot']} " in page
    assert f"then {second['colour']} ({second['run']}) at " in page
    totals = found["plan"]
    assert f"changes alone {totals['change_cost_money']:.2f}" in page


def test_the_cones_are_what_the_room_and_the_command_say(
    office: TestClient, demo_mill: Mill, demo_folder: Path
) -> None:
    found = materials_for(demo_mill, orders_of_mill(demo_mill))
    told = command("plan", "materials", "--mill", demo_folder)
    assert api(office, "materials") == told
    page = said(office)
    assert head_words(found) in page
    _, *rows = rows_of(page, "The orders against the cones in stock")
    assert len(rows) == 4
    for row, order in zip(rows, found.orders, strict=True):
        assert row[0] == order.asked.number
        assert row[4] == str(order.asked.balls)
        assert row[6] == ", ".join(f"{lot.cones} of {lot.lot_name}" for lot in order.lots)
        assert row[7] == chance_words(order)
    _, *lots = rows_of(page, "What the orders take of each dye lot")
    assert [row[0] for row in lots] == [one.lot_name for one in found.lots]


def test_what_cannot_be_met_and_what_is_late_stand_first_with_ways_out(office: TestClient) -> None:
    late = {"orders": "orders.csv", "now": "2026-12-08 06:00", "within": "1"}
    page = said(office, **late)
    verdict = re.search(r'<p class="said"><strong>(.*?)</strong>', page)
    assert verdict and "will be late; 1111 cannot be met from stock." in verdict[1]
    found = api(office, "sequence", **late)
    assert not found["kept"] and [one["order"] for one in found["unmet"]] == ["1111"]
    assert page.count("<strong>Late.</strong>") == len(found["late"]) > 0
    assert page.count("<strong>Not met.</strong>") == 1
    for way in found["unmet"][0]["frees"]:
        assert way.strip() in page
    assert "Ask the dyehouse for" in page


@pytest.mark.parametrize(
    ("key", "typed", "words"),
    [
        ("now", "soon", "no moment; expected 2026-11-30 06:00"),
        ("now", "1066-10-14 09:00", "no moment"),
        ("within", "31", "out of reach; expected 1 to 30 s"),
        ("within", "0", "out of reach"),
        ("within", "two", "not a whole number"),
        ("seed", "x", "not a whole number"),
        ("seed", "9" * 30, ""),
        ("orders", "../mill.toml", "no such file of orders"),
        ("orders", "shift-weighings.csv", "no such file of orders"),
    ],
)
def test_a_fault_stands_beside_its_input_and_programs_get_it_too(
    office: TestClient, key: str, typed: str, words: str
) -> None:
    page = said(office, 422, **{key: typed})
    beside = re.search(rf'id="{key}-fault">([^<]*)<', page)
    assert beside and beside[1] and words in beside[1]
    assert "No plan until this is put right" in page
    assert "data-plan" not in page
    for what in ("materials", "sequence", "wish"):
        answer = office.get(f"/api/plan/{what}", params=NOW | {key: typed})
        assert answer.status_code == 422
        assert [fault["key"] for fault in answer.json()["faults"]] == [key]
    for path in ("/orders/plan.csv", "/orders/shift-plan.pdf?date=2026-11-30&shift=06:00"):
        assert office.get(path, params=NOW | {key: typed}).status_code == 422


def test_every_fault_is_told_at_once_and_what_was_typed_stays(office: TestClient) -> None:
    page = said(office, 422, now="soon", within="99", seed="q")
    assert page.count('aria-invalid="true"') == 3
    for typed in ('value="99"', 'value="q"', 'value="soon"'):
        assert typed in page


def test_a_wish_is_priced_alike_on_the_page_its_part_and_for_programs(office: TestClient) -> None:
    (line,) = api(office, "sequence")["lines"]
    last = line["runs"][-1]["run"]
    asked = {"run": last, "line": "Line 1", "place": "1"}
    found = api(office, "wish", **asked)
    assert (found["run"], found["line"], found["place"]) == (last, "Line 1", 1)
    assert found["more_money"] >= 0.0  # the plan was proven the cheapest
    assert found["runs"][0]["run"] == last
    whole, part = said(office, **asked), said(office, part="wish", **asked)
    assert "<html" not in part and part.lstrip().startswith('<div class="wish"')
    for page in (whole, part):
        assert f"<strong>{found['words']}</strong>" in page
        assert f'<option value="{last}" selected>' in page
    assert whole.count("data-plan ") == 4 and part.count("data-plan ") == 2
    ids = re.findall(r'\bid="([^"]+)"', whole)
    assert len(ids) == len(set(ids))
    plain = said(office)
    assert "wish-said" not in plain and "data-wish" in plain


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"run": "nobody"}, "no such run in the plan"),
        ({"line": "Line 9"}, "no such line"),
        ({"place": "0"}, "no such place"),
        ({"place": "first"}, "not a whole number"),
    ],
)
def test_a_wish_that_cannot_be_is_refused_beside_the_plan(
    office: TestClient, wrong: dict[str, str], words: str
) -> None:
    asked = {"run": "1042", "line": "Line 1", "place": "2"} | wrong
    whole, part = said(office, 422, **asked), said(office, 422, part="wish", **asked)
    for page in (whole, part):
        assert "<strong>Not possible.</strong>" in page and words in page
        assert "data-wish" in page
    assert "<strong>All 4 orders will be done in time.</strong>" in whole
    answer = office.get("/api/plan/wish", params=NOW | asked)
    assert answer.status_code == 422
    assert words in answer.json()["faults"][0]["what"]


def test_a_wish_that_is_refused_stays_as_it_was_typed(office: TestClient) -> None:
    page = said(office, 422, part="wish", run="1045", line="Line 1", place="0")
    assert '<option value="1045" selected>' in page
    assert re.search(r'name="place" value="0"', page)
    assert "expected 1 or more." in page


def test_pounds_are_told_to_who_reads_pounds(open_mill: Opener, demo_folder: Path) -> None:
    own = open_mill(demo_folder)
    own.cookies.set("clew_units", "yard")
    page = said(own, run="1041", line="Line 1", place="1")
    assert re.search(r"Against light to dark: [^<]* lb less thrown away", page)
    assert re.search(r"1041 as number 1 on Line 1 costs [^<]* lb (more|less) thrown away", page)
    words = page.split('id="words"')[1].split("How it was got")[0]
    assert not re.search(r"\d kg\b", words)
    link = re.search(r'href="(/orders/pick-list\.pdf\?[^"]*)"', page)
    assert link
    paper = PdfReader(BytesIO(own.get(link[1]).content))
    text = " ".join(one.extract_text() for one in paper.pages)
    assert re.search(r"\d\s+lb\b", text) and not re.search(r"\d\s+kg\b", text)


def test_a_plan_that_light_to_dark_equals_says_so_once(open_mill: Opener, mill_dir: Path) -> None:
    (mill_dir / "one.csv").write_text(HEAD + DECEMBER, encoding="utf-8")
    page = said(open_mill(mill_dir), orders="one.csv")
    assert "Light to dark would cost as much. It is the cheapest order of runs" in page
    assert re.search(r"; in it, the change alone [\d.]+\.</p>", page)
    assert page.count(">Mon 30 Nov</text>") == 2  # the first day, in the wide and the narrow form


def test_no_time_is_wished_for_before_a_day_that_is_over(open_mill: Opener, mill_dir: Path) -> None:
    (mill_dir / "past.csv").write_text(HEAD + DECEMBER.replace("12-04", "11-27"), encoding="utf-8")
    page = said(open_mill(mill_dir), orders="past.csv")
    assert "<strong>Late.</strong>" in page
    assert "It is freed by a due date of 2026-11-30 or later." in page
    assert "before the end of 2026-11-27" not in page


def test_a_wish_without_a_run_is_told_what_is_missing(office: TestClient) -> None:
    (fault,) = office.get("/api/plan/wish", params=NOW).json()["faults"]
    assert fault["key"] == "run"


def test_the_papers_of_the_shifts_are_papers_of_this_plan(office: TestClient) -> None:
    page = said(office)
    links = re.findall(r'href="(/orders/(?:shift-plan|pick-list)\.pdf\?[^"]*)"', page)
    assert len(links) >= 2 and len(links) % 2 == 0
    (line,) = api(office, "sequence")["lines"]
    first = line["runs"][0]
    for path in links[:2]:
        paper = office.get(path)
        assert paper.status_code == 200
        assert paper.headers["content-type"] == "application/pdf"
        text = "".join(one.extract_text() for one in PdfReader(BytesIO(paper.content)).pages)
        assert first["lot"] in text


@pytest.mark.parametrize(
    ("asked", "key"),
    [
        ({"date": "2026-13-01", "shift": "06:00"}, "no day"),
        ({"date": "2026-11-30", "shift": "05:00"}, "no shift begins then"),
    ],
)
def test_a_shift_that_is_none_has_no_paper(
    office: TestClient, asked: dict[str, str], key: str
) -> None:
    for name in ("shift-plan", "pick-list"):
        answer = office.get(f"/orders/{name}.pdf", params=NOW | asked)
        assert answer.status_code == 422
        assert key in answer.text


def test_the_plan_as_a_file_is_read_back_as_the_present_plan(
    open_mill: Opener, mill_dir: Path, demo_mill: Mill
) -> None:
    client = open_mill(mill_dir)
    answer = client.get("/orders/plan.csv", params=NOW)
    assert answer.headers["content-type"].startswith("text/csv")
    before = api(client, "sequence")
    runs = before["lines"][0]["runs"]
    present = present_from_csv(answer.text, demo_mill)
    assert [one.run_name for one in present] == [one["run"] for one in runs]
    assert "Begun from the plan" not in said(client)
    (mill_dir / "monday.csv").write_bytes(answer.content)
    page = said(client, plan="monday.csv")
    assert '<option value="monday.csv" selected>' in page
    assert '<option value="monday.csv">' not in page.split('name="now"')[0]  # no list of orders
    after = api(client, "sequence", plan="monday.csv")
    assert after["present"] is not None
    assert after["plan"]["cost_money"] <= after["present"]["cost_money"] + 1e-9
    frozen = [one["run"] for one in after["lines"][0]["runs"] if one["frozen"]]
    assert frozen == [one["run"] for one in runs][: len(frozen)] != []
    assert page.count('class="bar frozen"') == 2 * len(frozen)
    asked = {"plan": "monday.csv", "run": frozen[0], "place": "3"}
    assert "stands in the frozen part" in said(client, 422, **asked)


def test_a_plan_begins_from_the_run_that_the_ledger_knows(
    open_mill: Opener, mill_dir: Path
) -> None:
    empty = api(open_mill(mill_dir), "sequence")["lines"][0]["runs"][0]["change"]
    ledger = open_ledger(url_of(mill_dir))
    ledger.append([say("run start", "05:30:00", run="R1", lot="SL-211", ball_name="Querl 100")])
    ledger.close()
    client = open_mill(mill_dir)
    found = api(client, "sequence")
    told = command(
        "plan", "sequence", "--mill", mill_dir, "--now", NOW["now"], "--within", "10 s",
        "--in-line", "Line 1=Querl 100,SL-211",
    )  # fmt: skip
    assert found["plan"] == pytest.approx(told["plan"])
    first = found["lines"][0]["runs"][0]
    assert first["change"]["kind"] != empty["kind"]
    assert "the empty line threaded" not in said(client)
    client.app.state.bench.ledger.close()  # type: ignore[attr-defined]


def test_no_ledger_is_needed_and_none_is_made(open_mill: Opener, mill_dir: Path) -> None:
    before = {one.name for one in mill_dir.iterdir()}
    assert "the empty line threaded" in said(open_mill(mill_dir))
    assert {one.name for one in mill_dir.iterdir()} == before


def without_orders(folder: Path) -> None:
    """Take the orders out of a mill's folder."""
    (folder / "orders.csv").unlink()
    file = folder / "mill.toml"
    text = re.sub(r"\[\[order\]\].*?(?=\n\[|\Z)", "", file.read_text(encoding="utf-8"), flags=re.S)
    file.write_text(text, encoding="utf-8")


def test_without_orders_the_page_says_how_to_give_them(open_mill: Opener, mill_dir: Path) -> None:
    without_orders(mill_dir)
    client = open_mill(mill_dir)
    page = said(client)
    assert "There are no orders yet." in page
    assert "order, customer, ball, colour, balls, due" in page
    assert "data-plan" not in page and "data-wish" not in page
    (fault,) = client.get("/api/plan/sequence", params=NOW).json()["faults"]
    assert (fault["what"], fault["key"]) == ("no orders to plan", "orders")
    (mill_dir / "week.csv").write_text(HEAD + DECEMBER, encoding="utf-8")
    assert "<strong>The order will be done in time.</strong>" in said(client)


def test_names_from_a_list_of_orders_are_shown_as_words(open_mill: Opener, mill_dir: Path) -> None:
    hostile = '"<script>alert(1)</script>"'
    row = DECEMBER.replace("Customer 1", hostile).replace("1,", '"\'><b",', 1)
    (mill_dir / "hostile.csv").write_text(HEAD + row, encoding="utf-8")
    client = open_mill(mill_dir)
    for part in ({}, {"part": "wish", "run": "'><b", "place": "1"}):
        page = client.get("/orders", params=NOW | {"orders": "hostile.csv"} | part)
        assert page.status_code == 200
        assert "<script>alert" not in page.text and "&lt;script&gt;alert" in page.text
        assert "'><b" not in page.text
        assert not re.search(r"<script(?![^>]*\bsrc=)", page.text)


def test_a_fault_in_a_list_of_orders_names_its_line(open_mill: Opener, mill_dir: Path) -> None:
    (mill_dir / "bad.csv").write_text(
        HEAD + DECEMBER + "2,Customer 1,Querl 900,Sloe,many,yesterday\n", encoding="utf-8"
    )
    page = said(open_mill(mill_dir), 422, orders="bad.csv")
    assert page.count("bad.csv:3") >= 3
    assert "no such ball" in page


def test_a_list_in_another_encoding_is_refused_and_not_guessed(
    open_mill: Opener, mill_dir: Path
) -> None:
    row = DECEMBER.replace("Customer 1", "Käufer 1")
    (mill_dir / "odd.csv").write_bytes((HEAD + row).encode("latin-1"))
    (mill_dir / "good.csv").write_bytes((HEAD + row).encode("utf-8-sig"))
    client = open_mill(mill_dir)
    assert "not UTF-8 text" in said(client, 422, orders="odd.csv")
    assert "Käufer 1" in said(client, orders="good.csv")


def test_more_runs_than_a_page_plans_are_left_to_the_command(
    open_mill: Opener, mill_dir: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("clew.web.orders.page.MOST_RUNS", 3)
    page = said(open_mill(mill_dir), 422)
    assert "too long a list for a page" in page and "clew plan sequence takes more" in page


def test_the_search_is_made_ready_before_the_first_page(
    mill_dir: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    planned: list[int] = []

    def counted(mill: Mill, runs: tuple[object, ...], **_: object) -> None:
        planned.append(len(runs))

    monkeypatch.setattr("clew.web.orders.page.sequence_plan", counted)
    warm_orders(MillOnDisk(mill_dir))
    without_orders(mill_dir)
    warm_orders(MillOnDisk(mill_dir))
    (mill_dir / "mill.toml").write_text("[mill", encoding="utf-8")
    warm_orders(MillOnDisk(mill_dir))
    assert planned == [4]


def test_too_long_a_list_is_refused_before_it_is_worked_out(
    open_mill: Opener, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_demo(tmp_path / "mill")
    rows = "".join(DECEMBER.replace("1,", f"A{one},", 1) for one in range(401))
    (tmp_path / "mill" / "long.csv").write_text(HEAD + rows)
    monkeypatch.setattr("clew.web.orders.page.materials_for", lambda *_, **__: pytest.fail("long"))
    page = said(open_mill(tmp_path / "mill"), 422, orders="long.csv")
    assert (
        "too long a list for a page; expected at most 400 orders; clew plan sequence takes more"
        in page
    )


def test_a_ledger_that_does_not_answer_is_said(
    office: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The page plans on and says so; a program is refused, and may ask again."""
    from clew.ledger.store.trouble import CannotKeep
    from clew.web.orders import routes as orders_routes

    def down(*_: object) -> None:
        raise CannotKeep("the database does not answer", for_good=False)

    monkeypatch.setattr("clew.ledger.runs.now.lines_now", down)
    monkeypatch.setattr(office.app.state.bench.ledger, "ledger", lambda make=True: None)
    assert orders_routes.NOT_TOLD in said(office)
    answer = office.get("/api/plan/sequence", params=NOW)
    assert (answer.status_code, "Retry-After" in answer.headers) == (503, True)
