"""Looking for words in the manual: by the page's section, the best first."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from clew.web.manual.pages import ManualPage, ManualPart, plain

MOST_FOUND = 20
_LONGEST_ASKED = 200
_AROUND = 90
_HEADING = re.compile(r"^(#{1,4}) (.+)$")
_CELLS = re.compile(r"[|\s:-]*\|[|\s:-]*")
"""What parts the cells of a table, and the line under its heading."""
_WORD = re.compile(r"[^\W_]+", re.UNICODE)
_ENDINGS = ("ings", "ing", "ied", "ies", "ed", "es", "s", "y", "e")
_SHORTEST_STEM = 3
_SMALL = frozenset({
    "a", "an", "and", "are", "as", "at", "be", "by", "do", "does", "for", "from", "have", "how",
    "i", "in", "is", "it", "its", "my", "of", "on", "or", "that", "the", "their", "there", "this",
    "to", "was", "what", "when", "where", "which", "who", "why", "will", "with",
})  # fmt: skip
"""Words that are in every page and say nothing of what is looked for."""
_OF_TITLE, _OF_HEADING, _MOST_OF_TEXT = 12, 6, 5


@dataclass(frozen=True, slots=True)
class Section:
    """A stretch of a page under one heading.

    Attributes
    ----------
    page : str
        Name of the page.
    title, heading : str
        Of the page, and of the stretch; empty where it stands right under the title.
    place : str
        Anchor of the heading; empty for the top of the page.
    text : str
        Its text, in plain words.
    """

    page: str
    title: str
    heading: str
    place: str
    text: str


@dataclass(frozen=True, slots=True)
class Found:
    """Something found.

    Attributes
    ----------
    href : str
        Where it stands.
    title, heading : str
        Of the page, and of the stretch.
    before, hit, after : str
        The words found, and what stands around them.
    """

    href: str
    title: str
    heading: str
    before: str
    hit: str
    after: str


def look_for(parts: tuple[ManualPart, ...], asked: str) -> tuple[Found, ...]:
    """Find what is asked for: every word must occur, with any ending.

    Parameters
    ----------
    parts : tuple of ManualPart
        The manual.
    asked : str
        Words.

    Returns
    -------
    tuple of Found
        Sections, the best first: a word in the title counts most, then one in the heading.
    """
    words = _WORD.findall(asked[:_LONGEST_ASKED].casefold())
    stems = tuple(dict.fromkeys(_stem(word) for word in words if word not in _SMALL))
    if not stems:
        return ()
    looked = [re.compile(rf"(?<![^\W_]){re.escape(stem)}[^\W_]*", re.IGNORECASE) for stem in stems]
    rated = []
    for number, section in enumerate(
        section for part in parts for page in part.pages for section in _sections(page)
    ):
        worth = _worth(section, looked)
        if worth:
            rated.append((-worth, number, section))
    rated.sort(key=lambda one: one[:2])
    return tuple(_found(section, looked) for _, _, section in rated[:MOST_FOUND])


def _stem(word: str) -> str:
    for ending in _ENDINGS:
        if word.endswith(ending) and len(word) - len(ending) >= _SHORTEST_STEM:
            return word.removesuffix(ending)
    return word


def _worth(section: Section, looked: list[re.Pattern[str]]) -> int:
    total = 0
    for one in looked:
        in_title = _OF_TITLE if one.search(section.title) and not section.heading else 0
        in_heading = _OF_HEADING if one.search(section.heading) else 0
        in_text = min(len(one.findall(section.text)), _MOST_OF_TEXT)
        if not in_title + in_heading + in_text:
            return 0
        total += in_title + in_heading + in_text
    return total


def _found(section: Section, looked: list[re.Pattern[str]]) -> Found:
    hits = [hit for one in looked if (hit := one.search(section.text))]
    href = f"/manual/{section.page}" + (f"#{section.place}" if section.place else "")
    if not hits:
        start = _up_to(section.text, 2 * _AROUND)
        return Found(href, section.title, section.heading, start, "", "")
    hit = hits[0]
    begin = section.text.rfind(" ", 0, max(hit.start() - _AROUND, 0)) + 1
    before = section.text[begin : hit.start()]
    return Found(
        href, section.title, section.heading, f"… {before}" if begin else before, hit[0],
        _up_to(section.text, hit.end() + _AROUND)[hit.end() :],
    )  # fmt: skip


def _up_to(text: str, length: int) -> str:
    """Cut a text after the word that stands there, and say that it goes on."""
    end = text.find(" ", length)
    return text if end < 0 else f"{text[:end]} …"


@lru_cache(maxsize=512)
def _sections(page: ManualPage) -> tuple[Section, ...]:
    return tuple(_cut(page))


def _cut(page: ManualPage) -> Iterator[Section]:
    heading, place, lines, fenced = "", "", list[str](), False
    taken: dict[str, int] = {}
    for line in page.text.splitlines():
        if line.startswith("```"):
            fenced = not fenced
            continue
        head = None if fenced else _HEADING.match(line)
        if head is None:
            in_table = line.startswith("|") and not fenced
            lines.append(" ".join(_CELLS.split(line)) if in_table else line)
            continue
        if heading or any(lines):
            yield Section(page.name, page.title, heading, place, plain(" ".join(lines)))
        place = _place(head[2], taken)
        heading, lines = plain(head[2]), []
        if len(head[1]) == 1:
            heading = place = ""
    yield Section(page.name, page.title, heading, place, plain(" ".join(lines)))


def _place(heading: str, taken: dict[str, int]) -> str:
    """Anchor of a heading, as the page's own anchors are made; told apart where it stands twice."""
    from mdit_py_plugins.anchors.index import slugify

    slug = slugify(plain(heading))
    seen = taken.get(slug, 0)
    taken[slug] = seen + 1
    return f"{slug}-{seen}" if seen else slug
