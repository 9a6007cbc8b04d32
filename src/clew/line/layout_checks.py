"""What is wrong with a layout: values that cannot be meant, and values that do not go together."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

from clew.faults import Fault
from clew.languages import figure, say
from clew.line.layout import KINDS, RULES, Layout

MOST_EVENTS = 1_000_000
"""More events in one lane's shift than any line has; a bound on the work, not on mills."""

MOST_TIMES_FEED = 20.0
"""No winder takes strand so much faster than it comes."""

MOST_COLOURS = 100
"""More changes of colour in one shift than any line makes."""


def layout_faults(layout: Layout) -> tuple[Fault, ...]:
    """Find everything that is wrong with a layout.

    Parameters
    ----------
    layout : Layout
        The line, its hands, the shift.

    Returns
    -------
    tuple of Fault
        Each under the name of its attribute. What should go together is judged of the values that
        are well each on its own.
    """
    alone = [*_out_of_range(layout), *_words_astray(layout)]
    astray = {fault.key for fault in alone}
    together = [
        fault for keys, look in _TOGETHER if astray.isdisjoint(keys) for fault in look(layout)
    ]
    return (*alone, *together)


def events_per_lane(layout: Layout) -> dict[str, float]:
    """Most events that a lane can see in a shift, by the attribute that makes them.

    Parameters
    ----------
    layout : Layout
        The line, its hands, the shift, each value within its range.

    Returns
    -------
    dict of str to float
        Balls, cones, breaks, belt stops, dry winders and colour changes [1]: as many as there
        were if winder and feed never waited.
    """
    all_s = layout.warm_up_s + layout.shift_s
    fed_m = all_s * layout.feed_m_per_s
    wound_m = all_s * layout.wind_m_per_s
    return {
        "ball_m": wound_m / layout.ball_m,
        "cone_m": fed_m / layout.cone_m,
        "feed_breaks_per_km": fed_m * layout.feed_breaks_per_km / 1000.0,
        "wind_breaks_per_km": wound_m * layout.wind_breaks_per_km / 1000.0,
        "go_m": fed_m / layout.go_m,
        "loose_m": wound_m / layout.loose_m,
        "colour_at_s": float(len(layout.colour_at_s)),
    }


def _out_of_range(layout: Layout) -> Iterator[Fault]:
    for key, (least, most) in _WHOLE.items():
        value = getattr(layout, key)
        if type(value) is not int or not least <= value <= most:
            expected = say("a whole number from {least} to {most}", least=least, most=most)
            yield _beyond(key, expected, value)
    for key, smallest in _LEAST.items():
        if 0.0 < getattr(layout, key) < smallest:
            expected = say("at least {least}", least=_with_unit(smallest, key))
            yield _beyond(key, expected, getattr(layout, key))
    for key, high in _ABOVE.items():
        if not 0.0 < getattr(layout, key) <= high:
            expected = say("more than 0, at most {most}", most=_with_unit(high, key))
            yield _beyond(key, expected, getattr(layout, key))
    for key, (low, high) in _FROM.items():
        if not low <= getattr(layout, key) <= high:
            lowest = figure(f"{low:g}")
            expected = say("from {least} to {most}", least=lowest, most=_with_unit(high, key))
            yield _beyond(key, expected, getattr(layout, key))
    if not layout.dry_longest_s > 0.0:
        expected = say("more than {least}", least=_with_unit(0, "dry_longest_s"))
        yield _beyond("dry_longest_s", expected, layout.dry_longest_s)
    if len(layout.colour_at_s) > MOST_COLOURS:
        expected = say("at most {most} changes", most=MOST_COLOURS)
        yield _beyond("colour_at_s", expected, len(layout.colour_at_s))
    for at_s in layout.colour_at_s:
        if not math.isfinite(at_s):
            yield _beyond("colour_at_s", say("a time within the shift"), at_s)


def _words_astray(layout: Layout) -> Iterator[Fault]:
    if layout.rule not in RULES:
        known = say("one of {names}", names=", ".join(RULES))
        yield Fault(say("no such rule"), known, key="rule", value=str(layout.rule))
    named = [kind for group in layout.first for kind in group]
    for kind in dict.fromkeys(named):
        if kind not in KINDS:
            known = say("one of {names}", names=", ".join(KINDS))
            yield Fault(say("no such call"), known, key="first", value=str(kind))
        elif named.count(kind) > 1:
            yield Fault(say("a call named twice"), say("each call once"), key="first", value=kind)
    missing = [kind for kind in KINDS if kind not in named]
    if missing:
        nowhere = say("no place for {names}", names=", ".join(missing))
        yield Fault(nowhere, say("each call once"), key="first")


def _buffer_never_goes_on(layout: Layout) -> Iterator[Fault]:
    if layout.go_m + layout.loose_m > layout.buffer_m * _ROUNDING:
        yield Fault(
            say("winder and belt would stop each other without end"),
            say(
                "with loose_m = {loose:g} no more than the buffer's {buffer:g}",
                loose=layout.loose_m,
                buffer=layout.buffer_m,
            ),
            key="go_m",
            value=f"{layout.go_m:g}",
        )


def _winder_too_fast(layout: Layout) -> Iterator[Fault]:
    most = MOST_TIMES_FEED * layout.feed_m_per_s
    if layout.wind_m_per_s > most:
        yield Fault(
            say(
                "a winder {times:.3g} times as fast as the feed",
                times=layout.wind_m_per_s / layout.feed_m_per_s,
            ),
            say("at most {most}", most=figure(f"{most:g} m/s")),
            key="wind_m_per_s",
            value=f"{layout.wind_m_per_s:g} m/s",
        )


def _too_much_rest(layout: Layout) -> Iterator[Fault]:
    rest_s = layout.breaks * layout.break_s
    if rest_s >= layout.shift_s:
        yield Fault(
            say(
                "breaks of {breaks} in a shift of {shift}",
                breaks=_seconds(rest_s),
                shift=_seconds(layout.shift_s),
            ),
            say("fewer or shorter breaks"),
            key="breaks",
            value=str(layout.breaks),
        )


def _too_slow(place: str, where: str) -> Callable[[Layout], Iterator[Fault]]:
    def look(layout: Layout) -> Iterator[Fault]:
        dwell_s, longest_s = getattr(layout, f"{place}_s"), getattr(layout, f"{place}_longest_s")
        if dwell_s > longest_s:
            yield Fault(
                say(
                    "the belt is too slow: {dwell} in {house} though it never stops",
                    dwell=figure(f"{dwell_s:.4g} s"),
                    house=where,
                ),
                say(
                    "at most {longest}, the longest the yarn bears",
                    longest=figure(f"{longest_s:.4g} s"),
                ),
                key=f"{place}_s",
                value=f"{dwell_s:g}",
            )

    return look


def _behind_the_end(place: str, where: str) -> Callable[[Layout], Iterator[Fault]]:
    def look(layout: Layout) -> Iterator[Fault]:
        end_s = getattr(layout, f"{place}_from_s") + getattr(layout, f"{place}_s")
        if end_s > layout.passage_s * _ROUNDING:
            yield Fault(
                say(
                    "{house} left at {end}, behind the belt's end", house=where, end=_seconds(end_s)
                ),
                say(
                    "steamer and dryer within the passage of {passage}",
                    passage=_seconds(layout.passage_s),
                ),
                key=f"{place}_from_s",
                value=f"{getattr(layout, f'{place}_from_s'):g}",
            )

    return look


def _too_long_a_way(layout: Layout) -> Iterator[Fault]:
    most_s = layout.warm_up_s + layout.shift_s
    if layout.passage_s > most_s:
        yield Fault(
            say("a passage longer than the shift"),
            say("at most {most}", most=figure(f"{most_s:g}")),
            key="passage_s",
            value=f"{layout.passage_s:g}",
        )


def _colours_astray(layout: Layout) -> Iterator[Fault]:
    before_s = -1.0
    for at_s in layout.colour_at_s:
        if not 0.0 <= at_s < layout.shift_s:
            expected = say("from 0 to below {end}", end=figure(f"{layout.shift_s:g}"))
            yield Fault(say("not within the shift"), expected, key="colour_at_s", value=f"{at_s:g}")
            return
        if at_s <= before_s:
            expected = say("more than {least}", least=figure(f"{before_s:g}"))
            what = say("not after the one before")
            yield Fault(what, expected, key="colour_at_s", value=f"{at_s:g}")
            return
        before_s = at_s


def _too_many_events(layout: Layout) -> Iterator[Fault]:
    events = events_per_lane(layout)
    total = sum(events.values())
    if not total <= MOST_EVENTS:
        key = max(events, key=lambda one: events[one])
        value = len(layout.colour_at_s) if key == "colour_at_s" else getattr(layout, key)
        yield Fault(
            say("about {n:.2g} events in one lane's shift", n=total),
            say("a line with at most {most}", most=MOST_EVENTS),
            key=key,
            value=f"{value:g}",
        )


def _beyond(key: str, expected: str, value: object) -> Fault:
    said = f"{value:g}" if isinstance(value, float) else str(value)
    what = say("a value that cannot be meant")
    return Fault(what, expected, key=key, value=said + _unit(key))


def _with_unit(value: float, key: str) -> str:
    return figure(f"{value:g}{_unit(key)}")


def _seconds(time_s: float) -> str:
    return figure(f"{time_s:g} s")


def _unit(key: str) -> str:
    """Unit of an attribute, by the end of its name."""
    ends = {"_m_per_s": " m/s", "_per_km": " /km", "_tex": " tex", "_s": " s", "_m": " m"}
    return next((unit for end, unit in ends.items() if key.endswith(end)), "")


_ROUNDING = 1.0 + 1e-9
_DAY_S = 86_400.0
_MOST_M = 1e7

_WHOLE: dict[str, tuple[int, int]] = {
    "lanes": (1, 64),
    "hands": (1, 16),
    "cones_per_lane": (1, 64),
    "breaks": (0, 100),
}
_ABOVE: dict[str, float] = {
    "shift_s": _DAY_S,
    **dict.fromkeys(("passage_s", "steam_s", "dry_s"), _DAY_S),
    **dict.fromkeys(("buffer_m", "go_m", "loose_m", "ball_m", "cone_m"), _MOST_M),
    **dict.fromkeys(("doff_s", "mend_s", "feed_mend_s", "load_s"), _DAY_S),
    **dict.fromkeys(("change_s", "colour_tie_s"), _DAY_S),
    "steam_longest_s": 1e7,
    "count_tex": 20_000.0,
}
_LEAST: dict[str, float] = {
    "shift_s": 20.0,
    **dict.fromkeys(("ball_m", "cone_m"), 0.001),
    **dict.fromkeys(("go_m", "loose_m"), 1e-4),
}
_FROM: dict[str, tuple[float, float]] = {
    **dict.fromkeys(("feed_m_per_s", "wind_m_per_s", "walk_m_per_s"), (0.001, 100.0)),
    **dict.fromkeys(("steam_from_s", "dry_from_s", "break_s"), (0.0, _DAY_S)),
    "start_buffer_frac": (0.0, 1.0),
    "cone_cv": (0.0, 0.3),
    "service_cv": (0.0, 3.0),
    **dict.fromkeys(("feed_breaks_per_km", "wind_breaks_per_km"), (0.0, 1e6)),
    "mend_waste_m": (0.0, _MOST_M),
    **dict.fromkeys(("spacing_m", "across_m"), (0.0, 10_000.0)),
    "shrink_frac": (0.0, 0.9),
    "regain_in_frac": (0.0, 1.0),
    "regain_out_frac": (0.0, 1.0),
    "finish_loss_frac": (0.0, 0.5),
    "warm_up_s": (0.0, _DAY_S),
}

_EVENTS = (
    "shift_s", "warm_up_s", "feed_m_per_s", "wind_m_per_s", "ball_m", "cone_m",
    "feed_breaks_per_km", "wind_breaks_per_km", "go_m", "loose_m",
)  # fmt: skip
_TOGETHER: tuple[tuple[tuple[str, ...], Callable[[Layout], Iterator[Fault]]], ...] = (
    (("buffer_m", "go_m", "loose_m"), _buffer_never_goes_on),
    (("feed_m_per_s", "wind_m_per_s"), _winder_too_fast),
    (("breaks", "break_s", "shift_s"), _too_much_rest),
    (("steam_s", "steam_longest_s"), _too_slow("steam", say("steam"))),
    (("dry_s", "dry_longest_s"), _too_slow("dry", say("the dryer"))),
    (("steam_from_s", "steam_s", "passage_s"), _behind_the_end("steam", say("the steamer"))),
    (("dry_from_s", "dry_s", "passage_s"), _behind_the_end("dry", say("the dryer"))),
    (("passage_s", "shift_s", "warm_up_s"), _too_long_a_way),
    (("colour_at_s", "shift_s"), _colours_astray),
    (_EVENTS, _too_many_events),
)
