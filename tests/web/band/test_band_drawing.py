"""The control chart as it is drawn: places, steps, round numbers, nothing unescaped."""

from __future__ import annotations

import re
from typing import Any
from xml.etree import ElementTree

import pytest

from clew.web.band.drawing import LARGE, SMALL, Marks, Size, control_drawing, nice_ticks

NONE: tuple[()] = ()


def drawing(size: Size = LARGE, aimed: tuple[Any, ...] = (None,), **marks: Any) -> str:
    """A chart of three places between 0 and 10."""
    given: dict[str, Any] = {
        "threads": NONE, "limits": NONE, "centres": NONE, "signals": NONE, "labels": NONE,
        "x_ticks": NONE,
    } | marks  # fmt: skip
    drawn = control_drawing(
        "key", ("A & B", "<i>"), ("along", "upward"), Marks(**given), (0.0, 10.0), 3, size
    )
    return str(drawn.aimed(*aimed))


@pytest.mark.parametrize(
    ("low", "high", "ticks"),
    [
        (98.1, 106.2, [100.0, 102.0, 104.0, 106.0]),
        (0.0, 1.0, [0.0, 0.2, 0.4, 0.6, 0.8, 1.0]),
        (-5.2, 5.2, [-5.0, 0.0, 5.0]),
        (3.55, 3.60, [3.55, 3.56, 3.57, 3.58, 3.59, 3.60]),
    ],
)
def test_ticks_are_round_numbers_between_the_ends(
    low: float, high: float, ticks: list[float]
) -> None:
    assert nice_ticks(low, high, 5) == pytest.approx(ticks)


def test_a_limit_that_changes_is_a_step_and_one_that_does_not_a_stroke() -> None:
    even = drawing(limits=[[(1.0, 5.0), (2.0, 5.0), (3.0, 5.0)]])
    (path,) = re.findall(r'class="limit" d="([^"]+)"', even)
    assert path.count("M") == path.count("H") == 1
    step = drawing(limits=[[(1.0, 5.0), (2.0, 6.0), (3.0, 6.0)]])
    (path,) = re.findall(r'class="limit" d="([^"]+)"', step)
    assert (path.count("M"), path.count("V")) == (1, 1)
    gap = drawing(limits=[[(1.0, 5.0), (3.0, 5.0)]])
    (path,) = re.findall(r'class="limit" d="([^"]+)"', gap)
    assert path.count("M") == 2


def test_a_signal_is_a_shape_and_a_word() -> None:
    said = drawing(signals=[(2.0, 9.0, "signal"), (3.0, 9.5, "")])
    assert said.count('class="signal"') == 2
    assert said.count('class="called"') == 1


@pytest.mark.parametrize("size", [SMALL, LARGE])
def test_it_is_xml_with_its_title_and_holds_its_words_escaped(size: Size) -> None:
    said = drawing(
        size, (4.0, "<target>"), threads=[[(1.0, 2.0), (2.0, 3.0)]],
        labels=[(5.0, "<limit>", "over")], x_ticks=[(1.0, "06:01")],
    )  # fmt: skip
    root = ElementTree.fromstring(said)
    names = {one.get("id"): one.text for one in root}
    assert names["key-title"] == "A & B"
    assert names["key-desc"] == "<i>"
    assert root.get("aria-labelledby") == "key-title key-desc"
    assert "style=" not in said


def test_every_point_lies_inside_the_sheet() -> None:
    said = drawing(threads=[[(1.0, 0.0), (2.0, 10.0), (3.0, 5.0)]])
    (way,) = re.findall(r'class="thread" d="M([^"]+)"', said)
    points = [tuple(map(float, pair.split())) for pair in way.split("L")]
    assert [y for _, y in points] == [LARGE.height - LARGE.bottom, LARGE.top, pytest.approx(141.0)]
    assert all(LARGE.left <= x <= LARGE.width - LARGE.right for x, _ in points)
