"""The line drawn at a moment of a shift: creel, belt, buffer, winder of each lane, and the hands.

Two forms of one drawing, a wide and a narrow one; a style sheet shows the one that fits. A script
moves the same parts that are drawn here, by the places written on the drawing. Words say whatever a
colour or a movement says.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence

from markupsafe import Markup, escape

from clew.languages import say, say_many, spoken
from clew.line.layout import Layout
from clew.web.shift.forms import Form
from clew.web.shift.replay import HandFrame, LaneFrame, Replay
from clew.web.shift.states import cause_of, feed_words, hand_words, winder_words

MOST_CONES = 4
"""Tied cones that are drawn; of more the number is said."""
_ROOMY = 3
"""Tied cones that stand at their full distance; more stand closer."""


_LOOP = 18.0
"""Length of one coil of the lay on the belt."""


def shift_drawing(
    replay: Replay, at_s: float, numbers: Sequence[int], form: Form, title: str
) -> Markup:
    """Draw the line at a moment.

    Parameters
    ----------
    replay : Replay
        The shift.
    at_s : float
        The moment [s].
    numbers : sequence of int
        Number of each lane's winder.
    form : Form
        `WIDE` or `NARROW`.
    title : str
        What is drawn.

    Returns
    -------
    Markup
        The drawing.
    """
    layout = replay.layout
    frames = [replay.lane_at(lane, at_s) for lane in range(layout.lanes)]
    hands = [replay.hand_at(hand, at_s) for hand in range(layout.hands)]
    high = form.top + form.row * layout.lanes + 8.0 + form.text * 1.5 * layout.hands
    parts = [
        f'<defs><clipPath id="belt-{form.key}"><rect x="{form.belt_from:g}" y="-30" '
        f'width="{form.belt_to - form.belt_from:g}" height="60"/></clipPath></defs>',
        f'<rect class="floor" width="{form.width:g}" height="{high:g}" rx="10"/>',
        *_stations(layout, form),
    ]
    for lane, (frame, number) in enumerate(zip(frames, numbers, strict=True)):
        parts += _lane(replay, lane, frame, number, form)
    for hand, doing in enumerate(hands):
        x, y = hand_place(layout, doing, hand, at_s, form)
        parts.append(_hand(hand, doing, x, y, form))
        name, said = say("Hand {n}", n=hand + 1), hand_words(doing, numbers)
        line = high - form.text * (1.5 * (layout.hands - hand) - 0.7)
        parts.append(
            f'<text class="hand-words" data-hand="{hand}" x="{form.creel_aisle - 10:g}" '
            f'y="{line:.0f}" font-size="{form.text:g}"><tspan class="strong">{escape(spoken(name))}'
            f'</tspan> <tspan class="doing">{escape(spoken(said))}</tspan></text>'
        )
    return Markup(
        f'<svg class="shift-drawing {form.key}" viewBox="0 0 {form.width:g} {high:.0f}" role="img" '
        f'aria-labelledby="shift-{form.key}-title" data-shift data-places="{_places(form)}">'
        f'<title id="shift-{form.key}-title">{escape(spoken(title))}</title>{"".join(parts)}</svg>'
    )


def _places(form: Form) -> str:
    """What a script needs of a form, as an attribute."""
    keys = (
        "top", "row", "creel_aisle", "winder_aisle", "belt_from", "belt_to", "buffer_high",
        "winder", "ball_least", "ball_most", "aside",
    )  # fmt: skip
    said = {key: getattr(form, key) for key in keys} | {"loop": _LOOP}
    return str(escape(json.dumps(said)))


def lane_y(form: Form, lane: int) -> float:
    """Height of a lane's strand in the drawing."""
    return form.top + form.row * lane + (form.row * 0.36 if form.below else form.row * 0.5)


def hand_place(
    layout: Layout, doing: HandFrame, hand: int, at_s: float, form: Form
) -> tuple[float, float]:
    """Where a hand is: at his place, or on his way along the aisle and then along the lane.

    Parameters
    ----------
    layout : Layout
        The line.
    doing : HandFrame
        What he does.
    hand : int
        Which hand; each keeps a little to his own side.
    at_s : float
        The moment [s].
    form : Form
        Form of the drawing.

    Returns
    -------
    tuple of float
        Across and down.
    """
    aisles = (form.winder_aisle, form.creel_aisle)
    to_x, to_y = aisles[doing.creel], lane_y(form, doing.lane)
    aside = (hand % 3 - 1) * form.aside if layout.hands > 1 else 0.0
    if doing.state != "walking" or doing.until_s <= doing.at_s:
        return to_x + aside, to_y
    from_x, from_y = aisles[doing.from_creel], lane_y(form, doing.from_lane)
    rows_m = layout.spacing_m * abs(doing.lane - doing.from_lane)
    across_m = layout.across_m if doing.creel != doing.from_creel else 0.0
    walked_m = (rows_m + across_m) * (at_s - doing.at_s) / (doing.until_s - doing.at_s)
    along = min(walked_m / rows_m, 1.0) if rows_m else 1.0
    over = max(walked_m - rows_m, 0.0) / across_m if across_m else 0.0
    dip = form.row * 0.34 * min(1.0, 12.0 * min(over, 1.0 - over)) if across_m else 0.0
    return (
        from_x + (to_x - from_x) * over + aside,
        from_y + (to_y - from_y) * along + dip,
    )


def _stations(layout: Layout, form: Form) -> Iterator[str]:
    """The steamer and the dryer over all lanes, and the names of what stands where."""
    way = form.belt_to - form.belt_from
    tops = [form.top + 1.0]
    high = form.row * layout.lanes - 6.0
    if form.below:  # words stand between the lanes
        tops = [lane_y(form, lane) - 25.0 for lane in range(layout.lanes)]
        high = 44.0
    for kind, name, from_s, for_s in (
        ("steam", say("Steam"), layout.steam_from_s, layout.steam_s),
        ("dry", say("Dry"), layout.dry_from_s, layout.dry_s),
    ):
        x, wide = form.belt_from + way * from_s / layout.passage_s, way * for_s / layout.passage_s
        for top in tops:
            yield (
                f'<rect class="house {kind}" x="{x:.1f}" y="{top:g}" '
                f'width="{wide:.1f}" height="{high:.0f}" rx="6"/>'
            )
        if not form.below:
            yield _name(name, x + wide / 2, form)
        elif kind == "steam":  # narrow: they stand back to back where the two meet
            yield _name(name, x + wide - 2.0, form, "name before")
        else:
            yield _name(name, x + 3.0, form, "name after")
    if form.below:
        yield _name(say("Creel"), form.creel_aisle - 10.0, form, "name after")
    else:
        yield _name(say("Creel"), form.cone - 1.2 * form.cone_step, form)
    yield _name(say("Buffer"), form.buffer + form.buffer_wide / 2, form)
    yield _name(say("Wind"), form.winder + (16.0 if form.below else 0.0), form)


def _name(name: str, x: float, form: Form, kind: str = "name") -> str:
    return (
        f'<text class="{kind}" x="{x:.0f}" y="{form.top - 11:g}" '
        f'font-size="{form.small:g}">{escape(spoken(name))}</text>'
    )


def _lane(replay: Replay, lane: int, frame: LaneFrame, number: int, form: Form) -> Iterator[str]:
    layout = replay.layout
    y = lane_y(form, lane)
    yield (
        f'<g class="lane" data-lane="{lane}" data-winder="{escape(frame.winder)}" '
        f'data-doing="{cause_of(frame.winder)}" '
        f'data-belt="{"runs" if frame.runs else "stands"}" '
        f'data-feed="{"whole" if frame.whole else "stands"}" '
        f'data-ball="{"spoilt" if replay.ball_spoilt(lane, frame.at_s) else "sound"}" '
        f'transform="translate(0 {y:g})">'
    )
    yield from _creel(layout, frame, form)
    shift = (frame.clock_s / layout.passage_s * (form.belt_to - form.belt_from)) % _LOOP
    yield f'<path class="belt" d="M{form.belt_from:g} 12H{form.belt_to:g}"/>'
    yield (
        f'<g clip-path="url(#belt-{form.key})"><path class="lay" '
        f'transform="translate({shift:.1f} 0)" d="{_coils(form)}"/><g class="gaps">'
    )
    way = form.belt_to - form.belt_from
    for begins, ends in replay.gaps_on(lane, frame.clock_s):
        yield (
            f'<rect class="gap" x="{form.belt_from + way * begins:.1f}" y="-15" '
            f'width="{way * (ends - begins):.1f}" height="26"/>'
        )
    yield '</g><g class="marks">'
    for begins, ends in replay.spoilt_on(lane, frame.at_s, frame.clock_s):
        yield (
            f'<rect class="spoilt" x="{form.belt_from + way * begins:.1f}" y="14" '
            f'width="{way * (ends - begins):.1f}" height="5"/>'
        )
    yield "</g></g>"
    yield from _buffer(layout, frame, form)
    yield from _winder(layout, frame, form)
    yield from _words(frame, number, form)
    yield "</g>"


def _creel(layout: Layout, frame: LaneFrame, form: Form) -> Iterator[str]:
    tied = layout.cones_per_lane - 1
    shown = min(tied, MOST_CONES)
    step = form.cone_step * min(1.0, _ROOMY / max(shown, 1))
    first = form.cone - 0.25 * form.cone_step
    for place in range(shown):
        gone = " gone" if place >= frame.reserve else ""
        shape = _cone(first - step * (place + 1), step * 0.4)
        yield f'<path class="cone{gone}" data-cone="{place}" d="{shape}"/>'
    if tied > MOST_CONES:
        words = say("{n} tied", n=frame.reserve)
        yield (
            f'<text class="tied" x="{first - step * 2.5:.0f}" y="{-form.text * 0.85:.0f}" '
            f'font-size="{form.text * 0.8:g}">{escape(spoken(words))}</text>'
        )
    yield (
        f'<path class="strand" d="M{form.cone:g} -6C{form.cone + 8:g} -22 {form.feed - 12:g} -16 '
        f'{form.feed:g} -3H{form.belt_from:g}"/>'
    )
    dry = " gone" if frame.dry else ""
    yield f'<path class="cone runs{dry}" d="{_cone(form.cone, form.cone_step * 0.62)}"/>'
    r = 4.6 if form.below else 7.0
    yield f'<circle class="roller" cx="{form.feed:g}" cy="{-3 - r:g}" r="{r:g}"/>'
    yield f'<circle class="roller" cx="{form.feed:g}" cy="{r - 3:g}" r="{r:g}"/>'
    yield (f'<path class="cross" d="M{form.feed - 10:g} -13l20 20m0 -20l-20 20"/>')


def _cone(x: float, size: float) -> str:
    """A cone standing on the floor of its lane."""
    return (
        f"M{x - size:.1f} 12L{x - 0.45 * size:.1f} {12 - 2.6 * size:.1f}"
        f"H{x + 0.45 * size:.1f}L{x + size:.1f} 12Z"
    )


def _coils(form: Form) -> str:
    """The lay: coil after coil, a loop longer than the belt at its start."""
    begins = form.belt_from - _LOOP
    loops = int((form.belt_to - begins) / _LOOP) + 2
    one = "c9 0 14 -20 5 -20s-5 20 4 20h9"
    return f"M{begins:g} 9" + one * loops


def _buffer(layout: Layout, frame: LaneFrame, form: Form) -> Iterator[str]:
    wide, high = form.buffer_wide, form.buffer_high
    level = high * frame.buffer_m / layout.buffer_m
    top = high / 2
    yield (
        f'<path class="strand" d="M{form.belt_to:g} 6H{form.buffer + 6:g}"/>'
        f'<rect class="vessel-in" x="{form.buffer:g}" y="{-top:g}" width="{wide:g}" '
        f'height="{high:g}"/>'
        f'<rect class="level" x="{form.buffer:g}" y="{top - level:.1f}" width="{wide:g}" '
        f'height="{level:.1f}"/>'
        f'<path class="vessel" d="M{form.buffer:g} {-top:g}v{high:g}h{wide:g}v{-high:g}"/>'
        f'<text class="percent" x="{form.buffer + wide / 2:g}" y="{form.text * 0.3:.1f}" '
        f'font-size="{form.small:g}">{100.0 * frame.buffer_m / layout.buffer_m:.0f} %</text>'
    )


def ball_radius(frac: float, form: Form) -> float:
    """Radius of a ball that is wound so far [1]: its strand fills its volume."""
    least, most = form.ball_least**3, form.ball_most**3
    return float((least + (most - least) * frac) ** (1.0 / 3.0))


def _winder(layout: Layout, frame: LaneFrame, form: Form) -> Iterator[str]:
    r = ball_radius(frame.on_ball_m / layout.ball_m, form)
    yield (
        f'<path class="strand to-ball" d="M{form.buffer + form.buffer_wide:g} 0H{form.winder:g}"/>'
        f'<circle class="reach" cx="{form.winder:g}" cy="0" r="{form.ball_most + 3:g}"/>'
        f'<g class="ball" transform="translate({form.winder:g} 0) rotate(20) scale({r:.2f})">'
        '<circle r="1"/><path d="M-.93 -.36Q0 -1 .93 -.36M-1 0Q0 -.42 1 0M-.93 .36Q0 0 .93 .36'
        'M-.62 -.78Q-.42 .2 .42 .9M.62 -.78Q.42 .2 -.42 .9"/></g>'
        f'<circle class="mandrel" cx="{form.winder:g}" cy="0" r="{form.ball_least * 0.4:.1f}"/>'
        f'<rect class="spoilt" x="{form.winder - 15:g}" y="{form.ball_most - 3:g}" width="30" '
        'height="7"/>'
    )


def _words(frame: LaneFrame, number: int, form: Form) -> Iterator[str]:
    text = form.text
    first, second, middle, large = -3.0, text - 1.0, text * 0.4, text * 1.4
    if form.below:
        first = second = middle = form.row * 0.42
        large = text * 1.1
    yield (
        f'<text class="number" x="{form.number:g}" y="{middle:.0f}" font-size="{large:g}">'
        f"{number}</text>"
        f'<text class="state" x="{form.words:g}" y="{first:.0f}" font-size="{text:g}">'
        f"{escape(spoken(winder_words(frame.winder)))}</text>"
    )
    count = say_many("{n} ball", "{n} balls", frame.balls)
    x = form.width - 12.0 if form.below else form.words
    end = ' text-anchor="end"' if form.below else ""
    yield (
        f'<text class="count" x="{x:g}" y="{second:.0f}"{end} font-size="{form.small:g}">'
        f"{escape(spoken(count))}</text>"
    )
    x = form.words if form.below else form.belt_from
    y = form.row * 0.42 + text * 1.15 if form.below else form.row * 0.5 - 8.0
    yield (
        f'<text class="feed-words" x="{x:g}" y="{y:.0f}" font-size="{form.small:g}">'
        f"{escape(spoken(feed_words(frame)))}</text>"
    )


def _hand(hand: int, doing: HandFrame, x: float, y: float, form: Form) -> str:
    kind = doing.state.split(":")[0]
    scale = 0.86 if form.below else 1.0
    return (
        f'<g class="hand" data-hand="{hand}" data-doing="{kind}" '
        f'transform="translate({x:.1f} {y:.1f})"><g transform="scale({scale:g})">'
        '<circle class="head" cy="-19" r="6.5"/>'
        '<path class="body" d="M-11 15v-16q0 -10 11 -10t11 10v16z"/>'
        f'<text y="10" font-size="17">{hand + 1}</text></g></g>'
    )
