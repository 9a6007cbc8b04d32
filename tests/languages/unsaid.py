"""Shows what a page writes past the catalogues: ``python tests/languages/unsaid.py /steam /dry``.

It opens pages of the demo mill in a language whose every message stands in brackets, and lists the
texts that still hold words outside them.
"""

from __future__ import annotations

import re
import sys
from html.parser import HTMLParser
from pathlib import Path
from tempfile import TemporaryDirectory

from pseudo import CODE, Bracketed, unsaid

_SILENT = {"script", "style"}
_READ_OUT = ("aria-label", "title", "alt", "placeholder", "aria-valuetext", "content")
_UNITS = {
    "tex", "NeK", "kPa", "psi", "min", "rpm", "dBA", "GTIN", "SSCC", "USA", "NIST", "OIML", "Clew",
    "clew", "CSV", "JSON", "PDF", "EPCIS", "Deutsch", "English", "Français", "Español",
}  # fmt: skip


class _Texts(HTMLParser):
    """Every text that a reader sees or hears."""

    def __init__(self) -> None:
        super().__init__()
        self.texts: list[str] = []
        self._inside: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        other = tag != "html" and "lang" in given  # the page says itself whose language it is
        if tag in _SILENT or other or self._inside[-1:] == [tag]:
            self._inside.append(tag)
        if other:
            return
        if given.get("name") in ("color-scheme", "viewport"):
            return
        self.texts += [given[name] or "" for name in _READ_OUT if name in given]

    def handle_endtag(self, tag: str) -> None:
        if self._inside and self._inside[-1] == tag:
            self._inside.pop()

    def handle_data(self, data: str) -> None:
        if not self._inside and data.strip():
            self.texts.append(data)


def texts_of(html: str) -> list[str]:
    """List every text of a page that a reader sees or hears."""
    reader = _Texts()
    reader.feed(html)
    return reader.texts


def names_of(mill_folder: Path) -> set[str]:
    """List the words of a mill file and of units: nobody translates them."""
    words = set(_UNITS)
    for path in sorted(mill_folder.glob("*.[tc]*")):
        words |= set(re.findall(r"[A-Za-zÀ-ÿ]{3,}", path.read_text(encoding="utf-8")))
        words |= set(re.findall(r"[a-z]{3,}", path.name))  # files are chosen by their names
    return words


def bracketed() -> None:
    """Let German be the bracketed language from now on."""
    import clew.languages.tongues as there

    own, odd = there.tongue_of, Bracketed()
    there.tongue_of = lambda code: odd if code == CODE else own(code)  # type: ignore[assignment]


def main(paths: list[str]) -> int:
    """Print what each page leaves unsaid; the answer is how many texts that is."""
    from starlette.testclient import TestClient

    from clew.mill import write_demo
    from clew.web.app import create_app

    bracketed()
    with TemporaryDirectory() as folder:
        mill = Path(folder) / "mill"
        if paths[:1] == ["--mill"]:
            mill, paths = Path(paths[1]), paths[2:]
        else:
            write_demo(mill)
        names, left = names_of(mill), 0
        with TestClient(
            create_app(mill), base_url="http://127.0.0.1", cookies={"clew_language": CODE}
        ) as at:
            for path in paths:
                answer = at.get(path)
                found = unsaid(texts_of(answer.text), names)
                left += len(found)
                print(f"{path}: {answer.status_code}, {len(found)} texts unsaid")
                for text in dict.fromkeys(found):
                    print("   ", text[:200])
    return 1 if left else 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:] or ["/steam"]))
