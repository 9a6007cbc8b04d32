"""The manual inside the workbench: every page, nothing to load, a search that finds."""

from __future__ import annotations

import re
from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from clew.web.manual.maths import formula_of
from clew.web.manual.pages import ManualPage, ManualPart, manual_folder, plain, read_parts
from clew.web.manual.search import look_for
from clew.web.manual.text import address_of, rendered
from clew.web.stations import LINE
from clew.web.workbench import STATIONS_OF_MANUAL

PAGES = [page.name for part in read_parts(manual_folder()) for page in part.pages]
Opener = Callable[[Path], TestClient]
VOID = {"img", "br", "hr", "input", "meta", "link", "wbr"}


@pytest.fixture(scope="module")
def client(open_mill: Opener, demo_folder: Path) -> TestClient:
    """One workbench for all: nothing here changes it."""
    return open_mill(demo_folder)


class Read(HTMLParser):
    """Every element of a page, its attributes, and whether all are closed in order."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.feed(text)
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def said(markdown: str) -> str:
    return rendered(markdown, str)


@pytest.mark.parametrize("name", PAGES)
def test_a_page_is_whole_and_loads_nothing(client: TestClient, name: str) -> None:
    answer = client.get(f"/manual/{name}")
    assert answer.status_code == 200
    article = re.search(r'<article class="manual" lang="en">(.*)</article>', answer.text, re.DOTALL)
    assert article
    found = Read(article[1]).found
    assert [tag for tag, _ in found if tag in ("script", "style", "iframe", "object")] == []
    assert [tag for tag, _ in found].count("h1") == 1
    for tag, attributes in found:
        assert "style" not in attributes
        assert not any(key.startswith("on") for key in attributes)
        if tag == "img":
            assert client.get(str(attributes["src"])).headers["content-type"] == "image/png"
    left = re.search(r"\{(doc|literalinclude|toctree|caution)\}|\$\$|<merror", article[1])
    assert left is None, left


@pytest.mark.long  # every page is made; the manual's own build refuses what leads nowhere too
def test_every_reference_leads_somewhere(client: TestClient) -> None:
    places: dict[str, set[str | None]] = {}
    wanted: list[tuple[str, str, str]] = []
    for name in PAGES:
        found = Read(
            re.sub(r".*<article class=\"manual\" lang=\"en\">|</article>.*", "",
                   client.get(f"/manual/{name}").text, flags=re.DOTALL)
        ).found  # fmt: skip
        places[name] = {attributes["id"] for _, attributes in found if "id" in attributes}
        for tag, attributes in found:
            href = str(attributes.get("href", ""))
            if tag == "a" and href.startswith(("/manual/", "#")):
                page, _, place = href.removeprefix("/manual/").partition("#")
                wanted.append((name, page or name, place))
    assert len(wanted) > len(PAGES)
    assert [one for one in wanted if one[1] not in places] == []
    assert [one for one in wanted if one[2] and one[2] not in places[one[1]]] == []


def test_every_station_has_its_page_and_it_says_what_is_not_modelled(client: TestClient) -> None:
    for station in (one for top in LINE for one in (top, *top.hung)):
        page = client.get(f"/manual/station_{station.key}")
        assert page.status_code == 200, station
        for heading in ("How to read the picture", "What is not modelled", "How this is got"):
            assert f">{heading}</h2>" in page.text, (station, heading)
        assert f"<code>{station.path}</code>" in page.text


def test_the_contents_list_every_page_once(client: TestClient) -> None:
    page = client.get("/manual").text
    listed = re.findall(r'<li><a href="/manual/([^"]+)"', page)
    assert listed == PAGES
    answers = re.findall(r"<span>: ([^<]+)</span>", page)
    assert len(answers) > len(PAGES) / 2
    assert [one for one in answers if one.startswith(("|", "-", "#")) or "|---" in one] == []
    assert len(set(PAGES)) == len(PAGES)
    lying = {path.stem for path in manual_folder().rglob("*.md") if path.parent.name[0] != "_"}
    assert lying - {"index"} == set(PAGES)


def test_what_is_not_there(client: TestClient) -> None:
    for name in ("nothing", "..%2fpyproject", "index", "conf.py"):
        assert client.get(f"/manual/{name}").status_code == 404
    assert client.get("/manual/pictures/nothing.png").status_code == 404
    assert client.get("/manual/pictures/..%2Findex.md").status_code == 404
    assert client.get("/manual?look=x").status_code == 422


def test_a_search_finds_a_page_by_any_ending_and_shows_the_words(client: TestClient) -> None:
    page = client.get("/manual", params={"find": "knots limits"}).text
    assert "the best first" in page
    assert '<a href="/manual/knots_price' in page
    assert re.search(r"<mark>[^<]+</mark>", page)
    none = client.get("/manual", params={"find": "xylophone"}).text
    assert "No place in the manual has all of these words" in none
    typed = client.get("/manual", params={"find": '<b>"x'}).text
    assert "<b>" not in typed
    assert 'value="&lt;b&gt;&#34;x"' in typed


def test_a_search_orders_by_title_then_heading_then_text() -> None:
    pages = (
        ManualPage("c", "Other", "", "# Other\n\nOf doffing a ball.\n"),
        ManualPage("b", "Other", "", "# Other\n\nNothing.\n\n## A doff\n\nwords\n"),
        ManualPage("a", "Doffs", "", "# Doffs\n\nWords.\n"),
    )
    found = look_for((ManualPart("all", pages),), "Doff")
    assert [one.href for one in found] == ["/manual/a", "/manual/b#a-doff", "/manual/c"]
    assert found[2].hit == "doffing"
    assert look_for((ManualPart("all", pages),), "doff nowhere") == ()
    assert look_for((ManualPart("all", pages),), " ?! ") == ()


def test_a_search_of_a_question_leaves_its_small_words_out() -> None:
    pages = (ManualPage("a", "Winders", "", "# Winders\n\nWinder 4 runs heavy.\n"),)
    (found,) = look_for((ManualPart("all", pages),), "why is a winder heavy?")
    assert found.href == "/manual/a"
    assert look_for((ManualPart("all", pages),), "the") == ()


def test_what_is_cut_from_a_text_says_that_it_goes_on() -> None:
    text = " ".join(["ply"] * 90)
    pages = (ManualPage("a", "Long", "", f"# Long\n\n{text} doff {text}\n"),)
    (hit,) = look_for((ManualPart("all", pages),), "doff")
    assert hit.before.startswith("… ply ")
    assert hit.after.endswith(" ply …")
    (title,) = look_for((ManualPart("all", pages),), "long")
    assert title.before.startswith("ply ")
    assert title.before.endswith(" ply …")


def test_what_is_found_stands_at_an_anchor_that_is_there(client: TestClient) -> None:
    for words in ("backup", "tie", "target", "case", "why"):
        for found in look_for(read_parts(manual_folder()), words):
            page, _, place = found.href.partition("#")
            assert not place or f'id="{place}"' in client.get(page).text, found


def test_text_is_text() -> None:
    page = said("# A <b>\n\n<script>alert(1)</script> [x](javascript:alert(1)) `<i>`\n")
    assert "<script" not in page
    assert "<b>" not in page
    assert "<i>" not in page
    assert 'href="javascript' not in page


def test_marks_of_the_manual_are_understood() -> None:
    page = said(
        "see {doc}`ball_turns`, {doc}`here <lot_test>` and [there](knots_law.md#how)\n\n"
        "```{caution}\nHot *steam*.\n```\n\n| | n |\n|---|--:|\n| a | 1 |\n\n$a_1$\n"
    )
    assert '<a href="/manual/ball_turns">ball_turns</a>' in page
    assert '<a href="/manual/lot_test">here</a>' in page
    assert '<a href="/manual/knots_law#how">there</a>' in page
    assert '<p class="heed-word">Caution</p>' in page
    assert "<em>steam</em>" in page
    assert '<th scope="col" class="right">n</th>' in page
    assert page.count("<th") == 2  # thead and one heading; an empty one is a cell
    assert "<msub>" in page
    assert address_of("#here") == "#here"
    assert plain("*a* {doc}`b <c>` [d](e)") == "a b d"
    assert plain("Usage: `clew` [OPTIONS] [d](e)") == "Usage: clew [OPTIONS] d"


def test_a_formula_is_mathml_and_its_functions_stand_apart() -> None:
    assert formula_of("x").startswith("<math")
    assert 'display="block"' in formula_of("x", block=True)
    assert "mspace" in formula_of(r"\ln x")
    assert "mspace" not in formula_of(r"\lnot x")


def test_the_folder_beside_the_source_is_the_manual() -> None:
    assert manual_folder() == Path(__file__).parents[3] / "docs"


def test_every_station_leads_to_its_page_of_the_manual(client: TestClient) -> None:
    stations = {one.key for first in LINE for one in (first, *first.hung)}
    assert stations == STATIONS_OF_MANUAL
    assert {f"station_{key}" for key in STATIONS_OF_MANUAL} <= set(PAGES)
    assert '<a href="/manual/station_trace">' in client.get("/trace").text
    assert '<p><a href="/manual">' in client.get("/nothing-here").text
