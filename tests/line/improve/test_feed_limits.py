"""What rollers, steamer and dryer allow, and what is said of a feed above it."""

from __future__ import annotations

import pytest

from clew.faults import BadInput
from clew.line.heat.from_mill import heat_terms, winding_terms
from clew.line.heat.speed_limits import SpeedLimit, speed_limits
from clew.line.improve.feed_limits import STATIONS, FeedLimits, feed_cautions, feed_limits_of
from clew.mill import mill_from_text
from clew.mill.model import Mill

LIMITS = FeedLimits(
    (SpeedLimit("dryer", 5.9, "regain of 9.5 %"), SpeedLimit("feed", 6.0, "what the rollers can"))
)


def test_limits_are_those_of_the_line(demo_mill: Mill) -> None:
    found = feed_limits_of(demo_mill, "Line 1", "Querl 100")
    line = speed_limits(
        heat_terms(demo_mill, "Line 1", "Querl 100"),
        winding_terms(demo_mill, "Line 1", "Querl 100"),
    )
    assert found.limits == tuple(one for one in line.limits if one.station in STATIONS)
    assert {one.station for one in found.limits} == set(STATIONS)
    assert found.fastest_feed_m_per_s == demo_mill.find_line("Line 1").fastest_feed_m_per_s
    assert found.unknown == ()
    assert feed_limits_of(demo_mill, "", "") == feed_limits_of(
        demo_mill, "Line 1", demo_mill.ball[0].name
    )


def test_rollers_that_are_not_stated(demo_text: str) -> None:
    mill = mill_from_text(demo_text.replace("fastest_feed = ", "# fastest_feed = "))
    found = feed_limits_of(mill, "Line 1", "Querl 100")
    assert found.fastest_feed_m_per_s is None
    assert feed_cautions(found, 0.1, "A feed") == ("Not known: what the feed rollers can.",)


def test_a_fibre_that_nothing_is_known_of_under_heat(demo_text: str) -> None:
    """Steamer and dryer are then not judged; the rollers are."""
    mill = mill_from_text(demo_text.replace('fibre = "acrylic"', 'fibre = "chlorofibre"'))
    found = feed_limits_of(mill, "Line 1", "Querl 100")
    assert [one.station for one in found.limits] == ["feed"]
    (said,) = feed_cautions(found, 0.1, "A feed")
    assert said.startswith("Not known: what steamer and dryer allow (")
    assert "chlorofibre" in said
    assert len(feed_cautions(found, 50.0, "A feed")) == 2


def test_a_feed_above_limits_is_told() -> None:
    assert LIMITS.passed_at(5.9) == ()
    assert feed_cautions(LIMITS, 5.9, "A feed of 354 m/min") == ()
    (dryer,) = feed_cautions(LIMITS, 5.95, "A feed of 357 m/min")
    assert dryer.startswith("A feed of 357 m/min is too fast for the dryer, which allows 354 m/min")
    both = feed_cautions(LIMITS, 6.1, "A feed of 366 m/min")
    assert both[1] == "A feed of 366 m/min is beyond the feed rollers, which can 360 m/min."


def test_a_station_that_no_feed_is_slow_enough_for() -> None:
    never = FeedLimits((SpeedLimit("steamer", 0.0, "steam of 90 °C never gives full bulk"),))
    (said,) = feed_cautions(never, 1.0, "A feed of 60 m/min")
    assert "as any feed is: steam of 90 °C never gives full bulk" in said


def test_an_unknown_ball(demo_mill: Mill) -> None:
    with pytest.raises(BadInput):
        feed_limits_of(demo_mill, "Line 1", "Moonlight")
