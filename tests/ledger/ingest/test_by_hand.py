"""Buttons and typed words become messages like any other."""

from __future__ import annotations

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.ledger.events.kinds import KINDS
from clew.ledger.events.moments import us_of
from clew.ledger.events.reading import Sender
from clew.ledger.ingest.by_hand import (
    DEEDS,
    START_UP,
    at_clock,
    check_message,
    deed_of,
    message_of_deed,
)

NOW = us_of(datetime(2026, 11, 25, 5, 40, tzinfo=UTC))
SENDER = Sender("tablet", "Ina", "Line 1", "Europe/London", NOW, "k1")
TYPED = {
    "cone": "C-118", "lot": "SL-207", "cone_mass_g": "1.6 kg", "joins": "2", "to": "stock",
    "why": "cleaning", "mass_g": "101.3", "length_m": "219 yd", "balls": "4", "note": "winder 4",
}  # fmt: skip


def typed_for(key: str) -> dict[str, str]:
    deed = deed_of(key)
    typed = {one.name: TYPED.get(one.name, "x") for one in deed.asked}
    return typed | {one.name: one.among[0] for one in deed.asked if one.ask == "choice"}


@pytest.mark.parametrize("deed", DEEDS, ids=[deed.key for deed in DEEDS])
def test_each_button_makes_a_message_of_its_kind_that_a_hand_may_enter(deed: object) -> None:
    assert deed in DEEDS
    key = deed.key  # type: ignore[attr-defined]
    of = deed_of(key)
    message = message_of_deed(of, typed_for(key), SENDER, lane=3)
    assert message.kind == of.kind
    assert KINDS[of.kind].by_hand
    assert message.lane == (0 if of.place == "line" else 3)
    assert (message.author, message.source, message.key, message.at_us) == (
        "Ina", "tablet", "k1", NOW,
    )  # fmt: skip
    assert message.flags == ()
    for name, value in of.fixed.items():
        assert message.body[name] == value


def test_quantities_are_read_in_either_system_and_a_bare_number_is_the_scales() -> None:
    weighed = message_of_deed(deed_of("weighed"), {"mass_g": "101.3"}, SENDER, lane=1)
    assert weighed.body == {"mass_g": 101.3}
    with pytest.raises(BadInput, match="a comma in a number"):  # 1 g, or 1000 g
        message_of_deed(deed_of("weighed"), {"mass_g": "1,000"}, SENDER, lane=1)
    ounces = message_of_deed(deed_of("weighed"), {"mass_g": "3.5 oz"}, SENDER, lane=1)
    assert ounces.body["mass_g"] == pytest.approx(3.5 * 28.349523125)
    reeled = message_of_deed(deed_of("reeled"), {"length_m": "219 yd"}, SENDER, lane=1)
    assert reeled.body["length_m"] == pytest.approx(219 * 0.9144)


def test_everything_wrong_is_said_at_once_by_the_name_of_its_field() -> None:
    with pytest.raises(BadInput) as bad:
        message_of_deed(deed_of("load"), {"cone_mass_g": "heavy", "joins": "-1"}, SENDER, lane=None)
    assert {one.key for one in bad.value.faults} == {"lane", "cone", "cone_mass_g", "joins"}
    with pytest.raises(BadInput, match="one of stock, waste"):
        message_of_deed(deed_of("cone-off"), {"cone": "C", "to": "home"}, SENDER, lane=1)
    with pytest.raises(BadInput, match="no such deed"):
        deed_of("sing")


def test_a_scale_reading_that_cannot_be_is_kept_and_flagged() -> None:
    message = message_of_deed(deed_of("weighed"), {"mass_g": "0.1"}, SENDER, lane=1)
    assert message.flags == ("mass_g out of range",)


def test_a_look_over_the_line_names_what_was_not_in_order() -> None:
    message = check_message("start-up", frozenset({0, 2, 99}), "wet floor", SENDER)
    assert message.body["done"] == [START_UP[0], START_UP[2]]
    assert message.body["not_done"] == [
        words for words in START_UP if words not in (START_UP[0], START_UP[2])
    ]
    assert message.body["note"] == "wet floor"


@given(
    st.datetimes(datetime(2026, 1, 2), datetime(2027, 1, 1)).map(
        lambda one: us_of(one.replace(tzinfo=UTC))
    ),
    st.integers(0, 23),
    st.integers(0, 59),
)
def test_a_time_of_day_is_the_last_one_that_the_clock_showed(
    now_us: int, hour: int, minute: int
) -> None:
    zone = "Europe/London"
    try:
        found = at_clock(f"{hour}:{minute:02d}", now_us, zone)
    except BadInput:
        assert hour == 1  # leapt over in spring, by today's clock or yesterday's
        return
    assert found <= now_us
    assert now_us - found < 25 * 3_600_000_000 + 60_000_000 * 60
    local = datetime.fromtimestamp(found / 1e6, ZoneInfo(zone))
    assert (local.hour, local.minute) == (hour, minute)


@pytest.mark.parametrize("text", ["", "25:00", "5", "noon", "05:61", "05:41:99", "-1:00"])
def test_what_is_no_time_of_day_is_refused(text: str) -> None:
    with pytest.raises(BadInput, match="no time of day"):
        at_clock(text, NOW, "Europe/London")
