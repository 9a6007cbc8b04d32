"""What hands at the creel and the row enter: one deed a button, typed words become a message."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Any, Literal

from clew.faults import BadInput, Fault
from clew.ledger.events.message import Message
from clew.ledger.events.moments import local_of, us_of
from clew.ledger.events.reading import Sender, read_message
from clew.quantities import LENGTH, MASS, Kind, read_quantity

Ask = Literal["text", "mass", "length", "whole", "choice", "lot", "long"]
Place = Literal["creel", "row", "line"]


@dataclass(frozen=True, slots=True)
class Asked:
    """One thing that a deed asks for.

    Attributes
    ----------
    name : str
        Name of the message, or field of the kind, that it fills.
    words : str
        Label.
    ask : str
        How it is typed.
    must : bool
        Whether the deed cannot be without it.
    among : tuple of str
        What can be chosen.
    """

    name: str
    words: str
    ask: Ask = "text"
    must: bool = False
    among: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Deed:
    """One thing a hand does, as a button says it.

    Attributes
    ----------
    key : str
        Name in a form.
    words : str
        What the button says.
    kind : str
        Kind of event it becomes.
    place : str
        Where hands do it; of the line as a whole, no lane is asked for.
    fixed : mapping of str to value
        Fields that the button itself fills.
    asked : tuple of Asked
        What is typed; none where one touch is enough.
    """

    key: str
    words: str
    kind: str
    place: Place
    fixed: Mapping[str, Any] = field(default_factory=dict)
    asked: tuple[Asked, ...] = ()


WHY_STOPPED = (
    "no cones", "strand parted", "wrap round a roller", "winder fault", "colour change", "cleaning",
    "steam or dryer", "safety", "break or meal", "other",
)  # fmt: skip
WHY_PULLED = ("too many knots", "too light", "too heavy", "soiled", "bad shape", "wrong dye lot")

START_UP = (
    "Guards closed, emergency stops tried",
    "Steam at its pressure, no leak, drain open and shut again",
    "Dryer at its temperature, nothing lies on it",
    "Counters set as the run card says",
    "Scale shows nothing when empty, and a known weight rightly",
    "Cones on the creel are of the run's dye lot",
    "Floor dry, walkways clear",
)
"""Looked over before a line starts: common practice, no published source."""
SHUT_DOWN = (
    "Steam shut and drained",
    "Dryer cooling, its fan on",
    "Belt and buffers run empty, or noted",
    "Part cones labelled and back in stock",
    "Open case and loose balls labelled",
    "Winders stopped and locked out",
    "Waste weighed and away",
)
"""Looked over before a line is left: common practice, no published source."""

_CONE = Asked("cone", "Cone", must=True)
_LOT = Asked("lot", "Dye lot", "lot")
_LEFT = Asked("cone_mass_g", "Yarn on it", "mass")

DEEDS: tuple[Deed, ...] = (
    Deed("load", "Cone loaded", "cone loaded", "creel",
         asked=(_CONE, _LOT, _LEFT, Asked("joins", "Joins known on it", "whole"))),
    Deed("tie", "Tie", "tie", "creel", asked=(Asked("cone", "Cone that comes on"),)),
    Deed("break-feed", "Break at the feed", "retie", "creel", {"parted_at": "feed"}),
    Deed("colour", "Dye lot tied on", "colour", "creel",
         asked=(Asked("lot", "Dye lot that comes on", "lot", must=True),)),
    Deed("cone-off", "Part cone off", "cone off", "creel",
         asked=(_CONE, _LEFT, Asked("to", "To", "choice", must=True, among=("stock", "waste")))),
    Deed("doff", "Doff", "doff", "row"),
    Deed("break-winder", "Break at the winder", "retie", "row", {"parted_at": "winder"}),
    Deed("seen", "Tie seen", "seen", "row"),
    Deed("pulled", "Ball pulled", "pulled", "row",
         asked=(Asked("why", "Why", "choice", must=True, among=WHY_PULLED),
                Asked("to", "To", "choice", must=True,
                      among=("second-quality", "rework", "waste")))),
    Deed("weighed", "Ball weighed", "weighing", "row",
         asked=(Asked("mass_g", "Scale shows", "mass", must=True),)),
    Deed("reeled", "Ball reeled", "length check", "row",
         asked=(Asked("length_m", "Length", "length", must=True),
                Asked("mass_g", "Its mass before", "mass"))),
    Deed("stop", "Stop", "stop", "row",
         asked=(Asked("why", "Why", "choice", must=True, among=WHY_STOPPED),)),
    Deed("go-on", "Goes on", "go on", "row"),
    Deed("stop-line", "Line stops", "stop", "line",
         asked=(Asked("why", "Why", "choice", must=True, among=WHY_STOPPED),)),
    Deed("line-goes-on", "Line goes on", "go on", "line"),
    Deed("rework", "Rework to stock", "rework", "line",
         asked=(Asked("mass_g", "Yarn won back", "mass"), Asked("balls", "From balls", "whole"),
                _LOT, Asked("why", "Why"))),
    Deed("handover", "Hand the shift over", "handover", "line",
         asked=(Asked("note", "What the next lead must know", "long", must=True),
                Asked("to", "To whom"))),
    Deed("note", "Note", "note", "line", asked=(Asked("note", "What", "long", must=True),)),
)  # fmt: skip
"""All buttons, in the order in which the strand passes."""


def deed_of(key: str) -> Deed:
    """Find a deed by its name in a form; raises `BadInput`."""
    for deed in DEEDS:
        if deed.key == key:
            return deed
    names = ", ".join(deed.key for deed in DEEDS)
    raise BadInput(Fault("no such deed", f"one of {names}", key="deed", value=repr(key)[:40]))


def message_of_deed(
    deed: Deed, typed: Mapping[str, str], sender: Sender, *, lane: int | None
) -> Message:
    """Make a message of a button and what was typed beside it.

    Parameters
    ----------
    deed : Deed
        The button.
    typed : mapping of str to str
        What was typed, by name; empty texts count as not typed.
    sender : Sender
        Who, where, when: its moment and key are those of the press.
    lane : int or None
        Lane; None where the deed is of the whole line.

    Returns
    -------
    Message
        Checked like every other.

    Raises
    ------
    BadInput
        Everything that is wrong with what was typed, at once.
    """
    faults: list[Fault] = []
    found: dict[str, Any] = {"kind": deed.kind, **deed.fixed}
    if deed.place != "line":
        if lane is None:
            faults.append(Fault("no lane", "touch the lane first", key="lane"))
        else:
            found["lane"] = lane
    for asked in deed.asked:
        text = " ".join(typed.get(asked.name, "").split()) if asked.ask != "long" else (
            typed.get(asked.name, "").replace("\r\n", "\n").strip()
        )  # fmt: skip
        if not text:
            if asked.must:
                faults.append(Fault("missing", asked.words, key=asked.name))
            continue
        try:
            found[asked.name] = _value(asked, text)
        except BadInput as bad:
            one = bad.faults[0]
            faults.append(Fault(one.what, one.expected, key=asked.name, value=repr(text)[:40]))
    if faults:
        raise BadInput(faults)
    return read_message(found, sender)


_UNITS: Mapping[str, tuple[Kind, str]] = {"mass": (MASS, "g"), "length": (LENGTH, "m")}


def _value(asked: Asked, text: str) -> Any:
    if asked.ask in _UNITS:
        kind, unit = _UNITS[asked.ask]
        bare = text.replace(",", ".")
        return read_quantity(f"{bare} {unit}" if _is_number(bare) else text, kind)
    if asked.ask == "whole":
        if text.isascii() and text.isdecimal() and len(text) < 10:
            return int(text)
        raise BadInput(Fault("no whole number", "a whole number"))
    if asked.ask == "choice" and text not in asked.among:
        raise BadInput(Fault("none of its words", "one of " + ", ".join(asked.among)))
    return text


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def check_message(
    what: Literal["start-up", "shut-down"], done: frozenset[int], note: str, sender: Sender
) -> Message:
    """Make a message of a look over the line.

    Parameters
    ----------
    what : {"start-up", "shut-down"}
        Which look.
    done : frozenset of int
        Places in the list of what was found in order.
    note : str
        What else there is to say.
    sender : Sender
        Who, where, when.

    Returns
    -------
    Message
        It names both what was in order and what was not.
    """
    items = START_UP if what == "start-up" else SHUT_DOWN
    found: dict[str, Any] = {
        "kind": "check",
        "what": what,
        "done": [words for place, words in enumerate(items) if place in done],
        "not_done": [words for place, words in enumerate(items) if place not in done],
    }
    if note.strip():
        found["note"] = note
    return read_message(found, sender)


def at_clock(text: str, now_us: int, zone: str) -> int:
    """Read a time of day at which something happened, the last time the clock showed it.

    Parameters
    ----------
    text : str
        Such as ``05:41`` or ``05:41:30``.
    now_us : int
        Now [us].
    zone : str
        The mill's time zone.

    Returns
    -------
    int
        The moment [us], at most a day ago.

    Raises
    ------
    BadInput
        When it is no time of day.
    """
    from clew.ledger.events.moments import read_moment

    now = local_of(now_us, zone)
    clock = text.strip()
    clock = f"0{clock}" if clock[1:2] == ":" else clock
    for days in (0, 1):
        day = (now - timedelta(days=days)).strftime("%Y-%m-%d")
        try:
            moment = read_moment(f"{day}T{clock}", zone)
        except BadInput:
            raise BadInput(Fault("no time of day", "such as 05:41", key="clock")) from None
        if moment.at_us <= now_us:
            return moment.at_us
    return us_of(now)


def deeds_at(place: Place) -> tuple[Deed, ...]:
    """Give the buttons of one place."""
    return tuple(deed for deed in DEEDS if deed.place == place)
