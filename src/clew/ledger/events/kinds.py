"""Every kind of event the ledger takes: what it says, what it must name, what is plausible.

One table: the reader, the JSON Schema, the description for message brokers, the data dictionary
and the entry forms are all made from it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal

from clew.languages import say

FieldType = Literal["number", "whole", "text", "yes", "texts", "numbers"]
"""``yes`` is true or false, ``texts`` a list of texts, ``numbers`` numbers by winder."""
Where = Literal["lane", "line", "either", "mill"]
"""What a kind belongs to: one lane, the whole line, either (lane 0: the line), no line at all."""
Name = Literal["ball", "run", "cone", "lot", "package", "token"]

LONGEST_TEXT = 2_000
"""Characters in a text field."""
LONGEST_NAME = 120
"""Characters in a name, a key or a source."""
MOST_IN_LIST = 2_000


@dataclass(frozen=True, slots=True)
class FieldOf:
    """One field in an event's body.

    Attributes
    ----------
    name : str
        Its key, with its unit.
    type : str
        What it holds.
    words : str
        What it says.
    must : bool
        Whether an event without it is refused.
    low, high : float or None
        Outside these a reading is kept and flagged.
    among : tuple of str
        The only texts it may hold; any where empty.
    """

    name: str
    type: FieldType
    words: str
    must: bool = False
    low: float | None = None
    high: float | None = None
    among: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class KindOf:
    """One kind of event.

    Attributes
    ----------
    words : str
        What happened.
    where : str
        What it belongs to.
    must : tuple of str
        Names it cannot be without.
    may : tuple of str
        Other names it may carry.
    fields : tuple of FieldOf
        What else it says.
    by_hand : bool
        Whether a hand enters it; the rest comes from machines.
    of_mill : bool
        Whether it may stand in the mill's own chain too, where its line is said to be ``(mill)``.
    """

    words: str
    where: Where
    must: tuple[Name, ...] = ()
    may: tuple[Name, ...] = ()
    fields: tuple[FieldOf, ...] = ()
    by_hand: bool = False
    of_mill: bool = False

    def field(self, name: str) -> FieldOf | None:
        """Find a field by name."""
        return next((one for one in self.fields if one.name == name), None)


_F = FieldOf
_METRES = _F("metres", "number", say("the feed's counter, before steam [m]"), low=0.0, high=1e7)
_COUNTS = _F("counts", "number", say("what the winder's own counter shows"), low=0.0, high=1e6)
_WHY = _F("why", "text", say("why, in words"))
_NOTE = _F("note", "text", say("what else is worth knowing"))
_CALL_LOW = _F("call_low_g", "number", say("call the lead below this [g]"), low=0.0, high=2e4)
_CALL_HIGH = _F("call_high_g", "number", say("call the lead above this [g]"), low=0.0, high=2e4)
_MASS = _F("mass_g", "number", say("mass [g]"), must=True, low=1.0, high=20_000.0)

_KINDS: Mapping[str, KindOf] = {
    # What machines report of the strand.
    "turns": KindOf(
        say("the winder's counter was read"), "lane", may=("ball",),
        fields=(_F("counts", "number", say("what it shows"), must=True, low=0.0, high=1e6),),
    ),
    "feed": KindOf(
        say("the feed's counter was read"), "lane",
        fields=(_F("metres", "number", say("before steam [m]"), must=True, low=0.0, high=1e7),),
    ),
    "feed on": KindOf(say("the feed of a lane went on"), "lane"),
    "feed off": KindOf(say("the feed of a lane stood still"), "lane"),
    "belt on": KindOf(say("the belt went on"), "line"),
    "belt off": KindOf(say("the belt stood still"), "line"),
    "dry": KindOf(say("a winder ran out of strand"), "lane", may=("ball",), fields=(_COUNTS,)),
    "full": KindOf(say("a lane's buffer was full"), "lane", may=("ball",), fields=(_COUNTS,)),
    "content": KindOf(
        say("the strand in a lane was measured"), "lane",
        fields=(_F("metres", "number", say("from creel to winder, before steam [m]"), must=True,
                   low=0.0, high=1e6),),
    ),
    # At the creel.
    "cone loaded": KindOf(
        say("a cone was put on the creel"), "lane", must=("cone",), may=("lot",), by_hand=True,
        fields=(
            _F("place", "whole", say("place on the lane's creel, from 1"), low=1, high=64),
            _F("spinner", "text", say("who spun it")),
            _F("cone_mass_g", "number", say("yarn on it [g]"), low=20.0, high=20_000.0),
            _F("joins", "whole", say("joins known to be on it"), low=0, high=500),
            _NOTE,
        ),
    ),
    "tie": KindOf(
        say("a cone's tail was tied to the next one's head, or that tie passed the feed"), "lane",
        may=("cone", "lot"), by_hand=True,
        fields=(_METRES, _F("name", "text", say("the tie's own name")),
                _F("cone_off", "text", say("the cone that ends")), _NOTE),
    ),
    "cone off": KindOf(
        say("a part cone was taken off, back to stock or to waste"), "lane", must=("cone",),
        may=("lot",), by_hand=True,
        fields=(_F("cone_mass_g", "number", say("yarn left on it [g]"), low=0.0, high=20_000.0),
                _F("to", "text", say("where it went"), among=("stock", "waste")), _WHY),
    ),
    "colour": KindOf(
        say("the next colour or dye lot was tied on"), "lane", must=("lot",), may=("cone",),
        by_hand=True, fields=(_METRES, _F("name", "text", say("what comes on")), _NOTE),
    ),
    # Where the strand parts.
    "retie": KindOf(
        say("the strand parted and was tied again"), "lane", may=("ball",), by_hand=True,
        fields=(
            _F("parted_at", "text", say("where it parted"), among=("feed", "winder")),
            _METRES, _COUNTS, _F("name", "text", say("the tie's own name")), _NOTE,
        ),
    ),
    "seen": KindOf(
        say("a tie was seen at the winder"), "lane", may=("ball",), by_hand=True,
        fields=(_COUNTS, _F("name", "text", say("the tie that was seen"))),
    ),
    "waste": KindOf(
        say("strand went past the ball"), "lane", by_hand=True,
        fields=(_F("metres", "number", say("as wound [m]"), must=True, low=0.0, high=1e5), _WHY),
    ),
    # At the row.
    "doff": KindOf(
        say("a full ball was taken off"), "lane", may=("ball", "token"), by_hand=True,
        fields=(_COUNTS,),
    ),
    "pulled": KindOf(
        say("a ball was pulled out of first quality"), "lane", may=("ball", "token"), by_hand=True,
        fields=(_F("to", "text", say("where it went"), among=("second-quality", "rework", "waste")),
                _F("mass_g", "number", say("its mass [g]"), low=0.0, high=20_000.0), _WHY),
    ),
    "rework": KindOf(
        say("yarn of balls was wound back and went to stock"), "either",
        may=("ball", "token", "cone", "lot"), by_hand=True,
        fields=(_F("mass_g", "number", say("yarn won back [g]"), low=0.0, high=1e6),
                _F("balls", "whole", say("balls it came from"), low=0, high=10_000), _WHY),
    ),
    "weighing": KindOf(
        say("a ball was weighed"), "lane", may=("ball", "token", "lot"), by_hand=True,
        fields=(_MASS, _F("gross", "yes", say("whether band and all else was weighed with it")),
                _F("scale", "text", say("which scale")), _NOTE),
    ),
    "length check": KindOf(
        say("a ball was reeled for its length"), "lane", may=("ball", "token", "lot"), by_hand=True,
        fields=(_F("length_m", "number", say("length [m]"), must=True, low=1.0, high=20_000.0),
                _F("mass_g", "number", say("its mass before [g]"), low=1.0, high=20_000.0), _NOTE),
    ),
    "banded": KindOf(
        say("a ball got its band"), "lane", may=("ball", "token", "lot"), by_hand=True,
        fields=(_F("code", "text", say("code printed on the band")),),
    ),
    # The run and the shift.
    "run start": KindOf(
        say("a run was started from its card"), "line", must=("run", "lot"), by_hand=True,
        fields=(
            _F("ball_name", "text", say("the ball that is made"), must=True),
            _F("turns", "whole", say("flyer turns in a ball"), low=1, high=1_000_000),
            _F("counts", "numbers", say("counter setting, by winder"), low=0.0, high=1e6),
            _F("target_g", "number", say("mass aimed at [g]"), low=1.0, high=20_000.0),
            _CALL_LOW, _CALL_HIGH,
            _F("card", "text", say("fingerprint of the run card")),
            _F("trial", "yes", say("whether its balls are not for sale")),
            _F("order", "text", say("order it is made for")), _NOTE,
        ),
    ),
    "run set": KindOf(
        say("a setting was changed during a run"), "line", must=("run",), by_hand=True,
        fields=(
            _F("counts", "numbers", say("counter setting, by winder"), low=0.0, high=1e6),
            _F("turns", "whole", say("flyer turns in a ball"), low=1, high=1_000_000),
            _F("target_g", "number", say("mass aimed at [g]"), low=1.0, high=20_000.0),
            _CALL_LOW, _CALL_HIGH,
            _F("feed_m_per_s", "number", say("feed speed [m/s]"), low=0.1, high=50.0),
            _F("belt_m_per_s", "number", say("belt speed [m/s]"), low=0.0001, high=5.0),
            _F("steam_c", "number", say("steam [°C]"), low=20.0, high=160.0),
            _F("dryer_c", "number", say("dryer [°C]"), low=20.0, high=200.0), _WHY,
        ),
    ),
    "run end": KindOf(
        say("a run ended"), "line", must=("run",), by_hand=True, fields=(_WHY, _NOTE)
    ),
    "stop": KindOf(
        say("a lane, or the line, was stopped"), "either", by_hand=True,
        fields=(_F("why", "text", say("the reason"), must=True),),
    ),
    "go on": KindOf(say("a lane, or the line, went on"), "either", by_hand=True, fields=(_NOTE,)),
    "check": KindOf(
        say("the line was looked over at start-up or shut-down"), "line", by_hand=True,
        fields=(
            _F("what", "text", say("which look"), must=True, among=("start-up", "shut-down")),
            _F("done", "texts", say("what was found in order")),
            _F("not_done", "texts", say("what was not")), _NOTE,
        ),
    ),
    "handover": KindOf(
        say("a shift was handed over"), "line", by_hand=True,
        fields=(_F("note", "text", say("what the next lead must know"), must=True),
                _F("to", "text", say("who took it over"))),
    ),
    "at the tablet": KindOf(
        say("somebody else stands at the tablet"), "line", by_hand=True,
        fields=(_F("hand", "text", say("who"), must=True),),
    ),
    "note": KindOf(
        say("something worth keeping"), "either",
        may=("ball", "run", "cone", "lot", "package", "token"), by_hand=True,
        fields=(_F("note", "text", say("what"), must=True),),
    ),
    # Lots, cases and pallets.
    "lot decision": KindOf(
        say("a lot was released, held, sent to rework or refused"), "mill", must=("lot",),
        may=("run",), by_hand=True,
        fields=(
            _F("decision", "text", say("what was decided"), must=True,
               among=("release", "hold", "rework", "refuse")),
            _F("certificate", "text", say("fingerprint of the certificate")), _WHY,
        ),
    ),
    "case closed": KindOf(
        say("a case was closed"), "line", must=("package", "lot"), may=("run",), by_hand=True,
        fields=(
            _F("ball_name", "text", say("what is in it")),
            _F("balls", "whole", say("how many"), must=True, low=1, high=10_000),
            _F("from", "text", say("moment its first ball was banded, ISO 8601")),
            _F("upto", "text", say("moment its last ball was banded, ISO 8601")),
            _F("tokens", "texts", say("tokens of its balls, where they carry any")),
            _F("gtin", "text", say("the case's GTIN")),
            _F("lots", "texts", say("all dye lots in it, where there are several")),
            _F("order", "text", say("order it is packed for")),
        ),
    ),
    "pallet closed": KindOf(
        say("a pallet was closed"), "mill", must=("package",), by_hand=True,
        fields=(_F("cases", "texts", say("the cases on it"), must=True),),
    ),
    "shipped": KindOf(
        say("a case or pallet left the mill"), "mill", must=("package",), by_hand=True,
        fields=(_F("customer", "text", say("to whom"), must=True),
                _F("delivery", "text", say("delivery note")), _F("order", "text", say("order"))),
    ),
    "returned": KindOf(
        say("a customer sent balls back"), "mill", may=("lot", "package"), by_hand=True,
        fields=(_F("customer", "text", say("who")),
                _F("balls", "whole", say("how many"), low=1, high=1e6),
                _F("code", "text", say("code on the band")), _WHY),
    ),
    # Amends.
    "correction": KindOf(
        say("an earlier event was wrong"), "either", by_hand=True, of_mill=True,
        fields=(
            _F("of_seq", "whole", say("its place in the chain of the same line"), must=True, low=1),
            _F("void", "yes", say("whether it did not happen at all")),
            _F("change", "text", say("what was wrong, as a JSON object: fields, names, at")),
            _F("why", "text", say("why"), must=True),
        ),
    ),
}  # fmt: skip


def _with_note(of: KindOf) -> KindOf:
    """Let every kind carry a note: what is typed in from a sheet later has one."""
    return of if of.field("note") is not None else replace(of, fields=(*of.fields, _NOTE))


KINDS: Mapping[str, KindOf] = {kind: _with_note(of) for kind, of in _KINDS.items()}
"""Kinds of event, in the order in which the strand passes."""

TRACKED = (
    "feed", "feed on", "feed off", "belt on", "belt off", "tie", "retie", "colour", "turns",
    "doff", "waste", "content", "seen", "dry", "full",
)  # fmt: skip
"""Kinds that the tie tracker follows: `clew.line.tracker.events.KINDS`."""
