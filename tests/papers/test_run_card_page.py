"""The run card as a page: the same texts as the sheet, escaped, nothing asked from outside."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Callable
from datetime import datetime
from html.parser import HTMLParser

import pytest

from clew.papers import DEFERRAL, CardContent, run_card_css, run_card_html

Contents = Callable[..., CardContent]
Texts = Callable[[CardContent], list[str]]
EMPTY_ELEMENTS = {"meta", "br", "hr", "link", "img", "input"}


class _Page(HTMLParser):
    """Text, elements and open elements of a page."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.words: list[str] = []
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        if tag not in EMPTY_ELEMENTS:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if not {"style", "script"} & set(self.open):
            self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())


@pytest.mark.parametrize("units", ["metric", "yard"])
@pytest.mark.parametrize("standalone", [True, False])
def test_every_text_of_the_content_stands_on_the_page(
    content: Contents, printed_texts: Texts, units: str, standalone: bool
) -> None:
    found = content("Dunnow 50", "SA-340", units=units)
    page = _Page(run_card_html(found, standalone=standalone))
    for text in printed_texts(found):
        assert " ".join(text.split()) in page.text
    assert DEFERRAL in page.text
    assert page.open == []


def test_the_page_stands_by_itself(content: Contents) -> None:
    html = run_card_html(content())
    page = _Page(html)
    assert {"script", "link", "img", "iframe", "object"}.isdisjoint(tag for tag, _ in page.elements)
    assert not re.search(r"https?:|url\(|@import|src=|javascript:", html)
    assert not any(name.startswith("on") for _, attributes in page.elements for name in attributes)
    assert ("html", {"lang": "en"}) in page.elements
    assert sum(tag == "style" for tag, _ in page.elements) == 1


def test_heads_of_tables_are_heads(content: Contents) -> None:
    page = _Page(run_card_html(content()))
    heads = [attributes.get("scope") for tag, attributes in page.elements if tag == "th"]
    assert heads.count("row") == 6 + 2
    assert heads.count("col") == 7 + 2 + 5
    assert sum(tag == "h1" for tag, _ in page.elements) == 1
    assert sum(tag == "caption" for tag, _ in page.elements) == 2


def test_a_winder_has_room_for_its_first_balls(content: Contents) -> None:
    found = content()
    html = run_card_html(found, standalone=False)
    assert html.count('class="blank"') == len(found.winders.rows) * len(found.blanks)


def test_the_part_of_a_page_is_one_article_without_style(content: Contents) -> None:
    html = run_card_html(content(), standalone=False).strip()
    assert html.startswith("<article") and html.endswith("</article>")
    assert "<style" not in html


def test_the_style_touches_nothing_but_the_card() -> None:
    css = re.sub(r"@media[^{]*\{", "", run_card_css())
    rules = re.findall(r"([^{}]+)\{", css)
    assert len(rules) > 10
    for selectors in rules:
        for selector in selectors.split(","):
            assert re.match(r"\s*(article)?\.run-card\b", selector), selector


def test_the_style_has_no_colour_but_black_and_white() -> None:
    assert set(re.findall(r"#[0-9a-f]{3,8}\b", run_card_css())) == {"#000", "#fff"}
    assert not re.search(r"rgb|hsl|\b(red|green|blue|grey|gray)\b", run_card_css())


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_it_prints_on_the_papers_size(content: Contents, paper: str) -> None:
    assert f"@page {{ size: {paper};" in run_card_html(content(paper=paper))


@pytest.mark.parametrize(
    "name",
    [
        "</p><script>alert(1)</script>",
        '" onmouseover="x',
        "{{ 7 * 7 }}",
        "&amp; <b>",
        "藍 🧶",
        "'#*$[]\\@",
    ],
)
def test_hostile_texts_are_text(content: Contents, name: str) -> None:
    usual = content()
    hostile = dataclasses.replace(
        usual,
        **dict.fromkeys(("title", "mill_name", "ball_name", "colour_name", "lot_name"), name),
        band_text=(name,),
        winders=dataclasses.replace(usual.winders, title=name),
    )
    page, plain = _Page(run_card_html(hostile)), _Page(run_card_html(usual))
    assert [tag for tag, _ in page.elements].count("script") == 0
    assert page.text.count(" ".join(name.split())) >= 6
    kinds = [[tag for tag, _ in one.elements if tag != "li"] for one in (page, plain)]
    assert kinds[0] == kinds[1]


def test_the_time_of_printing_is_said_where_it_is_given(content: Contents, made: datetime) -> None:
    assert "printed 2026-11-25 07:46" in run_card_html(content(), made=made)
    assert "printed" not in run_card_html(content()).split("<footer")[1]
