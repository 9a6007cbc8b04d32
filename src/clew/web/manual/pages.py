"""The pages of the manual as they lie on the disk, in the order of its contents."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import clew

_TOCTREE = re.compile(r"^```\{toctree\}\n(.*?)^```", re.MULTILINE | re.DOTALL)
_TITLE = re.compile(r"^# (.+)$", re.MULTILINE)
_ANSWERS = re.compile(r"^What it answers: (.+?)(?:\n\n|\Z)", re.MULTILINE | re.DOTALL)
_FIRST = re.compile(r"\A# [^\n]+\n+(?:## [^\n]+\n+)?(?:- )?(.+?)(?:\n\n|\n- |\Z)", re.DOTALL)
_SENTENCE = re.compile(r".+?[.?!](?=\s|\Z)")
_ROLE = re.compile(r"\{\w+\}`([^`<]*?)\s*(?:<[^`]*>)?`")
_LINK = re.compile(r"!?\[([^\[\]]*)\]\([^)]*\)")
_ASIDE = re.compile(r"[*`]")


@dataclass(frozen=True, slots=True)
class ManualPage:
    """One page of the manual.

    Attributes
    ----------
    name : str
        Its address below /manual, and its file without ``.md``.
    title : str
        Its heading, in plain words.
    answers : str
        What it answers, in one sentence of plain words.
    text : str
        The page as it is written, in Markdown.
    """

    name: str
    title: str
    answers: str
    text: str


@dataclass(frozen=True, slots=True)
class ManualPart:
    """A part of the manual.

    Attributes
    ----------
    caption : str
        What the contents call it.
    pages : tuple of ManualPage
        Its pages, in order.
    """

    caption: str
    pages: tuple[ManualPage, ...]


def manual_folder() -> Path:
    """Find the manual: inside the package where it was packed, else beside the source."""
    package = Path(clew.__file__).parent
    packed = package / "manual"
    return packed if packed.is_dir() else package.parents[1] / "docs"


def plain(markdown: str) -> str:
    """Take the marks of Markdown out of a line or two."""
    return " ".join(_ASIDE.sub("", _LINK.sub(r"\1", _ROLE.sub(r"\1", markdown))).split())


def read_parts(folder: Path) -> tuple[ManualPart, ...]:
    """Read the whole manual; what has been read is kept until a file changes.

    Parameters
    ----------
    folder : Path
        Where the pages lie; ``index.md`` says their order.

    Returns
    -------
    tuple of ManualPart
        The parts, as the contents list them.
    """
    parts = []
    for tree in _TOCTREE.finditer(_text(folder / "index.md")):
        lines = [line.strip() for line in tree[1].splitlines() if line.strip()]
        caption = next(
            (line.removeprefix(":caption:").strip() for line in lines if ":caption:" in line), ""
        )
        paths = [folder / f"{line}.md" for line in lines if not line.startswith(":")]
        parts.append(ManualPart(caption, tuple(_page(path) for path in paths if path.is_file())))
    return tuple(parts)


def find_page(folder: Path, name: str) -> ManualPage | None:
    """Find a page of the contents by its name; None where there is none."""
    return next(
        (page for part in read_parts(folder) for page in part.pages if page.name == name), None
    )


def _text(path: Path) -> str:
    return _read(path, path.stat().st_mtime_ns)


@lru_cache(maxsize=512)
def _read(path: Path, _changed_ns: int) -> str:
    return path.read_text(encoding="utf-8")


def _page(path: Path) -> ManualPage:
    return _made(path.stem, _text(path))


@lru_cache(maxsize=512)
def _made(name: str, text: str) -> ManualPage:
    title, answers = _TITLE.search(text), _ANSWERS.search(text) or _FIRST.search(text)
    said = plain(answers[1]) if answers else ""
    first = _SENTENCE.match(said)
    return ManualPage(name, plain(title[1]) if title else name, first[0] if first else said, text)
