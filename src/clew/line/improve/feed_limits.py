"""What a line's rollers, steamer and dryer make of a faster feed."""

from __future__ import annotations

from dataclasses import dataclass

from clew.faults import BadInput
from clew.languages import figure, joined, say
from clew.line.heat.from_mill import heat_terms, winding_terms
from clew.line.heat.speed_limits import SpeedLimit, speed_limits
from clew.line.improve.fault_words import fault_words
from clew.mill.model import Mill
from clew.quantities.show import number

STATIONS = ("feed", "steamer", "dryer")
"""Stations that no simulated shift asks: winders and hands it asks itself."""


@dataclass(frozen=True, slots=True)
class FeedLimits:
    """The fastest feeds of a line that its shifts know nothing of.

    Attributes
    ----------
    limits : tuple of SpeedLimit
        Of the stations of `STATIONS` that something is known of, slowest first.
    unknown : tuple of str
        What is not known, in words.
    """

    limits: tuple[SpeedLimit, ...]
    unknown: tuple[str, ...] = ()

    @property
    def fastest_feed_m_per_s(self) -> float | None:
        """What the feed rollers can; None where not stated [m/s]."""
        return next((one.feed_m_per_s for one in self.limits if one.station == "feed"), None)

    def passed_at(self, feed_m_per_s: float) -> tuple[SpeedLimit, ...]:
        """Give the limits that a feed is above [m/s]."""
        return tuple(one for one in self.limits if feed_m_per_s > one.feed_m_per_s * _ROUNDING)


def feed_limits_of(mill: Mill, line_name: str, ball_name: str, lot_name: str = "") -> FeedLimits:
    """Read off a mill how fast its rollers, steamer and dryer let a line be fed.

    Parameters
    ----------
    mill : Mill
        The mill.
    line_name : str
        Name of the line; empty for the only one.
    ball_name : str
        Name of the ball; empty for the first of the mill file.
    lot_name : str
        Name of the dye lot it is made from; empty for the yarn as nominal.

    Returns
    -------
    FeedLimits
        The limits; a yarn or an air that nothing can be said of under heat is named.

    Raises
    ------
    BadInput
        When a name is not in the mill file.

    Notes
    -----
    Steamer and dryer are judged with the belt going with the feed. Source:
    `clew.line.heat.speed_limits`.
    """
    ball = ball_name or mill.ball[0].name
    winding = winding_terms(mill, line_name, ball, lot_name)
    try:
        found = speed_limits(heat_terms(mill, line_name, ball, lot_name), winding)
    except BadInput as bad:
        fastest = winding.fastest_feed_m_per_s
        known = say("what the rollers can")
        rollers = () if fastest is None else (SpeedLimit("feed", fastest, known),)
        unknown = say("what steamer and dryer allow ({why})", why=fault_words(bad.faults[0]))
        return FeedLimits(rollers, (unknown,))
    return FeedLimits(
        tuple(one for one in found.limits if one.station in STATIONS),
        (say("what the feed rollers can"),) if winding.fastest_feed_m_per_s is None else (),
    )


def feed_cautions(limits: FeedLimits, feed_m_per_s: float, what: str) -> tuple[str, ...]:
    """Say which limits a feed is above.

    Parameters
    ----------
    limits : FeedLimits
        The line's.
    feed_m_per_s : float
        The feed [m/s].
    what : str
        Its name in the sentence: "A feed of 420 m/min".

    Returns
    -------
    tuple of str
        A sentence a limit, then one for what is not known; empty when there is nothing of either.
    """
    said = [_caution(one, what) for one in limits.passed_at(feed_m_per_s)]
    if limits.unknown:
        said.append(say("Not known: {what}.", what=joined(say(" and "), limits.unknown)))
    return tuple(said)


def _caution(limit: SpeedLimit, what: str) -> str:
    most = figure(f"{number(60.0 * limit.feed_m_per_s, 4)} m/min")
    if limit.station == "feed":
        return say("{feed} is beyond the feed rollers, which can {most}.", feed=what, most=most)
    if limit.feed_m_per_s == 0.0:
        return say(
            "{feed} is too fast for the {station}, as any feed is: {why}.",
            feed=what, station=_STATION_WORDS[limit.station], why=limit.why,
        )  # fmt: skip
    return say(
        "{feed} is too fast for the {station}, which allows {most} with the belt going with the "
        "feed: {why}.",
        feed=what, station=_STATION_WORDS[limit.station], most=most, why=limit.why,
    )  # fmt: skip


_STATION_WORDS = {"steamer": say("steamer"), "dryer": say("dryer")}
_ROUNDING = 1.0 + 1e-9
