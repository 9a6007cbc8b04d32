"""What Steam and Dry fetch as a slider moves is the whole page's own, part by part."""

from __future__ import annotations

from html.parser import HTMLParser

import pytest
from starlette.testclient import TestClient

from clew.web.drawn.chart_svg import DRAWS_HEADER

EMPTY = {"input", "br", "meta", "link", "img", "hr", "option"}
"""Tags that nothing closes here."""


class Parts(HTMLParser):
    """The parts that script replaces, each by its name with all its markup."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=False)
        self.found: dict[str, str] = {}
        self._open: list[tuple[str, int]] = []
        self._depth = 0
        self.feed(page)

    def _note(self, markup: str) -> None:
        for name, _ in self._open:
            self.found[name] += markup

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        said = dict(attrs)
        if "data-live" in said:
            name = said["id"] or ""
            assert name not in self.found
            self.found[name] = ""
            self._open.append((name, self._depth))
        self._note(self.get_starttag_text() or "")
        self._depth += tag not in EMPTY

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._note(self.get_starttag_text() or "")

    def handle_endtag(self, tag: str) -> None:
        self._depth -= tag not in EMPTY
        self._note(f"</{tag}>")
        while self._open and self._open[-1][1] >= self._depth:
            self._open.pop()

    def handle_data(self, data: str) -> None:
        self._note(" ".join(data.split()))

    def handle_entityref(self, name: str) -> None:
        self._note(f"&{name};")

    def handle_charref(self, name: str) -> None:
        self._note(f"&#{name};")


ASKED = (
    ("/steam", "feed_speed=312+m/min&belt_speed=1.13+m/min", "en", False),
    ("/steam", "steam_temperature=92+C", "de", True),
    ("/steam", "belt_speed=x", "es", True),
    ("/dry", "feed_speed=312+m/min", "fr", False),
    ("/dry", "dryer_temperature=118+C&regain_out=7+%25", "en", True),
    ("/dry", "feed_speed=390+m/min", "de", True),
    ("/dry", "belt_speed=x", "en", True),
)


@pytest.mark.parametrize(("path", "query", "language", "drawn_there"), ASKED)
def test_the_parts_put_together_are_the_whole_page(
    client: TestClient, path: str, query: str, language: str, drawn_there: bool
) -> None:
    headers = {"Accept-Language": language} | ({DRAWS_HEADER: "charts"} if drawn_there else {})
    page = client.get(f"{path}?{query}", headers=headers)
    part = client.get(f"{path}?{query}&part=answer", headers=headers)
    assert page.status_code == part.status_code
    assert page.headers["content-language"] == language
    whole, fetched = Parts(page.text).found, Parts(part.text).found
    assert {"words", "picture", "answer", "mini", "more"} <= set(whole)
    assert fetched == whole
    # nothing of these pages waits until the slider rests
    assert "data-later" not in page.text + part.text
