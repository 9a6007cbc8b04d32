"""Shift: whether the line keeps running, and where the minutes go."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from urllib.parse import urlencode

from clew.faults import BadInput, Fault
from clew.languages import figure, joined, say
from clew.line.improve.changes import with_buffer
from clew.line.improve.feed_limits import feed_cautions, feed_limits_of
from clew.line.layout import Layout, checked_layout
from clew.line.layout_checks import events_per_lane
from clew.line.layout_from_mill import layout_of
from clew.line.simulate.answer import ShiftAnswer, shift_answer
from clew.mill.lines import Line
from clew.mill.model import Mill
from clew.quantities import LENGTH, SPEED, TIME, UnitSystem, number, read_quantity
from clew.web.asked.chosen import Chosen, choose
from clew.web.asked.entries import MOST_TYPED, Asked, Entry, Slider, read_entries, with_faults
from clew.web.asked.limits import fault_for
from clew.web.asked.whole import MOST_SEED, whole_typed
from clew.web.mill_on_disk import MillOnDisk
from clew.web.shift.faults import placed

REPLICATIONS, SEED = 100, 1
"""Shifts a page is answered from, and their seed; the demo line's take 60 ms."""
QUICK_REPLICATIONS = 8
"""Of the same shifts, the first: what a page says while a slider moves, until the values rest."""
MOST_EVENTS = 30_000_000
"""Events in all shifts of an answer: a busier line gets fewer shifts, so that no page is late."""
FEWEST = 2
MOST_DRAWN = 400_000
"""Events in one shift past which it is not drawn."""
MOST_HANDS = 16
MOST_LANES = 16
MOST_COLOURS = 12
MOST_SHIFT = 1000
"""Shifts one of which can be drawn."""

_HOURS = replace(TIME, metric="h", yard="h")
FEED = Asked("feed_speed", "feed_speed_m_per_s", say("Feed speed"), SPEED, 0.4)
BUFFER = Asked("buffer", "buffer_m", say("Buffer holds"), LENGTH, 0.9)
DOFF = Asked("doff_time", "doff_time_s", say("A doff takes"), TIME, 0.8)
LOAD = Asked("load_time", "cone_load_time_s", say("To load and tie a cone"), TIME, 0.8)
SHIFT = Asked("shift_time", "shift_time_s", say("Length of shift"), _HOURS, 0.5)
OF_LINE = (FEED, BUFFER, DOFF, LOAD, SHIFT)
HANDS_KEY, COLOURS_KEY, LANES_KEY = "hands", "colour_changes", "lanes"
INPUTS = (HANDS_KEY, *(one.key for one in OF_LINE), COLOURS_KEY, LANES_KEY)
SHIFT_KEYS = ("ball", "lot", "line", *INPUTS, "seed", "drawn", "at", "change")
"""Everything that can be asked of a shift."""

_CLOCK = re.compile(r"(\d{1,2}):([0-5]\d)(?::([0-5]\d))?")


@dataclass(frozen=True, slots=True)
class ShiftPage:
    """What the page was asked, with its answer.

    Attributes
    ----------
    chosen : Chosen
        What was chosen, as the mill file has it.
    entries : tuple of Entry
        Inputs to try.
    faults : tuple of Fault
        What is wrong with them.
    seed : int
        What chance depends on.
    shift : int
        Which of the simulated shifts is drawn; the first is 1.
    at_s : float
        Moment of the shift that is drawn [s].
    layout : Layout or None
        The line for a shift, with what was typed in place; none while something is wrong.
    cautions : tuple of str
        What a feed that is tried is too fast for.
    """

    chosen: Chosen
    entries: tuple[Entry, ...]
    faults: tuple[Fault, ...]
    seed: int
    shift: int
    at_s: float
    layout: Layout | None
    cautions: tuple[str, ...] = ()

    @property
    def drawable(self) -> bool:
        """Whether one shift has few enough events to be drawn."""
        return self.layout is not None and _events(self.layout) <= MOST_DRAWN

    @property
    def kept(self) -> dict[str, str]:
        """What goes along unseen: another seed, another shift."""
        kept = {"seed": str(self.seed)} if self.seed != SEED else {}
        return kept | ({"drawn": str(self.shift)} if self.shift != 1 else {})

    def query(self, **other: str) -> str:
        """Write the question as an address says it, with something else in place."""
        said = self.chosen.address | {one.key: one.text for one in self.entries if one.moved}
        said |= self.kept
        return urlencode({key: text for key, text in (said | other).items() if text})


def open_shift(mill: Mill, asked: Mapping[str, str], units: UnitSystem) -> ShiftPage:
    """Read what is asked of a shift.

    Parameters
    ----------
    mill : Mill
        The mill.
    asked : mapping of str to str
        What the address says; keys as `SHIFT_KEYS`.
    units : {"metric", "yard"}
        The reader's system of units.

    Returns
    -------
    ShiftPage
        The question, with the line for a shift. What is wrong with an input stands beside it.

    Raises
    ------
    BadInput
        When a ball, dye lot or line is not in the mill file.
    """
    chosen = choose(mill, asked)
    line = chosen.line
    # a buffer that is tried brings its restarts with it, so those of the file cannot clash; rests
    # scale with the shift, so they cannot either; a cone is loaded and tied in one
    have = line.model_copy(
        update={
            "restart_buffer_m": None,
            "belt_restart_m": None,
            "crew_breaks": 0,
            "cone_load_time_s": line.cone_load_time_s + line.tie_time_s,
        }
    )
    tried, of_line, faults = read_entries(OF_LINE, have, asked, units)
    assert isinstance(tried, Line)
    counted = [one.read(asked) for one in _counted(line)]
    (hands, first, _), (colours, *_), (lanes, *_) = counted
    entries = (first, *of_line, *(entry for _, entry, _ in counted[1:]))
    seed, wrong_seed = _seed(asked)
    shift, wrong_shift = _drawn(asked)
    at_s, wrong_at = _moment(asked, tried.shift_time_s)
    wrong = tuple(fault for *_, found in counted for fault in found)
    faults = (*wrong, *faults, *wrong_seed, *wrong_shift, *wrong_at)
    own = layout = None
    moved = tuple(one.key for one in entries if one.moved)
    if not faults:
        try:
            own = layout_of(
                mill, line.name, chosen.ball.name, chosen.lot_name,
                shift_s=tried.shift_time_s, hands=hands, colour_changes=colours,
            )  # fmt: skip
            layout = _layout(own, tried, lanes, moved)
        except BadInput as bad:
            faults = bad.faults
    said = (fault_for(placed(fault, asked, own, units), units) for fault in faults)
    faults = tuple(dict.fromkeys(said))
    return ShiftPage(
        chosen=chosen, entries=with_faults(_worded(entries, faults), faults), faults=faults,
        seed=seed, shift=shift, at_s=at_s, layout=layout,
        cautions=() if layout is None or FEED.key not in moved else _cautions(mill, chosen, layout),
    )  # fmt: skip


def _worded(entries: tuple[Entry, ...], faults: tuple[Fault, ...]) -> tuple[Entry, ...]:
    """Let the words of a fault be those of its place, not those it was read with."""
    keys = {fault.key for fault in faults}
    return tuple(replace(one, fault="") if one.key in keys else one for one in entries)


def _cautions(mill: Mill, chosen: Chosen, layout: Layout) -> tuple[str, ...]:
    """What a feed that is tried is too fast for: said, not refused."""
    limits = feed_limits_of(mill, chosen.line.name, chosen.ball.name, chosen.lot_name)
    feed_m_per_s = layout.feed_m_per_s
    said = say("A feed of {speed}", speed=figure(f"{number(60.0 * feed_m_per_s, 4)} m/min"))
    return feed_cautions(limits, feed_m_per_s, said) if limits.passed_at(feed_m_per_s) else ()


def _layout(own: Layout, tried: Line, lanes: int, moved: tuple[str, ...]) -> Layout:
    """The line as the mill file has it, with what was typed in place as the command puts it."""
    changed: dict[str, float] = {}
    if FEED.key in moved:
        changed["feed_m_per_s"] = tried.feed_speed_m_per_s
    if DOFF.key in moved:
        changed["doff_s"] = tried.doff_time_s
    if LOAD.key in moved:
        changed["load_s"] = tried.cone_load_time_s
    layout = replace(own, lanes=lanes, **changed)  # type: ignore[arg-type]  # all are floats
    if BUFFER.key in moved:
        layout = with_buffer(layout, tried.buffer_m / (1.0 - own.shrink_frac))
    return checked_layout(layout)


@dataclass(frozen=True, slots=True)
class _Whole:
    """An input that is counted, and slides by ones."""

    key: str
    words: str
    own: int
    least: int
    most: int
    slides_to: int

    def read(self, asked: Mapping[str, str]) -> tuple[int, Entry, tuple[Fault, ...]]:
        """Read it; what cannot be read leaves the mill file's number in place."""
        own, text = str(self.own), asked.get(self.key, "").strip()
        moved = bool(text) and text != own
        value, fault = self.own, None
        if moved:
            value, fault = whole_typed(self.key, text, self.most, self.least)
            if fault is not None:
                value = self.own
        entry = Entry(
            key=self.key,
            words=self.words,
            text=text[:MOST_TYPED] or own,
            mill_text=own,
            fault="" if fault is None else joined(": ", (fault.what, fault.expected)),
            moved=moved,
            slider=Slider(
                str(self.least), str(self.slides_to), "1", str(min(value, self.slides_to)), ""
            ),
        )
        return value, entry, () if fault is None else (fault,)


def _counted(line: Line) -> tuple[_Whole, _Whole, _Whole]:
    lanes = max(MOST_LANES, line.lanes)
    return (
        _Whole(
            HANDS_KEY, say("Hands"), line.crew, 1, MOST_HANDS, min(MOST_HANDS, max(8, line.crew))
        ),
        _Whole(COLOURS_KEY, say("Colour changes"), 0, 0, MOST_COLOURS, 6),
        _Whole(LANES_KEY, say("Lanes"), line.lanes, 1, lanes, min(lanes, max(10, line.lanes))),
    )


def _seed(asked: Mapping[str, str]) -> tuple[int, tuple[Fault, ...]]:
    text = asked.get("seed", "").strip()
    if not text:
        return SEED, ()
    seed, fault = whole_typed("seed", text, MOST_SEED)
    return seed, () if fault is None else (fault,)


def _drawn(asked: Mapping[str, str]) -> tuple[int, tuple[Fault, ...]]:
    """Read which of the simulated shifts is drawn; the first is 1."""
    text = asked.get("drawn", "").strip()
    if not text:
        return 1, ()
    shift, fault = whole_typed("drawn", text, MOST_SHIFT)
    if fault is None and shift < 1:
        expected = say("from {least} to {most}", least=1, most=MOST_SHIFT)
        fault = Fault(say("out of reach"), expected, key="drawn", value=repr(text))
    return max(shift, 1), () if fault is None else (fault,)


def _moment(asked: Mapping[str, str], shift_s: float) -> tuple[float, tuple[Fault, ...]]:
    """Read the moment that is drawn: a clock or a time from the start of the shift."""
    text = asked.get("at", "").strip()
    if not text:
        return min(3600.0, 0.5 * shift_s), ()
    clock = _CLOCK.fullmatch(text)
    try:
        if clock:
            hours, minutes, seconds = (int(part or 0) for part in clock.groups())
            at_s = 3600.0 * hours + 60.0 * minutes + seconds
        else:
            at_s = read_quantity(text, TIME)
    except BadInput:
        at_s = -1.0
    if 0.0 <= at_s <= shift_s:
        return at_s, ()
    expected = say("from 0:00 to {end}, such as 2:30 or 95 min", end=clock_words(shift_s))
    return 0.0, (Fault(say("no moment of the shift"), expected, key="at", value=repr(text)[:80]),)


def clock_words(at_s: float) -> str:
    """Write a time of the shift as its clock shows it: ``2:05:00``."""
    whole = int(at_s)
    return f"{whole // 3600}:{whole // 60 % 60:02d}:{whole % 60:02d}"


def _events(layout: Layout) -> float:
    return layout.lanes * sum(events_per_lane(layout).values())


def replications_for(layout: Layout, wanted: int = REPLICATIONS) -> int:
    """Shifts to answer from: as many as wanted, fewer where a shift is so busy that it is slow."""
    return max(min(FEWEST, wanted), min(wanted, int(MOST_EVENTS / _events(layout))))


def warm_shift(mill: MillOnDisk) -> None:
    """Get the simulator ready: the first time on a machine it is compiled, which takes a while.

    Parameters
    ----------
    mill : MillOnDisk
        The mill; one that cannot be read is left to the pages to say so.
    """
    try:
        page = open_shift(mill.read().mill, {}, "metric")
    except BadInput:
        return
    if page.layout is not None:
        shift_answer(page.layout, replications=1, seed=SEED, cores=1)


@lru_cache(maxsize=64)
def answer_for(layout: Layout, seed: int, replications: int) -> ShiftAnswer:
    """Simulate once for a page, its parts and the JSON beside it."""
    return shift_answer(layout, replications=replications, seed=seed)
