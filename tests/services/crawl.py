"""A reader who follows every link of the workbench, and loads all that a page loads."""

from __future__ import annotations

import http.client
import re
from collections import deque
from dataclasses import dataclass, field
from html.parser import HTMLParser
from urllib.parse import urldefrag, urljoin, urlsplit

_LOADED = {("link", "href"), ("script", "src"), ("img", "src"), ("use", "href")}


class _Links(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.led_to: list[str] = []
        self.loaded: list[str] = []
        self.drawings = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.drawings += tag == "svg"
        for name, value in attrs:
            if value and (tag, name) in _LOADED:
                self.loaded.append(value)
            elif value and (tag, name) == ("a", "href"):
                self.led_to.append(value)


@dataclass
class Crawl:
    """What was found from one address on.

    Attributes
    ----------
    answers : dict of str to (int, str)
        Status and type of every address below this host that anything leads to.
    drawings : dict of str to int
        How many drawings stand in each page.
    elsewhere : set of str
        Addresses at other hosts that a page or a style sheet would load.
    """

    answers: dict[str, tuple[int, str]] = field(default_factory=dict)
    drawings: dict[str, int] = field(default_factory=dict)
    elsewhere: set[str] = field(default_factory=set)

    def follow(self, port: int, first: str, most: int = 200) -> None:
        """Follow links from an address; one that is asked with other words counts as the same."""
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=300)
        ahead, seen = deque([first]), set()
        try:
            while ahead and len(seen) < most:
                address = ahead.popleft()
                kind = urlsplit(address).path
                if kind in seen:
                    continue
                seen.add(kind)
                led_to, loaded = self._ask(connection, address)
                for link in (*led_to, *loaded):
                    parts = urlsplit(urldefrag(urljoin(f"http://127.0.0.1{address}", link)).url)
                    if parts.netloc == "127.0.0.1" and parts.scheme == "http":
                        ahead.append(parts.path + (f"?{parts.query}" if parts.query else ""))
                    elif parts.scheme in ("http", "https") and link in loaded:
                        self.elsewhere.add(link)
        finally:
            connection.close()

    def _ask(
        self, connection: http.client.HTTPConnection, address: str
    ) -> tuple[list[str], list[str]]:
        connection.request("GET", address)
        answer = connection.getresponse()
        body = answer.read()
        kind = (answer.getheader("Content-Type") or "").partition(";")[0]
        self.answers[address] = (answer.status, kind)
        if 300 <= answer.status < 400:
            return [answer.getheader("Location") or ""], []
        text = body.decode("utf-8", "replace")
        if kind == "text/html":
            links = _Links()
            links.feed(text)
            self.drawings[address] = links.drawings
            return links.led_to, links.loaded
        if kind == "text/css":
            return [], re.findall(r"url\([\"']?([^\"')]+)", text)
        if kind == "text/javascript":
            return [], re.findall(r"(?:from|import)\s*\(?\"(\.[^\"]+)\"", text)
        return [], []
