"""Shift: whether the line keeps running, and where the minutes go."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from urllib.parse import urlencode

from clew.faults import BadInput, Fault
from clew.line.layout import Layout, checked_layout
from clew.line.layout_checks import events_per_lane
from clew.line.layout_from_mill import layout_of
from clew.line.simulate.answer import ShiftAnswer, shift_answer
from clew.mill.lines import Line
from clew.mill.model import Mill
from clew.quantities import LENGTH, SPEED, TIME, Kind, UnitSystem, read_quantity, show
from clew.web.chosen import Chosen, choose
from clew.web.entries import MOST_TYPED, Asked, Entry, Slider, read_entries, with_faults
from clew.web.knots_inputs import MOST_SEED, whole_typed
from clew.web.limits import fault_for
from clew.web.mill_on_disk import MillOnDisk

REPLICATIONS, SEED = 100, 1
"""Shifts a page is answered from, and their seed; the demo line's take 60 ms."""
MOST_EVENTS = 30_000_000
"""Events in all shifts of an answer: a busier line gets fewer shifts, so that no page is late."""
FEWEST = 2
MOST_DRAWN = 400_000
"""Events in one shift past which it is not drawn."""
MOST_HANDS = 16

_HOURS = replace(TIME, metric="h", yard="h")
FEED = Asked("feed_speed", "feed_speed_m_per_s", "Feed speed", SPEED, 0.4)
BUFFER = Asked("buffer", "buffer_m", "Buffer holds", LENGTH, 0.9)
DOFF = Asked("doff_time", "doff_time_s", "A doff takes", TIME, 0.8)
SHIFT = Asked("shift_time", "shift_time_s", "Length of shift", _HOURS, 0.5)
OF_LINE = (FEED, BUFFER, DOFF, SHIFT)
HANDS_KEY = "hands"
INPUTS = (HANDS_KEY, *(one.key for one in OF_LINE))
SHIFT_KEYS = ("ball", "lot", "line", *INPUTS, "seed", "at", "change")
"""Everything that can be asked of a shift."""

_KEY_OF = {
    "crew": HANDS_KEY,
    "shift": SHIFT.key,
    "crew_breaks": SHIFT.key,
    "hands": HANDS_KEY,
    "feed_m_per_s": FEED.key,
    "buffer_m": BUFFER.key,
    "go_m": BUFFER.key,
    "loose_m": BUFFER.key,
    "doff_s": DOFF.key,
    "shift_s": SHIFT.key,
    "breaks": SHIFT.key,
    "passage_s": SHIFT.key,
}
_CLOCK = re.compile(r"(\d{1,2}):([0-5]\d)(?::([0-5]\d))?")
_NUMBER = re.compile(r"\d+(?:\.\d+)?(?:e[+-]?\d+)?")


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
    at_s : float
        Moment of the shift that is drawn [s].
    layout : Layout or None
        The line for a shift, with what was typed in place; none while something is wrong.
    """

    chosen: Chosen
    entries: tuple[Entry, ...]
    faults: tuple[Fault, ...]
    seed: int
    at_s: float
    layout: Layout | None

    @property
    def drawable(self) -> bool:
        """Whether one shift has few enough events to be drawn."""
        return self.layout is not None and _events(self.layout) <= MOST_DRAWN

    def query(self, **other: str) -> str:
        """Write the question as an address says it, with something else in place."""
        said = self.chosen.address | {one.key: one.text for one in self.entries if one.moved}
        said |= {"seed": str(self.seed)} if self.seed != SEED else {}
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
    # a buffer that is tried brings its restarts with it, so those of the file cannot clash
    have = line.model_copy(update={"restart_buffer_m": None, "belt_restart_m": None})
    tried, entries, faults = read_entries(OF_LINE, have, asked, units)
    assert isinstance(tried, Line)
    hands, hands_entry, wrong = _hands(line, asked)
    seed, wrong_seed = _seed(asked)
    at_s, wrong_at = _moment(asked, tried.shift_time_s)
    faults = (*wrong, *faults, *wrong_seed, *wrong_at)
    layout = None
    if not faults:
        try:
            moved = tuple(one.key for one in entries if one.moved)
            names = (line.name, chosen.ball.name, chosen.lot_name)
            layout = _layout(mill, names, tried, hands, moved)
        except BadInput as bad:
            faults = bad.faults
    faults = tuple(fault_for(_placed(fault, asked, units), units) for fault in faults)
    return ShiftPage(
        chosen=chosen, entries=with_faults((hands_entry, *entries), faults), faults=faults,
        seed=seed, at_s=at_s, layout=layout,
    )  # fmt: skip


def _layout(
    mill: Mill, names: tuple[str, str, str], tried: Line, hands: int, moved: tuple[str, ...]
) -> Layout:
    """The line as the mill file has it, with what was typed in place as the command puts it."""
    own = layout_of(mill, *names, shift_s=tried.shift_time_s, hands=hands)
    changed: dict[str, float] = {}
    if FEED.key in moved:
        changed["feed_m_per_s"] = tried.feed_speed_m_per_s
    if DOFF.key in moved:
        changed["doff_s"] = tried.doff_time_s
    if BUFFER.key in moved:
        buffer_m = tried.buffer_m / (1.0 - own.shrink_frac)
        part = buffer_m / own.buffer_m
        changed |= {"buffer_m": buffer_m, "go_m": own.go_m * part, "loose_m": own.loose_m * part}
    return checked_layout(replace(own, **changed))  # type: ignore[arg-type]  # all are floats


def _hands(line: Line, asked: Mapping[str, str]) -> tuple[int, Entry, tuple[Fault, ...]]:
    """Read the hands, who are whole and slide by ones."""
    own, text = str(line.crew), asked.get(HANDS_KEY, "").strip()
    moved = bool(text) and text != own
    hands, fault = line.crew, None
    if moved:
        hands, fault = whole_typed(HANDS_KEY, text, MOST_HANDS)
        if fault is not None or hands < 1:
            expected = f"a whole number from 1 to {MOST_HANDS}"
            fault = Fault("not so many hands", expected, key=HANDS_KEY, value=repr(text)[:80])
            hands = line.crew
    high = min(MOST_HANDS, max(4, 2 * line.crew))
    entry = Entry(
        key=HANDS_KEY,
        words="Hands",
        text=text[:MOST_TYPED] or own,
        mill_text=own,
        fault="" if fault is None else f"{fault.what}: {fault.expected}",
        moved=moved,
        slider=Slider("1", str(high), "1", str(min(hands, high)), ""),
    )
    return hands, entry, () if fault is None else (fault,)


def _seed(asked: Mapping[str, str]) -> tuple[int, tuple[Fault, ...]]:
    text = asked.get("seed", "").strip()
    if not text:
        return SEED, ()
    seed, fault = whole_typed("seed", text, MOST_SEED)
    return seed, () if fault is None else (fault,)


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
    expected = f"from 0:00 to {clock_words(shift_s)}, such as 2:30 or 95 min"
    return 0.0, (Fault("no moment of the shift", expected, key="at", value=repr(text)[:80]),)


def clock_words(at_s: float) -> str:
    """Write a time of the shift as its clock shows it: ``2:05:00``."""
    whole = int(at_s)
    return f"{whole // 3600}:{whole // 60 % 60:02d}:{whole % 60:02d}"


def _placed(fault: Fault, asked: Mapping[str, str], units: UnitSystem) -> Fault:
    """Name the input a fault of the room is about, and give its bare limits their unit."""
    key = _KEY_OF.get(fault.key, fault.key)
    kinds = {one.key: one.kind for one in OF_LINE}
    if key not in INPUTS or fault.key in INPUTS:
        return fault
    expected, kind = fault.expected, kinds.get(key)
    if isinstance(kind, Kind) and fault.what == "a value that cannot be meant":
        expected = _NUMBER.sub(lambda one: show(float(one[0]), kind, units), expected)
    return replace(
        fault, key=key, section="", expected=expected, value=repr(asked.get(key, "").strip()[:80])
    )


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
