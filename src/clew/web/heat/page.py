"""Steam and Dry: one question to the same room, asked with other inputs on each page."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from clew.faults import BadInput, Fault
from clew.languages import figure, joined, say
from clew.line.heat.answer import HeatAnswer, HeatBalance, heat_answer, heat_balance
from clew.line.heat.from_mill import heat_doubts, heat_terms, winding_terms
from clew.line.heat.speed_limits import SpeedLimits, WindingTerms, speed_limits
from clew.line.heat.terms import THIN_LAY, HeatDoubts, HeatTerms
from clew.mill.lines import Line
from clew.mill.model import Mill
from clew.mill.yarns import Yarn
from clew.quantities import GAIN, SPEED, TEMPERATURE, UnitSystem, number, show
from clew.web.asked.chosen import Chosen, choose, mill_with
from clew.web.asked.entries import Asked, Entry, read_entries, with_faults
from clew.web.asked.limits import fault_for
from clew.web.heat.figures import degrees_for

DRAWS, SEED = 200, 1
"""Draws for the interval of the regain and their seed, as `clew line heat` has them."""

FEED = Asked("feed_speed", "feed_speed_m_per_s", say("Feed speed"), SPEED, 0.4)
BELT = Asked("belt_speed", "belt_speed_m_per_s", say("Belt speed"), SPEED, 0.6)
STEAM = Asked(
    "steam_temperature", "steam_temperature_c", say("Steam temperature"), TEMPERATURE, 0.1
)
DRYER = Asked(
    "dryer_temperature", "dryer_temperature_c", say("Dryer temperature"), TEMPERATURE, 0.3
)
REGAIN = Asked("regain_out", "regain_out_frac", say("Regain wanted"), GAIN, 0.5)

_KEY_OF = {
    "feed_m_per_s": FEED.key,
    "feed": FEED.key,
    "belt_m_per_s": BELT.key,
    "steam_c": STEAM.key,
    "steam temperature": STEAM.key,
    "dryer_c": DRYER.key,
    "air temperature": DRYER.key,
    "regain_wanted_frac": REGAIN.key,
}
_FASTEST_M_PER_S = {FEED.key: 100.0, BELT.key: 10.0}
"""What the room takes at most [m/s]; it says so without a unit."""


@dataclass(frozen=True, slots=True)
class Asking:
    """What a page asks beside ball, dye lot and line.

    Attributes
    ----------
    of_line, of_yarn : tuple of Asked
        Inputs of the line and of the yarn.
    doubted, limited : bool
        Whether it shows how sure the regain is, and what limits the speed.
    belt_along : bool
        Whether a feed that is tried takes the belt with it, so that the lay stays as it is. A
        program says both, as the options of the command do.
    """

    of_line: tuple[Asked, ...]
    of_yarn: tuple[Asked, ...] = ()
    doubted: bool = True
    limited: bool = True
    belt_along: bool = True

    @property
    def keys(self) -> tuple[str, ...]:
        """Everything that can be asked."""
        return ("ball", "lot", "line", *(one.key for one in self.of_line + self.of_yarn))


STEAM_ASKS = Asking((FEED, BELT, STEAM), doubted=False, limited=False)
DRY_ASKS = Asking((FEED, BELT, DRYER), (REGAIN,))
API_ASKS = Asking((FEED, BELT, STEAM, DRYER), (REGAIN,), belt_along=False)


@dataclass(frozen=True, slots=True)
class HeatPage:
    """What a page was asked, with its answer.

    Attributes
    ----------
    chosen : Chosen
        What was chosen, with what was typed in place.
    entries : tuple of Entry
        Inputs to try.
    faults : tuple of Fault
        What is wrong with them.
    answer : HeatBalance or None
        Steam and drying, a `HeatAnswer` where the page shows how sure that is; none while something
        is wrong.
    limits : SpeedLimits or None
        What limits the speed; none while something is wrong, and where it is not shown.
    tried_words : tuple of str
        Sentences that name what was tried beside the mill file's own; none when nothing was.
    """

    chosen: Chosen
    entries: tuple[Entry, ...]
    faults: tuple[Fault, ...]
    answer: HeatBalance | None
    limits: SpeedLimits | None
    tried_words: tuple[str, ...] = ()

    def typed(self, *keys: str) -> dict[str, str]:
        """What was typed and differs from the mill file, of some inputs."""
        return {one.key: one.text for one in self.entries if one.moved and one.key in keys}


def open_heat(mill: Mill, asked: Mapping[str, str], units: UnitSystem, asking: Asking) -> HeatPage:
    """Answer a page on steam and drying.

    Parameters
    ----------
    mill : Mill
        The mill.
    asked : mapping of str to str
        What the address says: ``ball``, ``lot``, ``line`` and the inputs to try.
    units : {"metric", "yard"}
        The reader's system of units.
    asking : Asking
        What the page asks.

    Returns
    -------
    HeatPage
        The page's content. A dye lot of another yarn than the ball's is a fault on the page.

    Raises
    ------
    BadInput
        When a ball, dye lot or line is not in the mill file.
    """
    chosen = choose(mill, asked)
    line, yarn = chosen.line, chosen.yarn
    tried_line, entries, faults = read_entries(asking.of_line, line, asked, units)
    tried_yarn, more, others = read_entries(asking.of_yarn, yarn, asked, units)
    assert isinstance(tried_line, Line)
    assert isinstance(tried_yarn, Yarn)
    entries, faults = entries + more, faults + others
    moved = {one.key for one in entries if one.moved}
    along = asking.belt_along and FEED.key in moved and BELT.key not in moved
    if along:
        tried_line = _with_belt_along(line, tried_line)
    answer: HeatBalance | None = None
    limits = None
    if not faults:
        tried = mill_with(mill, line=(line, tried_line), yarn=(yarn, tried_yarn))
        names = (line.name, chosen.ball.name, chosen.lot_name)
        try:
            terms = heat_terms(tried, *names)
            if asking.limited:
                limits = _limits(terms, winding_terms(tried, *names))
            answer = (
                _answer(terms, heat_doubts(tried, line.name)) if asking.doubted else _balance(terms)
            )
        except BadInput as bad:
            limits = None
            faults = tuple(_placed(fault, asked, units) for fault in bad.faults)
    faults = tuple(
        replace(one, expected=degrees_for(one.expected, units))
        for one in (fault_for(fault, units) for fault in faults)
    )
    return HeatPage(
        chosen=replace(chosen, yarn=tried_yarn, line=tried_line),
        entries=_in_readers_units(with_faults(entries, faults), units), faults=faults,
        answer=answer, limits=limits,
        tried_words=_tried_words(entries, line, tried_line if along else None, units),
    )  # fmt: skip


def _with_belt_along(line: Line, tried: Line) -> Line:
    """Run the belt faster or slower by as much as the feed."""
    times = tried.feed_speed_m_per_s / line.feed_speed_m_per_s
    return tried.model_copy(update={BELT.field: line.belt_speed_m_per_s * times})


def _tried_words(
    entries: tuple[Entry, ...], line: Line, along: Line | None, units: UnitSystem
) -> tuple[str, ...]:
    """Name what was tried beside the mill file's own, and the belt where the feed took it along."""
    said = [
        say("{tried} (mill file {own})", tried=one.said, own=one.mill_text)
        for one in entries
        if one.moved
    ]
    if not said:
        return ()
    words = say("Tried: {values}.", values=joined(", ", said))
    if along is None:
        return (words,)
    now, own = (show(one.belt_speed_m_per_s, SPEED, units, digits=3) for one in (along, line))
    belt = say(
        "The belt goes along at {now} (mill file {own}), the lay as it is.", now=now, own=own
    )
    return (words, belt)


def _in_readers_units(entries: tuple[Entry, ...], units: UnitSystem) -> tuple[Entry, ...]:
    return tuple(replace(one, fault=degrees_for(one.fault, units)) for one in entries)


def _placed(fault: Fault, asked: Mapping[str, str], units: UnitSystem) -> Fault:
    """Name the input a fault of the room is about, and say the room's bare limits with a unit."""
    key = _KEY_OF.get(fault.key)
    if key is None:
        return fault
    typed = asked.get(key, "").strip()[:80]
    placed = replace(fault, key=key, value=repr(typed) if typed else fault.value)
    if fault.what == THIN_LAY:
        return placed
    if key in _FASTEST_M_PER_S:
        unit = SPEED.metric if units == "metric" else SPEED.yard
        most = figure(f"{number(_FASTEST_M_PER_S[key] / SPEED.units[unit], 4)} {unit}")
        return replace(placed, expected=say("more than 0, at most {most}", most=most))
    if key == REGAIN.key:
        return replace(placed, expected=say("at least 0 %, at most 100 %"))
    return placed


@lru_cache(maxsize=128)
def _answer(terms: HeatTerms, doubts: HeatDoubts) -> HeatAnswer:
    """Work an answer out once for a page, its parts and the JSON beside it."""
    return heat_answer(terms, doubts, draws=DRAWS, seed=SEED)


@lru_cache(maxsize=128)
def _balance(terms: HeatTerms) -> HeatBalance:
    return heat_balance(terms)


@lru_cache(maxsize=128)
def _limits(terms: HeatTerms, winding: WindingTerms) -> SpeedLimits:
    return speed_limits(terms, winding)
