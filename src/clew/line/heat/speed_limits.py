"""What limits the speed of a line: every station's fastest feed, slowest first."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cache
from typing import Literal

from clew.faults import BadInput, Fault
from clew.languages import figure, say, say_many
from clew.line.heat.crossing import crossing
from clew.line.heat.dryer import regains_out
from clew.line.heat.steamer import steamed
from clew.line.heat.terms import HeatTerms
from clew.strand.given import fraction, more_than_zero, zero_or_more

Station = Literal["steamer", "dryer", "winder", "hands", "feed"]

HANDS_BUSY_FRAC = 0.85
"""Part of their time at work that hands can be busy before the line waits for them [1]: assumed."""
NO_QUEUE = say(
    "An instant estimate: the hands' limit knows no queue and the winder's no "
    "wait for a doff. Hands may hold the line up below both."
)
"""What is to be said beside the limits of hands and winder."""
_SLOWEST, _FASTEST = 0.02, 20.0


@dataclass(frozen=True, slots=True)
class WindingTerms:
    """Winders and hands of a line.

    Attributes
    ----------
    wind_m_per_s : float
        Speed of the steamed strand while a winder turns [m/s].
    ball_m : float
        Length, after steam and unstretched, of the ball the winder is set to [m].
    cone_m : float
        Length of a cone, before steam [m].
    doff_s, tie_s, cone_load_s, mend_s : float
        Time to doff a ball, to tie at the creel, to load a cone, to re-tie at the winder [s].
    hands : int
        Hands at the line.
    at_work_frac : float
        Part of the shift that is not break [1].
    lane_spacing_m, across_m, walk_m_per_s : float
        Distance from winder to winder, from the winders to the creels, speed of walking
        [m], [m], [m/s].
    feed_breaks_per_km, wind_breaks_per_km : float
        Breaks at the feed and at the winder, over strand before steam [1/km].
    fastest_feed_m_per_s : float or None
        What the feed rollers can; none where not stated [m/s].
    """

    wind_m_per_s: float
    ball_m: float
    cone_m: float
    doff_s: float
    tie_s: float
    cone_load_s: float
    mend_s: float
    hands: int
    at_work_frac: float = 1.0
    lane_spacing_m: float = 1.5
    across_m: float = 10.0
    walk_m_per_s: float = 1.1
    feed_breaks_per_km: float = 0.0
    wind_breaks_per_km: float = 0.0
    fastest_feed_m_per_s: float | None = None

    def __post_init__(self) -> None:
        faults: list[Fault] = []
        for key, unit in (
            *(("wind_m_per_s", "m/s"), ("ball_m", "m"), ("cone_m", "m"), ("hands", "")),
            *(("at_work_frac", ""), ("walk_m_per_s", "m/s"), ("fastest_feed_m_per_s", "m/s")),
        ):
            value = getattr(self, key)
            try:
                if value is not None:
                    more_than_zero(value, key, unit)
            except BadInput as bad:
                faults.extend(bad.faults)
        for key, unit in (
            *((key, "s") for key in ("doff_s", "tie_s", "cone_load_s", "mend_s")),
            *((key, "m") for key in ("lane_spacing_m", "across_m")),
            *((key, "1/km") for key in ("feed_breaks_per_km", "wind_breaks_per_km")),
        ):
            try:
                zero_or_more(getattr(self, key), key, unit)
            except BadInput as bad:
                faults.extend(bad.faults)
        if self.at_work_frac > 1.0:
            faults.append(
                Fault(say("not a part of 1"), say("more than 0 to 1"), key="at_work_frac")
            )
        if faults:
            raise BadInput(faults)


@dataclass(frozen=True, slots=True)
class SpeedLimit:
    """The fastest feed a station allows.

    Attributes
    ----------
    station : str
        ``steamer``, ``dryer``, ``winder``, ``hands`` or ``feed``.
    feed_m_per_s : float
        Fastest feed; 0 where no speed will do, infinite where none is too fast [m/s].
    why : str
        What it comes from, in words.
    """

    station: Station
    feed_m_per_s: float
    why: str


@dataclass(frozen=True, slots=True)
class SpeedLimits:
    """Every limit of a line's speed.

    Attributes
    ----------
    feed_m_per_s : float
        Feed as it is run [m/s].
    limits : tuple of SpeedLimit
        Slowest first.
    least_feed_m_per_s : float
        Feed below which the yarn lies too long in steam [m/s].
    unknown : tuple of str
        Stations that nothing was stated of.
    hands_busy_frac : float
        Part of their time at work that the feed as it is run asks of the hands; more than 1 is
        more than they can [1].
    """

    feed_m_per_s: float
    limits: tuple[SpeedLimit, ...]
    least_feed_m_per_s: float
    unknown: tuple[str, ...]
    hands_busy_frac: float

    @property
    def first(self) -> SpeedLimit:
        """The limit that is met first."""
        return self.limits[0]

    @property
    def within(self) -> bool:
        """Whether the line as it is run is above no limit and below none."""
        return self.least_feed_m_per_s <= self.feed_m_per_s <= self.first.feed_m_per_s


def speed_limits(terms: HeatTerms, winding: WindingTerms) -> SpeedLimits:
    """Find what limits the speed of a line.

    Parameters
    ----------
    terms : HeatTerms
        Yarn, belt, steamer and dryer.
    winding : WindingTerms
        Winders and hands.

    Returns
    -------
    SpeedLimits
        The fastest feed of each station, slowest first.

    Raises
    ------
    BadInput
        When the air of room or dryer cannot be.

    Notes
    -----
    The belt goes with the feed, so that the lay stays as it is and dwells shorten. A winder waits
    while it is doffed. Hands doff, load and tie cones, re-tie at winder and feed, and walk: to
    each call along the row, any lane as likely as any other, and for a cone or a break at the feed
    across to the creels and back. They can be busy 85 % of their time at work (assumed); nothing
    here queues. Source: length and time balances (DERIVED).
    """
    hands = _hands_per_feed(terms, winding)
    limits = [
        steamer_limit(terms),
        _dryer(terms),
        _winder(terms, winding),
        SpeedLimit(
            "hands",
            HANDS_BUSY_FRAC * winding.hands * winding.at_work_frac / hands if hands else math.inf,
            say_many(
                "{n} hand busy {busy} of their time at work with doffs, cones, re-ties and "
                "the walk to them",
                "{n} hands busy {busy} of their time at work with doffs, cones, re-ties and "
                "the walk to them",
                winding.hands,
                busy=figure(f"{100 * HANDS_BUSY_FRAC:g} %"),
            ),
        ),
    ]
    unknown = []
    if winding.fastest_feed_m_per_s is None:
        unknown.append("feed")
    else:
        limits.append(SpeedLimit("feed", winding.fastest_feed_m_per_s, say("what the rollers can")))
    return SpeedLimits(
        feed_m_per_s=terms.feed_m_per_s,
        limits=tuple(sorted(limits, key=lambda one: one.feed_m_per_s)),
        least_feed_m_per_s=least_feed_m_per_s(terms),
        unknown=tuple(unknown),
        hands_busy_frac=hands * terms.feed_m_per_s / (winding.hands * winding.at_work_frac),
    )


def at_feed(terms: HeatTerms, feed_m_per_s: float) -> HeatTerms:
    """Run a line at another feed, its belt with it.

    Parameters
    ----------
    terms : HeatTerms
        Yarn and line.
    feed_m_per_s : float
        The other feed [m/s].

    Returns
    -------
    HeatTerms
        The same lay at another speed.

    Raises
    ------
    BadInput
        When the feed cannot be meant.
    """
    feed = more_than_zero(feed_m_per_s, "feed", "m/s")
    belt = terms.belt_m_per_s * feed / terms.feed_m_per_s
    return replace(terms, feed_m_per_s=feed, belt_m_per_s=belt)


def least_feed_m_per_s(terms: HeatTerms) -> float:
    """Find the feed below which the yarn lies too long in steam, its belt with it.

    Parameters
    ----------
    terms : HeatTerms
        Yarn and line.

    Returns
    -------
    float
        Feed [m/s].

    Notes
    -----
    Source: time balance (DERIVED).
    """
    return terms.feed_m_per_s * terms.steam_dwell_s / terms.longest_dwell_s


def steamer_limit(terms: HeatTerms) -> SpeedLimit:
    """Find the fastest feed at which the yarn takes its full bulk, the belt with the feed.

    Parameters
    ----------
    terms : HeatTerms
        Yarn and line.

    Returns
    -------
    SpeedLimit
        The feed; 0 where the steam never gives full bulk.

    Raises
    ------
    BadInput
        When the steam is not hotter than the room.

    Notes
    -----
    Source: time balance (DERIVED).
    """
    found = steamed(terms)
    if found.zone_c < terms.full_bulk_c:
        return SpeedLimit(
            "steamer",
            0.0,
            say(
                "steam of {zone} never gives full bulk, which takes {full}",
                zone=figure(f"{found.zone_c:.3g} °C"),
                full=figure(f"{terms.full_bulk_c:.3g} °C"),
            ),
        )
    return SpeedLimit(
        "steamer",
        terms.feed_m_per_s * found.dwell_s / found.full_dwell_s,
        say("{dwell} in steam for full bulk", dwell=figure(f"{found.full_dwell_s:.3g} s")),
    )


def _dryer(terms: HeatTerms) -> SpeedLimit:
    @cache
    def too_damp(times: float) -> float:
        there = at_feed(terms, times * terms.feed_m_per_s)
        steam = steamed(there)
        *_, cooled = regains_out(there, steam.regain_frac, steam.zone_c)
        return cooled - terms.regain_wanted_frac

    wanted = figure(f"{100 * terms.regain_wanted_frac:.3g} %")
    if too_damp(_SLOWEST) > 0.0:
        never = say(
            "never a regain of {regain} once cooled after the dryer: its air is too damp",
            regain=wanted,
        )
        return SpeedLimit("dryer", 0.0, never)
    # a hair below what can be meant, so that the rounding of a product does not pass it
    fastest = min(_FASTEST, (1.0 - 1e-9) * terms.most_times_faster)
    if too_damp(fastest) <= 0.0:
        always = say("a regain of {regain} once cooled after the dryer at any speed", regain=wanted)
        return SpeedLimit("dryer", math.inf, always)
    low, high = _SLOWEST, fastest
    if too_damp(1.0) > 0.0:
        high = 1.0
    else:
        low = min(1.0, fastest)
    # in proportion, as dwells go: fewer steps than along the feed itself
    ends = math.log(low), math.log(high)
    times = math.exp(crossing(lambda log_times: too_damp(math.exp(log_times)), *ends, 1e-6))
    why = say("regain of {regain} once cooled after the dryer", regain=wanted)
    return SpeedLimit("dryer", terms.feed_m_per_s * times, why)


def _winder(terms: HeatTerms, winding: WindingTerms) -> SpeedLimit:
    winds = winding.ball_m / winding.wind_m_per_s
    turning = winds / (winds + winding.doff_s)
    fastest = winding.wind_m_per_s * turning / (1.0 - fraction(terms.shrink_frac, "shrink"))
    why = say(
        "winders turn {share} of the time, the rest is doffing",
        share=figure(f"{100 * turning:.3g} %"),
    )
    return SpeedLimit("winder", fastest, why)


def _hands_per_feed(terms: HeatTerms, winding: WindingTerms) -> float:
    """Hands busy at a feed of 1 m/s."""
    # between two lanes picked evenly lie (n^2 - 1)/(3 n) spacings on average
    apart = (terms.lanes**2 - 1) / (3 * terms.lanes)
    along = apart * winding.lane_spacing_m / winding.walk_m_per_s
    there_and_back = along + 2.0 * winding.across_m / winding.walk_m_per_s
    per_m = (
        (1.0 - terms.shrink_frac) / winding.ball_m * (winding.doff_s + along)
        + (winding.tie_s + winding.cone_load_s + there_and_back) / winding.cone_m
        + winding.wind_breaks_per_km / 1000.0 * (winding.mend_s + along)
        + winding.feed_breaks_per_km / 1000.0 * (winding.tie_s + there_and_back)
    )
    return terms.lanes * per_m
