"""Improvements that could be tried on a line, one at a time, and those that cannot."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields, replace

from clew.faults import BadInput, Fault
from clew.languages import figure, say
from clew.line.improve.fault_words import fault_words
from clew.line.layout import RULES, Layout, Rule
from clew.line.layout_checks import layout_faults
from clew.quantities.show import number

_RULE_WORDS = {
    "nearest": say("nearest call first"),
    "longest": say("longest waiting call first"),
    "patrol": say("calls in order of lanes"),
}


@dataclass(frozen=True, slots=True)
class ChangeSizes:
    """How large each improvement is that is tried.

    Attributes
    ----------
    splice_s : float
        A join made by a splicer, in place of a tie or a re-tie [s].
    doff_less_s : float
        What a faster doff saves [s].
    cone_times, buffer_times, wind_times, feed_times, breaks_times, way_times : float
        Cones, buffer, winders' and feed's speed, breaks and the hands' way, each as so many times
        what it is now [1].
    """

    splice_s: float = 8.0
    doff_less_s: float = 2.0
    cone_times: float = 2.0
    buffer_times: float = 1.5
    wind_times: float = 1.1
    feed_times: float = 1.05
    breaks_times: float = 0.5
    way_times: float = 0.5


@dataclass(frozen=True, slots=True)
class Change:
    """One improvement.

    Attributes
    ----------
    key : str
        Short name that stays the same: ``doff_faster``.
    label : str
        What it is, in words.
    layout : Layout
        The line with it.
    rests_paid : bool
        Whether the hours in which the hands of the line as it is rest are paid once more, to
        someone else.
    """

    key: str
    label: str
    layout: Layout
    rests_paid: bool = False


@dataclass(frozen=True, slots=True)
class LeftOut:
    """An improvement that this line cannot have.

    Attributes
    ----------
    key, label : str
        As `Change` has them.
    reason : str
        Why not.
    """

    key: str
    label: str
    reason: str


def checked_sizes(sizes: ChangeSizes) -> ChangeSizes:
    """See that sizes of improvements can be meant; raises `BadInput` with all that cannot."""
    faults = [
        Fault("a size that cannot be meant", "a number above 0", key=one.name, value=f"{value:g}")
        for one in fields(sizes)
        if not 0.0 < (value := getattr(sizes, one.name)) < math.inf
    ]
    if faults:
        raise BadInput(faults)
    return sizes


def changes_for(
    layout: Layout,
    sizes: ChangeSizes | None = None,
    fastest_feed_m_per_s: float | None = None,
) -> tuple[tuple[Change, ...], tuple[LeftOut, ...]]:
    """List the improvements that can be tried on a line.

    Parameters
    ----------
    layout : Layout
        A layout that was checked.
    sizes : ChangeSizes or None
        How large each is; None for the usual.
    fastest_feed_m_per_s : float or None
        What the feed rollers can; None where not stated [m/s].

    Returns
    -------
    tuple of Change
        Each with the line changed in that one thing.
    tuple of LeftOut
        Those that would change nothing here, or that no shift can be walked with.

    Raises
    ------
    BadInput
        When a size cannot be meant.
    """
    chosen = checked_sizes(sizes or ChangeSizes())
    done: list[Change] = []
    left: list[LeftOut] = []
    for key, label, make in _tried(layout, chosen, fastest_feed_m_per_s):
        made = make(layout)
        if isinstance(made, str):
            left.append(LeftOut(key, label, made))
        elif faults := layout_faults(made):
            left.append(LeftOut(key, label, fault_words(faults[0])))
        elif made == layout:
            left.append(LeftOut(key, label, say("it is so already")))
        else:
            done.append(Change(key, label, made, rests_paid=key == _STAND_IN))
    return tuple(done), tuple(left)


Make = Callable[[Layout], Layout | str]
_STAND_IN = "stand_in"


def _tried(
    layout: Layout, sizes: ChangeSizes, fastest_feed_m_per_s: float | None
) -> Iterator[tuple[str, str, Make]]:
    yield "one_more_hand", say("one more hand"), lambda one: replace(one, hands=one.hands + 1)
    yield "one_hand_fewer", say("one hand fewer"), one_hand_fewer
    yield "one_more_lane", say("one more lane"), lambda one: replace(one, lanes=one.lanes + 1)
    yield (
        "splicer",
        say("a splicer: joins in {time}", time=_seconds(sizes.splice_s)),
        lambda one: with_splicer(one, sizes.splice_s),
    )
    yield (
        "doff_faster",
        say("a doff {time} faster", time=_seconds(sizes.doff_less_s)),
        lambda one: with_faster_doff(one, sizes.doff_less_s),
    )
    yield (
        "bigger_cones",
        say("cones {times:g} times as heavy", times=sizes.cone_times),
        lambda one: replace(one, cone_m=one.cone_m * sizes.cone_times),
    )
    yield (
        "one_more_cone",
        say("one more cone a creel"),
        lambda one: replace(one, cones_per_lane=one.cones_per_lane + 1),
    )
    yield (
        "bigger_buffer",
        say("buffers {change}", change=_changed(sizes.buffer_times)),
        lambda one: with_buffer(one, one.buffer_m * sizes.buffer_times),
    )
    yield (
        "faster_winders",
        say("winders {change}", change=_changed(sizes.wind_times)),
        lambda one: replace(one, wind_m_per_s=one.wind_m_per_s * sizes.wind_times),
    )
    yield (
        "faster_feed",
        say("feed {change}", change=_changed(sizes.feed_times)),
        lambda one: with_feed(one, one.feed_m_per_s * sizes.feed_times, fastest_feed_m_per_s),
    )
    yield (
        "fewer_breaks",
        say("breaks {change}", change=_changed(sizes.breaks_times)),
        lambda one: with_breaks(one, sizes.breaks_times),
    )
    yield (
        "shorter_way",
        say("the hands' way {change}", change=_changed(sizes.way_times)),
        lambda one: replace(
            one, spacing_m=one.spacing_m * sizes.way_times, across_m=one.across_m * sizes.way_times
        ),
    )
    yield _STAND_IN, say("a stand-in while hands rest"), with_stand_in
    yield "doffs_first", say("doffs before other calls"), with_doffs_first
    for rule in RULES:
        if rule != layout.rule:
            yield f"rule_{rule}", _RULE_WORDS[rule], _ruled(rule)


def one_hand_fewer(layout: Layout) -> Layout | str:
    """Take a hand off the crew."""
    if layout.hands == 1:
        return say("there is only one")
    return replace(layout, hands=layout.hands - 1)


def with_splicer(layout: Layout, splice_s: float) -> Layout | str:
    """Make every join in so many seconds [s]; loading a cone keeps what is not its tie.

    The tie in a loading is taken to last as long as a re-tie at the feed, as in the mill file.
    """
    tie_s = layout.feed_mend_s
    if splice_s >= max(tie_s, layout.mend_s, layout.colour_tie_s):
        return say("ties take no more than {time}", time=_seconds(splice_s))
    saved_s = max(tie_s - splice_s, 0.0)
    return replace(
        layout,
        mend_s=min(layout.mend_s, splice_s),
        feed_mend_s=min(tie_s, splice_s),
        colour_tie_s=min(layout.colour_tie_s, splice_s),
        load_s=layout.load_s - saved_s if layout.load_s > tie_s else layout.load_s,
    )


def with_faster_doff(layout: Layout, less_s: float) -> Layout | str:
    """Doff in so many seconds less [s]."""
    if layout.doff_s <= less_s:
        return say("a doff takes no more than {time}", time=figure(f"{layout.doff_s:.3g} s"))
    return replace(layout, doff_s=layout.doff_s - less_s)


def with_buffer(layout: Layout, buffer_m: float) -> Layout:
    """Give a line another buffer.

    Parameters
    ----------
    layout : Layout
        The line.
    buffer_m : float
        Strand at which the belt stops, before steam [m].

    Returns
    -------
    Layout
        The line with it. A buffer brings its restarts with it, as the same part of it, and is at
        first as full as before.
    """
    part = buffer_m / layout.buffer_m
    return replace(
        layout, buffer_m=buffer_m, go_m=layout.go_m * part, loose_m=layout.loose_m * part
    )


def with_feed(
    layout: Layout, feed_m_per_s: float, fastest_m_per_s: float | None = None
) -> Layout | str:
    """Feed at another speed [m/s], the belt at its own, as far as the rollers can [m/s]."""
    if fastest_m_per_s is not None and feed_m_per_s > fastest_m_per_s:
        return say(
            "{feed}, and the feed rollers can no more than {most}",
            feed=figure(f"{number(60.0 * feed_m_per_s, 4)} m/min"),
            most=figure(f"{number(60.0 * fastest_m_per_s, 4)} m/min"),
        )
    return replace(layout, feed_m_per_s=feed_m_per_s)


def with_breaks(layout: Layout, times: float) -> Layout | str:
    """Have so many times the breaks, at feed and winder [1]."""
    if layout.feed_breaks_per_km == 0.0 and layout.wind_breaks_per_km == 0.0:
        return say("nothing breaks")
    return replace(
        layout,
        feed_breaks_per_km=layout.feed_breaks_per_km * times,
        wind_breaks_per_km=layout.wind_breaks_per_km * times,
    )


def with_stand_in(layout: Layout) -> Layout | str:
    """Have someone in a hand's place while he rests."""
    if layout.breaks == 0 or layout.break_s == 0.0:
        return say("nobody rests")
    return replace(layout, breaks=0)


def with_doffs_first(layout: Layout) -> Layout | str:
    """Put doffs in a class of their own before all others."""
    if layout.first[0] == ("doff",):
        return say("it is so already")
    others = tuple(
        kept for group in layout.first if (kept := tuple(kind for kind in group if kind != "doff"))
    )
    return replace(layout, first=(("doff",), *others))


def _ruled(rule: Rule) -> Make:
    return lambda one: replace(one, rule=rule)


def _changed(times: float) -> str:
    if times == 0.5:
        return say("halved")
    if times == 2.0:
        return say("doubled")
    part = figure(f"{abs(100.0 * (times - 1.0)):.3g} %")
    return say("{part} up", part=part) if times > 1.0 else say("{part} down", part=part)


def _seconds(time_s: float) -> str:
    return figure(f"{time_s:g} s")
