"""The drawn plan: valid, escaped, every bar with its words, rests drawn short in their place."""

from __future__ import annotations

import itertools
from datetime import UTC, datetime, timedelta
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.plan.sequence.gantt import Bar, ChangeBlock, GanttPicture, Rest, Tick
from clew.web.orders.drawing import NARROW, WIDE, PlanForm, plan_drawing

SVG = "{http://www.w3.org/2000/svg}"
BEGINS = datetime(2026, 11, 30, 6, tzinfo=UTC)
SHORT = 0.08
"""How long a rest of all lines is drawn, as the drawing says of itself."""
FORMS = [WIDE, NARROW]


def bar(row: int, place: int, x0: float, x1: float, name: str = "", **other: object) -> Bar:
    name = name or f"R{row}-{place}"
    found: dict[str, object] = {
        "run_name": name, "label": f"{name} Sloe", "words": f"{name}: 300 balls", "row": row,
        "x0": x0, "x1": x1, "early_x": x1, "late_x": x1, "due_x": None, "lab": (25.0, 5.0, -20.0),
        "late": False, "frozen": False, "place": place,
    }  # fmt: skip
    return Bar(**(found | other))  # type: ignore[arg-type]


def picture(rows: int, bars: list[Bar], rests: list[Rest]) -> GanttPicture:
    return GanttPicture(
        begins=BEGINS, ends=BEGINS + timedelta(days=3),
        rows=tuple(f"Line {row + 1}" for row in range(rows)), bars=tuple(bars),
        changes=(ChangeBlock(0, 0.0, 0.01, "colour", "R0-1", "another <colour>"),),
        rests=tuple(rests), ticks=(Tick(0.25, "Tue 01 Dec", True), Tick(0.3, "06:00", False)),
        title="Sloe before Oatmeal & more.",
    )  # fmt: skip


def tree(drawn: GanttPicture, form: PlanForm, key: str = "plan") -> ElementTree.Element:
    text = str(plan_drawing(drawn, form, key))
    return ElementTree.fromstring(text.replace("<svg ", f'<svg xmlns="{SVG[1:-1]}" ', 1).replace(
        " data-plan ", ' data-plan="" '))  # fmt: skip


def bars_of(root: ElementTree.Element) -> list[ElementTree.Element]:
    return [one for one in root.iter(f"{SVG}g") if one.get("data-run") is not None]


@st.composite
def plans(draw: st.DrawFn) -> tuple[GanttPicture, list[tuple[float, float]]]:
    """Lines with nights that all share, one more rest of the first line alone, bars anywhere."""
    edges = sorted(draw(st.lists(st.integers(0, 1000), min_size=2, max_size=8, unique=True)))
    nights = [(low / 1000.0, high / 1000.0) for low, high in itertools.pairwise(edges)][::2]
    rows = draw(st.integers(1, 3))
    rests = [Rest(row, low, high) for row in range(rows) for low, high in nights]
    if rows > 1:
        rests.append(Rest(0, 0.4, 0.6))
    bars = []
    for row in range(rows):
        cuts = sorted(draw(st.lists(st.integers(0, 1000), min_size=2, max_size=8, unique=True)))
        bars += [
            bar(row, place, low / 1000.0, high / 1000.0)
            for place, (low, high) in enumerate(list(itertools.pairwise(cuts))[::2], 1)
        ]
    return picture(rows, bars, rests), nights


@given(plans(), st.sampled_from(FORMS))
def test_time_keeps_its_order_and_shared_rests_are_drawn_short(
    drawn: tuple[GanttPicture, list[tuple[float, float]]], form: PlanForm
) -> None:
    """Against the same reckoned plainly: the time worked so far, and a share of the time rested."""
    shown, nights = drawn

    def reckoned(share: float) -> float:
        rested = sum(max(min(high, share) - low, 0.0) for low, high in nights)
        return share - (1.0 - SHORT) * rested

    found = bars_of(tree(shown, form))
    assert len(found) == len(shown.bars)
    for one, own in zip(found, shown.bars, strict=True):
        x, wide = float(one.get("data-x", "")), float(one.get("data-wide", ""))
        left = form.left + form.span * reckoned(own.x0) / reckoned(1.0)
        right = form.left + form.span * reckoned(own.x1) / reckoned(1.0)
        assert x == pytest.approx(left, abs=0.06)
        assert wide == pytest.approx(max(right - left, 3.0), abs=0.06)
        assert form.left <= x <= form.left + form.span
    for (one, own), (then, after) in itertools.combinations(zip(found, shown.bars, strict=True), 2):
        if own.x0 < after.x0:
            assert float(one.get("data-x", "")) <= float(then.get("data-x", ""))


@pytest.mark.parametrize("form", FORMS)
def test_a_rest_of_one_line_alone_keeps_its_length(form: PlanForm) -> None:
    """Another line works then, and its runs need the room."""
    both = [Rest(0, 0.4, 0.6), Rest(1, 0.4, 0.6)]
    wide = []
    for rests in (both, both[:1]):
        root = tree(picture(2, [bar(0, 1, 0.0, 0.4)], rests), form)
        (first, *_) = [one for one in root.iter(f"{SVG}rect") if one.get("class") == "rest"]
        wide.append(float(first.get("width", "")))
    squeezed, own = wide
    assert own == pytest.approx(0.2 * form.span, abs=0.1)
    assert squeezed == pytest.approx(form.span * 0.2 * SHORT / (0.8 + 0.2 * SHORT), abs=0.1)


@pytest.mark.parametrize("form", FORMS)
def test_every_bar_has_its_words_its_line_and_its_place(form: PlanForm) -> None:
    bars = [bar(0, 1, 0.0, 0.3), bar(0, 2, 0.3, 0.301), bar(1, 1, 0.1, 0.9)]
    root = tree(picture(2, bars, []), form)
    for one, own in zip(bars_of(root), bars, strict=True):
        title = one.find(f"{SVG}title")
        assert title is not None and title.text == own.words
        assert one.get("data-line") == f"Line {own.row + 1}"
        assert one.get("data-place") == str(own.place)
    titles = [one.text for one in root.iter(f"{SVG}title")]
    assert "another <colour>" in titles
    assert root.get("role") == "img"
    assert titles[0] == "Sloe before Oatmeal & more."


@pytest.mark.parametrize("form", FORMS)
def test_a_late_a_frozen_and_a_due_run_are_told_apart_without_colour(form: PlanForm) -> None:
    bars = [
        bar(0, 1, 0.0, 0.3, frozen=True),
        bar(0, 2, 0.4, 0.9, late=True, due_x=0.5),
    ]
    first, late = bars_of(tree(picture(1, bars, []), form))
    assert "frozen" in (first.get("class") or "").split()
    words = [one.text for one in late.iter(f"{SVG}text")]
    assert "late" in words
    assert [one for one in late.iter(f"{SVG}path") if one.get("class") == "due"]
    assert not [one for one in first.iter(f"{SVG}path") if one.get("class") == "due"]


@pytest.mark.parametrize("form", FORMS)
def test_a_name_that_is_markup_stays_a_name(form: PlanForm) -> None:
    name = '"><script>alert(1)</script>&'
    root = tree(picture(1, [bar(0, 1, 0.0, 1.0, name)], []), form)
    (one,) = bars_of(root)
    assert one.get("data-run") == name
    assert not list(root.iter(f"{SVG}script"))


def test_a_label_stands_only_on_a_bar_that_it_fits() -> None:
    bars = [bar(0, 1, 0.0, 0.5), bar(0, 2, 0.5, 0.56), bar(0, 3, 0.56, 0.561)]
    words = [
        [text.text for text in one.iter(f"{SVG}text")]
        for one in bars_of(tree(picture(1, bars, []), WIDE))
    ]
    assert words == [["R0-1 Sloe"], ["R0-2"], []]


def test_two_drawings_on_a_page_share_no_name() -> None:
    drawn = picture(1, [bar(0, 1, 0.0, 1.0)], [])
    names = [
        one.get("id")
        for form in FORMS
        for key in ("plan", "wish")
        for one in tree(drawn, form, key).iter()
        if one.get("id")
    ]
    assert len(names) == len(set(names)) == 8


@pytest.mark.parametrize("form", FORMS)
def test_an_empty_plan_is_drawn_as_empty_lines(form: PlanForm) -> None:
    root = tree(picture(2, [], []), form)
    assert not bars_of(root)
    names = [one.text for one in root.iter(f"{SVG}text") if one.get("class") == "line-name"]
    assert names == ["Line 1", "Line 2"]
