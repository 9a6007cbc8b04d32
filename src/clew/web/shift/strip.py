"""One shift as strips of time: half an hour state by state, and the whole shift by parts of it.

Each winder and each hand has a row. In half an hour a tall block is winding or serving, a low one
anything else; in the whole shift height is a share of the time. Paint and pattern of a state are
those of the bars.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from markupsafe import Markup, escape

from clew.languages import say, spoken
from clew.web.shift.bars import HATCHED
from clew.web.shift.replay import HandFrame, LaneFrame, Replay
from clew.web.shift.states import STATES, cause_of, hand_does

Spell = tuple[float, float, str]
"""From when to when [s], and what kind of doing."""

SPAN_S = 1800.0
"""What is shown state by state: half an hour, in which single balls can be told."""
PARTS = 96
"""The whole shift is shown in so many parts, or fewer where the drawing is narrow."""
_SHORTEST_S = 60.0
_LABELLED = 0.05
"""A rest is labelled where it takes more than this of the width."""


@dataclass(frozen=True, slots=True)
class Size:
    """Size of a strip: its name, width, room for names, height of a row, size of text."""

    key: str
    width: float
    left: float
    row: float
    text: float


WIDE = Size("wide", 1000.0, 96.0, 27.0, 17.0)
NARROW = Size("narrow", 400.0, 78.0, 25.0, 15.6)
_LETTER = 0.6
"""Width of a letter, as a part of its size: names are longer in some languages than in others."""


def near_strip(
    replay: Replay, from_s: float, at_s: float, numbers: Sequence[int], size: Size
) -> Markup:
    """Draw half an hour of the shift, state by state.

    Parameters
    ----------
    replay : Replay
        The shift.
    from_s : float
        Where it begins [s].
    at_s : float
        The moment that is marked [s].
    numbers : sequence of int
        Number of each lane's winder.
    size : Size
        `WIDE` or `NARROW`.

    Returns
    -------
    Markup
        The drawing.
    """
    to_s = min(from_s + SPAN_S, replay.layout.shift_s)
    scale = _Scale(from_s, to_s, _roomy(size, numbers, replay))
    parts: list[str] = []
    for row, (frames, number) in enumerate(zip(replay.lanes, numbers, strict=True)):
        parts.append(scale.label(_winder(number), row))
        spells = _spells(frames, from_s, to_s)
        parts += _blocks(scale, spells, scale.y(row))
    for hand, mine in enumerate(replay.hands):
        row = len(numbers) + hand
        parts.append(scale.label(_hand(hand), row, 6.0))
        parts += _blocks(scale, _spells(mine, from_s, to_s), scale.y(row) + 6.0)
    rows = len(numbers) + len(replay.hands)
    title = say(
        "What every winder and hand does from {start} to {end}",
        start=_clock(from_s),
        end=_clock(to_s),
    )
    return scale.finished("near", title, parts, rows, at_s)


def shift_strip(replay: Replay, at_s: float, numbers: Sequence[int], size: Size) -> Markup:
    """Draw the whole shift: what part of each few minutes went to what.

    Parameters
    ----------
    replay : Replay
        The shift.
    at_s : float
        The moment that is marked [s].
    numbers : sequence of int
        Number of each lane's winder.
    size : Size
        `WIDE` or `NARROW`.

    Returns
    -------
    Markup
        The drawing.
    """
    shift_s = replay.layout.shift_s
    scale = _Scale(0.0, shift_s, _roomy(size, numbers, replay))
    parts_s = max(shift_s / (PARTS if size.key == "wide" else PARTS // 2), _SHORTEST_S)
    parts: list[str] = []
    for row, (frames, number) in enumerate(zip(replay.lanes, numbers, strict=True)):
        parts.append(scale.label(_winder(number), row))
        spells = _spells(frames, 0.0, shift_s)
        parts += _stacked(scale, spells, parts_s, scale.y(row), STATES)
    for hand, mine in enumerate(replay.hands):
        row, spells = len(numbers) + hand, _spells(mine, 0.0, shift_s)
        parts.append(scale.label(_hand(hand), row, 6.0))
        y = scale.y(row) + 6.0
        parts += _stacked(scale, spells, parts_s, y, _BY_HAND)
        parts += _blocks(scale, [one for one in spells if one[2] == "resting"], y)
    rows = len(numbers) + len(replay.hands)
    title = say("The whole shift: what part of each minute winders wind and hands work")
    if parts_s >= 90.0:
        title = say(
            "The whole shift: what part of each {minutes:.0f} minutes winders wind and hands work",
            minutes=parts_s / 60.0,
        )
    return scale.finished("shift", title, parts, rows, at_s)


def _winder(number: int) -> str:
    return say("Winder {n}", n=number)


def _hand(hand: int) -> str:
    return say("Hand {n}", n=hand + 1)


def _roomy(size: Size, numbers: Sequence[int], replay: Replay) -> Size:
    """Leave room for the longest name of a row."""
    names = [*map(_winder, numbers), *map(_hand, range(len(replay.hands)))]
    longest = max(len(spoken(name)) for name in names)
    return replace(size, left=max(size.left, _LETTER * size.text * longest + 8.0))


_TALL = ("winding", "serving", "resting")
_LOW = 0.55
"""Height of a block that is not tall, as a part of its row."""
_BY_HAND = ("serving", "walking")
_FULL = 0.78
"""Part of a row that is drawn on."""


@dataclass(frozen=True, slots=True)
class _Scale:
    from_s: float
    to_s: float
    size: Size

    def x(self, at_s: float) -> float:
        part = (at_s - self.from_s) / (self.to_s - self.from_s)
        return self.size.left + (self.size.width - self.size.left - 14.0) * part

    def y(self, row: int) -> float:
        """Floor of a row."""
        return 6.0 + self.size.row * (row + 0.9)

    def label(self, words: str, row: int, lower: float = 0.0) -> str:
        return (
            f'<text class="row-name" x="0" y="{self.y(row) + lower - 4:.1f}" '
            f'font-size="{self.size.text:g}">{escape(spoken(words))}</text>'
        )

    def finished(self, key: str, title: str, parts: list[str], rows: int, at_s: float) -> Markup:
        floor = self.y(rows - 1) + 12.0
        ticks = [
            f'<path class="tick" d="M{self.x(at):.1f} 4V{floor:.1f}"/>'
            f'<text class="tick-words{" last" if at >= self.to_s else ""}" x="{self.x(at):.1f}" '
            f'y="{floor + self.size.text:.1f}" font-size="{self.size.text:g}">{_clock(at)}</text>'
            for at in _ticks(self.from_s, self.to_s, 8 if self.size.key == "wide" else 4)
        ]
        mark = ""
        if self.from_s <= at_s <= self.to_s:
            mark = f'<path class="now" d="M{self.x(at_s):.1f} 2V{floor:.1f}"/>'
        high = floor + 1.5 * self.size.text
        name = f"strip-{key}-{self.size.key}"
        return Markup(
            f'<svg class="strip {self.size.key}" viewBox="0 0 {self.size.width:g} {high:.0f}" '
            f'role="img" aria-labelledby="{name}" data-strip="{key}" data-from="{self.from_s:g}" '
            f'data-to="{self.to_s:g}" data-left="{self.x(self.from_s):g}" '
            f'data-right="{self.x(self.to_s):g}"><title id="{name}">{escape(spoken(title))}</title>'
            f"{''.join(ticks)}{''.join(parts)}{mark}</svg>"
        )


def _clock(at_s: float) -> str:
    return f"{int(at_s) // 3600}:{int(at_s) // 60 % 60:02d}"


def _ticks(from_s: float, to_s: float, most: int) -> Iterator[float]:
    steps = (300.0, 600.0, 900.0, 1800.0, 3600.0, 7200.0, 14400.0, 21600.0)
    step = next((one for one in steps if (to_s - from_s) / one <= most), steps[-1])
    at = -(-from_s // step) * step
    while at <= to_s:
        yield at
        at += step


def _kind(frame: LaneFrame | HandFrame) -> str:
    if isinstance(frame, LaneFrame):
        return cause_of(frame.winder)
    return hand_does(frame.state)


def _spells(frames: Sequence[LaneFrame | HandFrame], from_s: float, to_s: float) -> list[Spell]:
    """What one did within a window, from when to when; a kind that goes on is one spell."""
    spells: list[Spell] = []
    last = len(frames) - 1
    for place, frame in enumerate(frames):
        begins = max(frame.at_s, from_s)
        ends = min(frames[place + 1].at_s if place < last else to_s, to_s)
        if ends <= begins:
            continue
        kind = _kind(frame)
        if spells and spells[-1][2] == kind and spells[-1][1] == begins:
            begins = spells.pop()[0]
        spells.append((begins, ends, kind))
    return spells


def _block(scale: _Scale, begins: float, ends: float, floor: float, high: float) -> str:
    left, right = scale.x(begins), scale.x(ends)
    tall = high * _FULL * scale.size.row
    return f"M{left:.2f} {floor:.1f}v{-tall:.1f}H{right:.2f}v{tall:.1f}z"


def _blocks(scale: _Scale, spells: Iterable[Spell], floor: float) -> Iterator[str]:
    """Blocks side by side, one path for each kind; a rest that is wide enough says so."""
    runs: dict[str, list[str]] = {}
    words = ""
    for begins, ends, kind in spells:
        high = 1.0 if kind in _TALL else _LOW
        runs.setdefault(kind, []).append(_block(scale, begins, ends, floor, high))
        if kind == "resting":
            words += _rest(scale, begins, ends, floor)
    yield from _paths(runs)
    yield words


def _paths(runs: dict[str, list[str]]) -> Iterator[str]:
    for kind, blocks in runs.items():
        drawn = "".join(blocks)
        yield f'<g class="part-of {kind}"><path class="under" d="{drawn}"/>'
        yield f'<path class="over" d="{drawn}"/></g>' if kind in HATCHED else "</g>"


def _rest(scale: _Scale, begins: float, ends: float, floor: float) -> str:
    left, right = scale.x(begins), scale.x(ends)
    if right - left < _LABELLED * scale.size.width:
        return ""
    words = escape(spoken(say("rest")))
    return (
        f'<text class="rest-words" x="{(left + right) / 2:.1f}" y="{floor - 5:.1f}" '
        f'font-size="{scale.size.text * 0.85:g}">{words}</text>'
    )


def _stacked(
    scale: _Scale,
    spells: Iterable[Spell],
    part_s: float,
    floor: float,
    kinds: tuple[str, ...],
) -> Iterator[str]:
    """Blocks on one another in each part of the shift, kind by kind."""
    count = max(round((scale.to_s - scale.from_s) / part_s), 1)
    part_s = (scale.to_s - scale.from_s) / count
    shares = [dict.fromkeys(kinds, 0.0) for _ in range(count)]
    for begins, ends, kind in spells:
        at = begins
        while at < ends - 1e-9:
            place = min(int(at / part_s + 1e-9), count - 1)
            until = min(ends, (place + 1) * part_s) if place < count - 1 else ends
            if kind in kinds:
                shares[place][kind] += (until - at) / part_s
            at = until
    full = _FULL * scale.size.row
    runs: dict[str, list[str]] = {}
    for place, share in enumerate(shares):
        left, right = scale.x(place * part_s), scale.x((place + 1) * part_s)
        low = floor
        for kind, one in share.items():
            tall = one * full
            if tall > 0.05:
                runs.setdefault(kind, []).append(
                    f"M{left:.2f} {low:.2f}v{-tall:.2f}H{right:.2f}v{tall:.2f}z"
                )
            low -= tall
    yield from _paths(runs)
