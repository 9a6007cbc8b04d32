"""The layout of the demo line, worked out by hand from what its mill file says."""

from __future__ import annotations

import math
import re
from typing import Any

import pytest

from clew.faults import BadInput
from clew.line.layout import Layout
from clew.line.layout_checks import layout_faults
from clew.line.layout_from_mill import _KEYS, layout_of
from clew.mill import Mill, mill_from_text

SHIFT_KEYS = [
    "longest_dryer_dwell",
    "restart_buffer",
    "belt_restart",
    "hand_time_cv",
    "mend_time",
    "mend_waste",
    "change_time",
    "feed_breaks",
    "winder_breaks",
    "serve_rule",
]
URGENT = ("doff", "mend", "change", "feed", "colour")


def without(text: str, *keys: str) -> str:
    for key in keys:
        text, found = re.subn(rf"(?m)^{key} = .*\n", "", text)
        assert found == 1, key
    return text


def with_line(text: str, *lines: str) -> Mill:
    """The demo mill with keys of its line stated anew."""
    for one in lines:
        key = one.split(" = ")[0]
        text = re.sub(rf"(?m)^{key} = .*\n", "", text)
    start = text.index("[[line.winder]]")
    return mill_from_text(text[:start] + "\n".join(lines) + "\n" + text[start:])


def test_the_demo_line_by_hand(demo_mill: Mill) -> None:
    """Shrink is 20 %: a metre after steam is 1.25 m before; the belt does 1.1 m/min."""
    got = layout_of(demo_mill, "Line 1", "Querl 100")
    eps = 40.0 / (400.0 * 0.992 * 1.095 / 1.09 / 0.8) / 9.0
    laid_m = 1000.0 * 101.0 / (400.0 * 0.992 * 1.095 / 1.09 / 0.8 / (1.0 + eps))
    expected = {
        "lanes": 6,
        "hands": 2,
        "shift_s": 8 * 3600.0,
        "feed_m_per_s": 5.0,
        "wind_m_per_s": 5.5 * 1.25,
        "passage_s": (0.6 + 1.4 + 5.5 + 2.5) / 1.1 * 60.0,
        "steam_from_s": 0.6 / 1.1 * 60.0,
        "steam_s": 1.4 / 1.1 * 60.0,
        "steam_longest_s": 150.0,
        "dry_from_s": 2.0 / 1.1 * 60.0,
        "dry_s": 300.0,
        "dry_longest_s": 900.0,
        "buffer_m": 1125.0,
        "go_m": 37.5,
        "loose_m": 75.0,
        "start_buffer_frac": 0.5,
        "ball_m": 1.25 * laid_m / (1.0 + eps),
        "cone_m": 4000.0,
        "cone_cv": math.sqrt(0.025**2 + 0.013**2),
        "cones_per_lane": 4,
        "feed_breaks_per_km": 0.008,
        "wind_breaks_per_km": 0.01 * 0.8,
        "doff_s": 7.0,
        "mend_s": 30.0,
        "feed_mend_s": 25.0,
        "load_s": 35.0 + 25.0,
        "change_s": 10.0,
        "colour_tie_s": 35.0 + 25.0,
        "service_cv": 0.3,
        "mend_waste_m": 2.5,
        "spacing_m": 1.5,
        "across_m": 10.0,
        "walk_m_per_s": 1.1,
        "break_s": 900.0,
        "breaks": 2,
        "shrink_frac": 0.2,
        "count_tex": 400.0,
        "regain_in_frac": 0.09,
        "regain_out_frac": 0.095,
        "finish_loss_frac": 0.008,
        "warm_up_s": 7200.0,
    }
    assert {key: getattr(got, key) for key in expected} == pytest.approx(expected, rel=1e-12)
    assert (got.rule, got.first, got.colour_at_s) == ("nearest", (URGENT, ("load",)), ())
    others = {"rule", "first", "colour_at_s"}
    assert set(expected) | others == set(Layout.__dataclass_fields__)


def test_a_ball_holds_the_longer_of_what_mass_and_length_ask_for(demo_mill: Mill) -> None:
    """Mass decides for Querl 100, 101 g; length for Dunnow 50, 205 m at rest."""
    querl = layout_of(demo_mill, "", "Querl 100").ball_m
    assert querl == pytest.approx(101_000.0 / (400.0 * 0.992 * 1.095 / 1.09), rel=1e-12)
    assert querl == pytest.approx(253.374, abs=5e-4)
    count = 228.0 * 0.992 * 1.135 / 1.15 / 0.94
    stays = 22.0 / count / 16.0 * 0.08
    dunnow = layout_of(demo_mill, "", "Dunnow 50").ball_m
    assert dunnow == pytest.approx(205.0 / (1.0 + stays) / 0.94, rel=1e-12)
    assert dunnow == pytest.approx(217.984, abs=5e-4)


def test_every_ball_of_the_demo_can_be_walked(demo_mill: Mill) -> None:
    for ball in demo_mill.ball:
        assert layout_faults(layout_of(demo_mill, "", ball.name)) == ()


def test_names_left_out_are_the_only_line_and_the_first_ball(demo_mill: Mill) -> None:
    assert layout_of(demo_mill) == layout_of(demo_mill, "line 1", "querl 100")
    for names in (("Line 9",), ("", "Querl 9"), ("", "", "XX-1"), ("", "Querl 100", "SA-340")):
        with pytest.raises(BadInput):
            layout_of(demo_mill, *names)


def test_a_dye_lot_brings_its_own_count(demo_mill: Mill) -> None:
    got = layout_of(demo_mill, "", "Querl 100", "SL-207")
    assert 400.0 < got.count_tex < 403.0
    assert got.cone_m == pytest.approx(1_600_000.0 / got.count_tex)


def test_shift_hands_and_colours_may_be_given(demo_mill: Mill) -> None:
    got = layout_of(demo_mill, shift_s=12_000.0, hands=3, colour_changes=3)
    assert (got.shift_s, got.hands, got.colour_at_s) == (12_000.0, 3, (3000.0, 6000.0, 9000.0))


@pytest.mark.parametrize(("hours", "breaks"), [(8.0, 2), (4.0, 1), (3.9, 0), (0.3, 0), (12.0, 3)])
def test_a_shift_has_rests_in_proportion(demo_mill: Mill, hours: float, breaks: int) -> None:
    """Two in the eight hours of the mill file."""
    assert layout_of(demo_mill, shift_s=3600.0 * hours).breaks == breaks


def test_what_a_shift_needs_is_assumed_where_it_is_left_out(demo_text: str) -> None:
    """Twentieths of 900 m are 45 m; all 0.02 breaks a km after steam fall to the winder."""
    got = layout_of(mill_from_text(without(demo_text, *SHIFT_KEYS)))
    assert (got.go_m, got.loose_m) == pytest.approx((56.25, 56.25))
    assert (got.mend_s, got.change_s, got.service_cv) == (25.0, 7.0, 0.3)
    assert got.mend_waste_m == pytest.approx(1.25)
    assert (got.feed_breaks_per_km, got.wind_breaks_per_km) == pytest.approx((0.0, 0.016))
    assert (got.rule, got.first) == ("nearest", (URGENT, ("load",)))
    assert got.dry_longest_s == math.inf


def test_a_restart_that_is_assumed_has_an_upper_bound(demo_text: str) -> None:
    large = with_line(without(demo_text, "restart_buffer"), 'buffer = "4 km"')
    assert layout_of(large).go_m == pytest.approx(50.0 * 1.25)


@pytest.mark.parametrize(
    ("lines", "feed", "winder"),
    [
        (['feed_breaks = "0.004 /km"'], 0.004, 0.012),
        (['feed_breaks = "1 /km"'], 1.0, 0.0),
        (['winder_breaks = "0.005 /km"'], 0.012, 0.004),
        (['winder_breaks = "1 /km"'], 0.0, 0.8),
        (['feed_breaks = "0 /km"', 'winder_breaks = "0 /km"'], 0.0, 0.0),
    ],
)
def test_breaks_not_stated_are_what_the_stated_leave(
    demo_text: str, lines: list[str], feed: float, winder: float
) -> None:
    """Of the line's 0.02 per km after steam, which are 0.016 per km before it."""
    got = layout_of(with_line(without(demo_text, "feed_breaks", "winder_breaks"), *lines))
    assert (got.feed_breaks_per_km, got.wind_breaks_per_km) == pytest.approx((feed, winder))


@pytest.mark.parametrize(
    ("stated", "first"),
    [
        ('["mend"]', (("mend",), ("doff", "change", "feed", "load", "colour"))),
        (
            '["load", "doff"]',
            (("load",), ("doff",), ("mend", "change", "feed", "colour")),
        ),
        (
            '["colour", "load", "feed", "change", "mend", "doff"]',
            (("colour",), ("load",), ("feed",), ("change",), ("mend",), ("doff",)),
        ),
    ],
)
def test_calls_named_come_first_in_their_order(
    demo_text: str, stated: str, first: tuple[tuple[str, ...], ...]
) -> None:
    assert layout_of(with_line(demo_text, f"serve_first = {stated}")).first == first


@pytest.mark.parametrize(
    ("lines", "given", "told"),
    [
        (['belt_speed = "0.5 m/min"'], {}, [('line "Line 1"', "belt_speed")]),
        (['belt_speed = "0.1 m/min"'], {}, [('line "Line 1"', "belt_speed")] * 2),
        (["crew = 40", 'doff_time = "0 s"'], {},
         [('line "Line 1"', "crew"), ('line "Line 1"', "doff_time")]),
        (['tie_time = "0 s"'], {}, [('line "Line 1"', "tie_time")]),
        (["cones_per_lane = 65"], {}, [('line "Line 1"', "cones_per_lane")]),
        (['restart_buffer = "1 mm"'], {}, [('line "Line 1"', "restart_buffer")]),
        (['crew_break = "0 s"', "crew_breaks = 200"], {}, [('line "Line 1"', "crew_breaks")]),
        ([], {"hands": 0}, [("", "hands")]),
        ([], {"shift_s": -1.0}, [("", "shift")]),
        ([], {"colour_changes": -1}, [("", "colour changes")]),
        ([], {"colour_changes": 101}, [("", "colour changes")]),
    ],
)  # fmt: skip
def test_a_shift_that_cannot_be_walked_is_refused_under_the_files_own_keys(
    demo_text: str, lines: list[str], given: dict[str, Any], told: list[tuple[str, str]]
) -> None:
    mill = with_line(demo_text, *lines)
    with pytest.raises(BadInput) as bad:
        layout_of(mill, **given)
    assert [(fault.section, fault.key) for fault in bad.value.faults] == told


def test_every_attribute_has_its_key_in_the_file(demo_mill: Mill) -> None:
    """But for the buffer's filling and the time before the shift, which no file states."""
    assert set(_KEYS) == set(Layout.__dataclass_fields__) - {
        "start_buffer_frac",
        "warm_up_s",
    }
    sections: dict[str, Any] = {
        "line": demo_mill.line[0],
        "ball": demo_mill.ball[0],
        "yarn": demo_mill.yarn[0],
    }
    for section, key in _KEYS.values():
        aliases = {field.alias for field in type(sections[section]).model_fields.values()}
        assert key in aliases
