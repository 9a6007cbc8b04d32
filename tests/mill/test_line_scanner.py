"""Each key and each element of a TOML text is found on its line."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, field
from typing import Any

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from clew.mill.key_lines import KeyLines

TEXT = '''\
# a comment with = and [brackets] and "quotes
top = 1
[mill]
name = "a # b [c] = 'd'"   # and a comment
"quoted key" = 'C:\\'
'single.quoted' = 2
"tab\\tkey" = 3
a.b . "c d" = 4
long = """
[ball]
name = "not a key"
""" # after it
raw = \'\'\'
]]] \'\' """
\'\'\'
empty = """"""
after = 5

[[ball]]
name = "one"
tilt = [{ turn = 0 }]

[[ball]]
name = "two"
tilt = [ # the schedule
  { turn = 0, tilt = "24°" },

  { turn = 1, tilt = "]" },  # } ]
  { turn = 2, tilt = 3 }
 , ]
list = [[1, 2], [
  3,
  [4, 5],
]]
[ball.packing]
bags.per.case = 3
[[ball.part]]
x = 1
  [[ ball . "part" ]]  # spaced out
  x = 2
  [ball.part.inner]
  y = 2026-01-02 10:00:00
[[ball]]
name = "three"
[super.sub]
z = 1
[super]
w = 2
'''

LINES = [
    (("top",), 2),
    (("mill",), 3),
    (("mill", "name"), 4),
    (("mill", "quoted key"), 5),
    (("mill", "single.quoted"), 6),
    (("mill", "tab\tkey"), 7),
    (("mill", "a"), 8),
    (("mill", "a", "b", "c d"), 8),
    (("mill", "long"), 9),
    (("mill", "raw"), 13),
    (("mill", "empty"), 16),
    (("mill", "after"), 17),
    (("ball",), 19),
    (("ball", 0), 19),
    (("ball", 0, "tilt", 0, "turn"), 21),
    (("ball", 1), 23),
    (("ball", 1, "name"), 24),
    (("ball", 1, "tilt"), 25),
    (("ball", 1, "tilt", 0), 26),
    (("ball", 1, "tilt", 1, "tilt"), 28),
    (("ball", 1, "tilt", 2, "tilt"), 29),
    (("ball", 1, "list", 0, 1), 31),
    (("ball", 1, "list", 1), 31),
    (("ball", 1, "list", 1, 0), 32),
    (("ball", 1, "list", 1, 1, 1), 33),
    (("ball", 1, "packing"), 35),
    (("ball", 1, "packing", "bags", "per", "case"), 36),
    (("ball", 1, "part", 0, "x"), 38),
    (("ball", 1, "part", 1), 39),
    (("ball", 1, "part", 1, "x"), 40),
    (("ball", 1, "part", 1, "inner", "y"), 42),
    (("ball", 2, "name"), 44),
    (("super", "sub", "z"), 46),
    (("super",), 47),
    (("super", "w"), 48),
]


def test_the_text_of_the_next_tests_is_toml_with_every_path_of_theirs_in_it() -> None:
    raw = tomllib.loads(TEXT)
    for path, _ in LINES:
        found: Any = raw
        for part in path:
            found = found[part]


@pytest.mark.parametrize(("path", "line"), LINES, ids=str)
def test_a_key_is_found_on_its_line(path: tuple[str | int, ...], line: int) -> None:
    assert KeyLines(TEXT).line_of(path) == line


def test_windows_line_ends_count_once() -> None:
    lines = KeyLines(TEXT.replace("\n", "\r\n"))
    assert [lines.line_of(path) for path, _ in LINES] == [line for _, line in LINES]


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("ball", 1, "tilt", 2, "missing"), 29),
        (("ball", 1, "tilt", 9, "turn"), 25),
        (("ball", 1, "missing"), 23),
        (("ball", 7), 19),
        (("mill", "name", "inside", 3, "a text"), 4),
        (("missing",), None),
        (("missing", "further"), None),
        ((), None),
    ],
)
def test_what_is_not_there_is_told_at_the_nearest_thing_around_it(
    path: tuple[str | int, ...], line: int | None
) -> None:
    assert KeyLines(TEXT).line_of(path) == line


def test_a_place_in_what_is_not_a_list_is_passed_over() -> None:
    assert KeyLines(TEXT).line_of(("mill", 0, "name")) == 4


@pytest.mark.parametrize(
    ("line", "path"),
    [
        (1, ()),
        (3, ("mill",)),
        (11, ("mill",)),
        (20, ("ball", 0)),
        (30, ("ball", 1)),
        (36, ("ball", 1, "packing")),
        (42, ("ball", 1, "part", 1, "inner")),
        (44, ("ball", 2)),
        (99, ("super",)),
    ],
)
def test_a_line_stands_under_a_heading(line: int, path: tuple[str | int, ...]) -> None:
    assert KeyLines(TEXT).table_at(line) == path


# ---------------------------------------------------------------- texts made with their lines known


@dataclass
class Page:
    """A TOML text in the making, with the line of each path noted as it is written."""

    text: str = ""
    lines: dict[tuple[str | int, ...], int] = field(default_factory=dict)
    keys: int = 0

    def note(self, path: tuple[str | int, ...]) -> None:
        self.lines[path] = self.text.count("\n") + 1


SCALARS = st.sampled_from(
    [
        "1",
        "-0.5e3",
        "true",
        "inf",
        "2026-01-02",
        "2026-01-02 10:00:00",
        "08:30:00",
        "0xf",
        '""',
        "''",
        '"a \\" # ] } b"',
        "'a # [[x]]\"'",
        '"\\\\"',
        '"[k]"',
        '"""x"""',
        "''''''",
        '"""\n[k0]\nk1 = 2 # """',
        "'''\n\"\"\" ]\n'''",
        '"""a""\\"""""',
        '"""\\\n  """',
    ]
)
GAPS = st.sampled_from([" ", "", "  "])
BREAKS = st.sampled_from(["", " ", "\n", " # ] , } [\n", "\n\n  "])


def _key(draw: Any, page: Page) -> tuple[str, str]:
    """A key that stands nowhere else: its name, and how it is written."""
    page.keys += 1
    name = f"k{page.keys}"
    shape = draw(st.sampled_from(["bare", "double", "single", "odd"]))
    if shape == "odd":
        return f"{name}.[#]", f'"{name}.[#]"'
    return name, {"bare": name, "double": f'"{name}"', "single": f"'{name}'"}[shape]


def _value(draw: Any, page: Page, path: tuple[str | int, ...], depth: int) -> None:
    sort = draw(st.sampled_from(["scalar", "scalar", "list", "table"])) if depth < 3 else "scalar"
    if sort == "scalar":
        page.text += draw(SCALARS)
    elif sort == "list":
        page.text += "["
        for place in range(draw(st.integers(0, 3))):
            page.text += draw(BREAKS)
            page.note((*path, place))
            _value(draw, page, (*path, place), depth + 1)
            page.text += draw(GAPS) + ","
        page.text += draw(BREAKS) + "]"
    else:
        page.text += "{"
        for place in range(draw(st.integers(0, 2))):
            page.text += ", " if place else " "
            _statement(draw, page, path, depth + 1)
        page.text += " }"


def _statement(draw: Any, page: Page, path: tuple[str | int, ...], depth: int) -> None:
    for last in [False] * draw(st.integers(0, 1)) + [True]:
        name, written = _key(draw, page)
        path = (*path, name)
        page.note(path)
        page.text += written + ("" if last else ".")
    page.text += f"{draw(GAPS)}={draw(GAPS)}"
    _value(draw, page, path, depth)


@st.composite
def pages(draw: Any) -> Page:
    page = Page()
    heads: list[tuple[tuple[str | int, ...], str]] = [((), "")]
    for _ in range(draw(st.integers(0, 5))):
        above, written_above = draw(st.sampled_from(heads))
        name, written = _key(draw, page)
        written = f"{written_above}.{written}" if written_above else written
        many = draw(st.booleans())
        for place in range(draw(st.integers(1, 2)) if many else 1):
            page.text += draw(st.sampled_from(["\n", "\n# [not] = a heading\n", "\n  "]))
            path: tuple[str | int, ...] = (*above, name, place) if many else (*above, name)
            if not place:
                page.note((*above, name))
            page.note(path)
            page.text += f"[[{written}]]" if many else f"[ {written} ]"
            page.text += draw(st.sampled_from(["\n", " # ]\n"]))
            for _ in range(draw(st.integers(0, 2))):
                _statement(draw, page, path, 0)
                page.text += draw(st.sampled_from(["\n", "  # k = [1\n"]))
        heads = [head for head in heads if head[0] != above or above == ()]
        heads.append((path, written))
    return page


@given(pages())
def test_every_key_of_a_made_up_text_is_found_on_its_line(page: Page) -> None:
    tomllib.loads(page.text)
    lines = KeyLines(page.text)
    assert {path: lines.line_of(path) for path in page.lines} == page.lines


MARKS = ["[", "]", "[[", "]]", "{", "}", '"', "'", '"""', "'''", "=", ".", ",", "#", "\\"]
WORDS = [
    "\n",
    "\r\n",
    " ",
    "a",
    "b1",
    "1",
    "true",
    "a = 1\n",
    "[a]\n",
    "[[a]]\n",
    "x = [\n",
    'y = "',
]
PIECES = [*MARKS, *WORDS]


@given(st.lists(st.sampled_from(PIECES), max_size=30).map("".join) | st.text(max_size=60))
def test_no_text_whatever_makes_it_stumble(text: str) -> None:
    lines = KeyLines(text)
    assert lines.line_of(("a", 0, "b1")) in (None, *range(1, text.count("\n") + 2))


@settings(suppress_health_check=[HealthCheck.filter_too_much])
@given(pages(), st.sampled_from(PIECES), st.floats(0, 1))
def test_every_path_of_any_text_that_is_toml_has_a_line_with_its_last_key(
    page: Page, piece: str, where: float
) -> None:
    place = round(where * len(page.text))
    text = page.text[:place] + piece + page.text[place:]
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        assume(False)
    lines, written = KeyLines(text), text.split("\n")
    waiting: list[tuple[tuple[str | int, ...], Any]] = [((), raw)]
    while waiting:
        path, value = waiting.pop()
        if path and isinstance(path[-1], str):
            line = lines.line_of(path)
            assert line is not None
            assert path[-1].strip() in written[line - 1]
        if isinstance(value, dict):
            waiting += [((*path, key), inner) for key, inner in value.items()]
        if isinstance(value, list):
            waiting += [((*path, place), inner) for place, inner in enumerate(value)]


def test_a_very_deep_value_is_gone_over_without_recursion() -> None:
    depth = 100_000
    lines = KeyLines(f"a = {'[' * depth}{']' * depth}\nb = 1")
    assert lines.line_of(("b",)) == 2
