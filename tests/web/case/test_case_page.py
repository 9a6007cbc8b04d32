"""Case: how a ball is packed and lifted, what it costs, and its bands."""

from __future__ import annotations

import html
import json
import re
from collections.abc import Callable, Iterator
from io import BytesIO
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner
from pypdf import PdfReader
from starlette.testclient import TestClient
from tests.web.orders.test_orders_page import rows_of

from clew.cli.main import main
from clew.mill import write_demo
from clew.mill.model import Mill
from clew.plan.costing.ball_cost import ball_cost
from clew.plan.costing.words import cost_words
from clew.plan.packing.answer import pack_answer
from clew.plan.packing.words import pack_words

Opener = Callable[[Path], TestClient]
ASKED = {"ball": "Querl 100", "lot": "SL-207", "line": "Line 1"}


@pytest.fixture(scope="module")
def office(open_mill: Opener, demo_folder: Path) -> Iterator[TestClient]:
    """One workbench for all tests that change nothing."""
    yield open_mill(demo_folder)


def said(client: TestClient, status: int = 200, **asked: str) -> str:
    """What the page says, its entities read and its spaces plain."""
    page = client.get("/case", params=asked)
    assert page.status_code == status, page.text
    assert "Traceback" not in page.text
    return html.unescape(page.text).replace("\u00a0", " ")


def api(client: TestClient, what: str, **asked: str) -> dict[str, Any]:
    answer = client.get(f"/api/plan/{what}", params=asked)
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()
    return found


def command(*arguments: object) -> dict[str, Any]:
    result = CliRunner().invoke(main, [str(one) for one in (*arguments, "--json")])
    assert result.exit_code == 0, result.output
    found: dict[str, Any] = json.loads(result.stdout)
    return found


def test_every_ball_is_packed_and_costed_as_the_rooms_say(
    office: TestClient, demo_mill: Mill
) -> None:
    for ball in demo_mill.ball:
        page = said(office, ball=ball.name, lot="none")
        told = pack_words(pack_answer(demo_mill, ball.name))
        assert f"<strong>{told[0]}</strong>" in page
        cost = cost_words(ball_cost(demo_mill, ball.name, "", "Line 1"))
        assert f"<strong>{cost[0]}</strong>" in page
        for line in (*told[1:], *cost[1:]):
            assert line in page


def test_the_packing_is_what_programs_and_the_command_get(
    office: TestClient, demo_folder: Path
) -> None:
    found = api(office, "pack", ball="Querl 200")
    assert found == command("plan", "pack", "Querl 200", "--mill", demo_folder)
    head, *rows = rows_of(
        said(office, ball="Querl 200"),
        "Every bag and case of the mill that fits, the cheapest first",
    )
    assert len(rows) == len(found["options"]) > 1
    assert head[0] == "Case" and head[-1] == "A ball, GBP"
    costs = [float(row[-1]) for row in rows]
    assert costs == sorted(costs)
    for row, one in zip(rows, found["options"], strict=True):
        assert row[:3] == [one["case"], str(one["balls_per_bag"]), str(one["bags_per_case"])]
    small = api(office, "pack", ball="Querl 200", case="Medium", bag="5")
    assert small == command(
        "plan", "pack", "Querl 200", "--case", "Medium", "--balls-per-bag", 5, "--mill", demo_folder
    )


def test_the_cost_is_what_programs_and_the_command_get(
    office: TestClient, demo_folder: Path
) -> None:
    found = api(office, "cost", **ASKED)
    told = command(
        "plan", "cost", "Querl 100", "--lot", "SL-207", "--line", "Line 1", "--mill", demo_folder
    )
    assert found == told
    page = said(office, **ASKED, worth="yes")
    _, *stages = rows_of(page, "What a first-quality ball costs, GBP")
    parts = [float(row[2].replace("−", "-")) for row in stages]
    assert stages[-1][2] == f"{found['money_per_ball']:.4f}"
    assert sum(parts[:-1]) == pytest.approx(parts[-1], abs=1e-4 * len(parts))
    _, *worth = rows_of(page, "What one change would cost a ball; foregone")
    assert [row[0].casefold() for row in worth] == [
        one["words"].casefold() for one in found["sensitivities"]
    ]
    assert any("spread" in row[0] for row in worth)
    for row, one in zip(worth, found["sensitivities"], strict=True):
        assert float(row[1].replace("−", "-")) == pytest.approx(one["money_per_ball"], abs=5.1e-5)


def test_what_changes_are_worth_comes_as_a_part_or_at_a_link(office: TestClient) -> None:
    plain = said(office, **ASKED)
    assert "What one change would cost a ball" not in plain
    (link,) = re.findall(r'href="(/case\?[^"]*worth=yes)#worth"', plain)
    part = said(office, **ASKED, part="price")
    assert part.lstrip().startswith('<div id="worth">') and "<html" not in part
    table = part[part.index("<table") : part.index("</table>")]
    assert table in html.unescape(office.get(link).text)
    assert api(office, "cost", **ASKED, worth="no")["sensitivities"] is None


def test_what_is_chosen_is_what_is_packed(office: TestClient) -> None:
    _, *rows = rows_of(
        said(office, ball="Querl 100", case="Medium", bag="5"),
        "Every bag and case of the mill that fits, the cheapest first",
    )
    assert {row[0] for row in rows} == {"Medium"}
    assert {row[1] for row in rows} == {"5"}
    page = said(office, ball="Querl 100", case="Medium", bag="5", run_balls="250")
    assert '<option value="Medium" selected>' in page
    assert 'name="bag" value="5"' in page and 'name="run_balls" value="250"' in page
    few = api(office, "cost", **ASKED, run_balls="250", worth="no")
    many = api(office, "cost", **ASKED, run_balls="25000", worth="no")
    assert few["run_balls"] == 250
    assert few["money_per_ball"] > many["money_per_ball"]


def test_a_packing_that_cannot_be_says_what_is_in_the_way(office: TestClient) -> None:
    page = said(office, ball="Querl 200", case="Small", bag="200")
    found = api(office, "pack", ball="Querl 200", case="Small", bag="200")
    assert found["best"] is None and found["conflicts"]
    for words in found["words"]:
        assert words in page
    assert "pack-drawing" not in page
    assert "costs" in page


@pytest.mark.parametrize(
    ("key", "typed", "words", "at"),
    [
        ("bag", "0", "out of reach; expected a whole number from 1 to 200", ("pack",)),
        ("bag", "201", "", ("pack",)),
        ("bag", "ten", "not a whole number", ("pack",)),
        ("case", "Giant", "no such case; expected one of Small, Medium, Large", ("pack",)),
        ("run_balls", "-4", "", ("cost",)),
        ("run_balls", "1e3", "not a whole number", ("cost",)),
        ("run_balls", "9" * 40, "", ("cost",)),
    ],
)
def test_a_fault_stands_beside_its_input_and_programs_get_it_too(
    office: TestClient, key: str, typed: str, words: str, at: tuple[str, ...]
) -> None:
    page = said(office, 422, **{key: typed})
    field = page[page.index(f'name="{key}"') :]
    beside = re.search(r'class="fault"[^>]*>([^<]*)<', field)
    assert beside and beside[1] and words in beside[1]
    assert "No answer until this is put right" in page
    assert "What is wrong stands beside its input above." in page
    assert "run_balls:" not in page
    for what in at:
        answer = office.get(f"/api/plan/{what}", params={key: typed})
        assert answer.status_code == 422
        assert [fault["key"] for fault in answer.json()["faults"]] == [key]


@pytest.mark.parametrize("wrong", [{"ball": "Nope"}, {"lot": "Nope"}, {"line": "Line 9"}])
def test_a_name_that_is_not_there_is_told_with_those_that_are(
    office: TestClient, wrong: dict[str, str]
) -> None:
    page = said(office, 422, **wrong)
    answer = office.get("/api/plan/cost", params=wrong)
    assert answer.status_code == 422
    (fault,) = answer.json()["faults"]
    assert fault["what"] in page and "one of" in fault["expected"]


def test_worth_is_yes_or_no(office: TestClient) -> None:
    (fault,) = office.get("/api/plan/cost", params={"worth": "maybe"}).json()["faults"]
    assert (fault["key"], fault["expected"]) == ("worth", "yes or no")


def test_what_may_not_be_asked_at_an_address_is_refused_there(office: TestClient) -> None:
    for path in ("/case?shrink=x", "/api/plan/pack?lot=SL-207", "/api/plan/cost?case=Small"):
        assert office.get(path).status_code == 422


def test_the_pictures_show_every_box_and_are_said_in_words(
    office: TestClient, demo_mill: Mill
) -> None:
    found = api(office, "pack", ball="Dunnow 50")
    page = office.get("/case", params={"ball": "Dunnow 50"}).text
    drawn = re.findall(r"<svg[^>]*pack-drawing.*?</svg>", page, re.S)
    assert len(drawn) == len(found["drawings"]) >= 2
    for text, one in zip(drawn, found["drawings"], strict=True):
        root = ElementTree.fromstring(text)
        boxes = [each for each in root.iter() if each.tag.endswith("rect")]
        assert len(boxes) == len(one["rects"]) + 1  # and the room they stand in
        turned = [each for each in boxes if "turned" in (each.get("class") or "")]
        across = [each for each in root.iter() if each.get("class") == "across"]
        assert len(turned) == len(across) == sum(each["turned"] for each in one["rects"])
        assert one["words"] in "".join(root.itertext())


def test_bands_come_as_a_paper_of_so_many(office: TestClient) -> None:
    page = said(office, **ASKED)
    (link,) = re.findall(r'href="(/case/bands\.pdf\?[^"]*)"', page)
    paper = office.get(link)
    assert paper.status_code == 200 and paper.headers["content-type"] == "application/pdf"
    text = "".join(one.extract_text() for one in PdfReader(BytesIO(paper.content)).pages)
    assert "SL-207" in text
    few = office.get("/case/bands.pdf", params=ASKED | {"copies": "1"})
    assert len(PdfReader(BytesIO(few.content)).pages) == 1


@pytest.mark.parametrize(
    "asked", [{"copies": "0"}, {"copies": "2001"}, {"copies": "x"}, {"ball": "Nope"}, {"bag": "5"}]
)
def test_bands_that_cannot_be_printed_are_refused(
    office: TestClient, asked: dict[str, str]
) -> None:
    answer = office.get("/case/bands.pdf", params=asked)
    assert answer.status_code == 422
    assert answer.headers["content-type"].startswith("text/html")


def test_words_of_the_mill_file_are_shown_as_words(open_mill: Opener, mill_dir: Path) -> None:
    file = mill_dir / "mill.toml"
    text = file.read_text(encoding="utf-8").replace("Querl 100", "<b>Querl</b> & 100")
    file.write_text(text, encoding="utf-8")
    page = open_mill(mill_dir).get("/case").text
    assert "&lt;b&gt;Querl&lt;/b&gt; &amp; 100" in page
    assert "<b>Querl" not in page


def test_ounces_and_yards_change_what_is_shown_and_not_what_is_meant(client: TestClient) -> None:
    metric = said(client, ball="Querl 100")
    client.cookies.set("clew_units", "yard")
    yard = said(client, ball="Querl 100")
    _, bag, *_ = rows_of(metric, "What leaves, packed the cheapest way")
    _, other, *_ = rows_of(yard, "What leaves, packed the cheapest way")
    assert bag[1] == other[1]
    assert bag[4].endswith(" m³") and other[4].endswith(" ft³")
    cubic = float(other[4].split()[0]) / float(bag[4].split()[0])
    assert cubic == pytest.approx(35.31, rel=0.1)
    assert re.search(r"\b(lb|oz)$", other[2]) and bag[2].endswith("g")
    for unit in ("kg", "mm"):
        told = re.compile(rf"(A full case weighs|In the bag|A ball is taken)[^<]*\d {unit}\b")
        assert not told.search(yard)
    assert re.search(r"A full case weighs [\d.]+ lb; .* at most [\d.]+ lb", yard)
    assert re.search(r"bags in a layer [\d.]+ in thick", yard)
    assert re.search(r"1000 balls leave [\d.]+ lb of yarn", yard)


def test_the_link_to_what_changes_are_worth_keeps_what_was_typed(office: TestClient) -> None:
    page = said(office, **ASKED, case="Large", bag="5", run_balls="300")
    (link,) = re.findall(r'href="(/case\?[^"]*worth=yes)#worth"', page)
    there = html.unescape(office.get(link).text).replace("\u00a0", " ")
    words = re.findall(r"A ball of Querl 100 costs [^<]*", page)
    assert words
    assert words == re.findall(r"A ball of Querl 100 costs [^<]*", there)
    assert 'name="run_balls" value="300"' in there and 'value="Large" selected' in there


def test_words_keep_their_hyphens_and_figures_have_a_minus(client: TestClient) -> None:
    page = client.get("/case").text
    assert "first−quality" not in page
    assert "A first-quality ball" in page
    assert re.search(r">−0\.\d{4}<", page)


def test_a_yard_reader_is_told_of_the_lift_in_inches(
    open_mill: Opener, demo_folder: Path, demo_mill: Mill
) -> None:
    reader = open_mill(demo_folder)
    reader.cookies.set("clew_units", "yard")
    lift = said(reader, **ASKED).split('id="lift"')[1].split("</section>")[0]
    cautions = [one for one in lift.split("<p>") if "their undersides" in one or "the grip" in one]
    assert cautions and all(" in" in one and " mm" not in one for one in cautions)


def test_a_mill_without_cases_is_told_what_to_write_and_no_option(
    open_mill: Opener, tmp_path: Path
) -> None:
    write_demo(tmp_path / "mill")
    path = tmp_path / "mill" / "mill.toml"
    text = path.read_text(encoding="utf-8")
    bare = re.sub(r"\[\[pack\.case\]\]\n(?:[^\[\n].*\n|\n)*", "", text)
    bare = re.sub(r', case = "(?:Small|Medium|Large)"', "", bare)
    assert bare != text
    path.write_text(bare, encoding="utf-8")
    page = said(open_mill(tmp_path / "mill"), 422, ball="Querl 100")
    assert "no case to pack into" in page and "a [[pack.case]] in the mill file" in page
    assert "--case" not in page
