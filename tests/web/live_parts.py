"""The live parts of a page: what a slider fetches again, by name."""

from __future__ import annotations

import re
from html.parser import HTMLParser

_VOID = frozenset({"br", "circle", "hr", "img", "input", "link", "meta", "path", "rect"})
_ON_PAPER = re.compile(r'<p class="paper-only">.*?</p>', re.DOTALL)
"""Says when it was printed, which is another minute now and then."""


class _Parts(HTMLParser):
    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=False)
        self.found: dict[str, str] = {}
        self._text, self._open, self._name, self._from = text, 0, "", 0
        self._lines = [0, *(at.end() for at in re.finditer("\n", text))]
        self.feed(text)

    def _at(self) -> int:
        line, column = self.getpos()
        return self._lines[line - 1] + column

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        said = dict(attrs)
        if self._open:
            self._open += tag not in _VOID
        elif "data-live" in said:
            self._name, self._from, self._open = said["id"] or "", self._at(), 1

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """A tag that ends itself holds nothing."""

    def handle_endtag(self, tag: str) -> None:
        if not self._open or tag in _VOID:
            return
        self._open -= 1
        if not self._open:
            self.found[self._name] = self._text[self._from : self._at()]


def live_parts(text: str) -> dict[str, str]:
    """Give every live part of a page or an answer but its line for paper, by its identifier."""
    return _Parts(_ON_PAPER.sub("", text)).found
