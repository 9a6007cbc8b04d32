"""What hands at the creel and the row enter: one deed a button, typed words become a message."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Any, Literal

from clew.faults import BadInput, Fault
from clew.languages import joined, say
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

    @property
    def choices(self) -> tuple[tuple[str, str], ...]:
        """What can be chosen: as it is kept, and in words."""
        return tuple((str(one), one) for one in self.among)


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
    say("no cones"), say("strand parted"), say("wrap round a roller"), say("winder fault"),
    say("colour change"), say("cleaning"), say("steam or dryer"), say("safety"),
    say("break or meal"), say("other"),
)  # fmt: skip
WHY_PULLED = (
    say("too many knots"),
    say("too light"),
    say("too heavy"),
    say("soiled"),
    say("bad shape"),
    say("wrong dye lot"),
)

START_UP = (
    say("Guards closed, emergency stops tried"),
    say("Steam at its pressure, no leak, drain open and shut again"),
    say("Dryer at its temperature, nothing lies on it"),
    say("Counters set as the run card says"),
    say("Scale shows nothing when empty, and a known weight rightly"),
    say("Cones on the creel are of the run's dye lot"),
    say("Floor dry, walkways clear"),
)
"""Looked over before a line starts: common practice, no published source."""
SHUT_DOWN = (
    say("Steam shut and drained"),
    say("Dryer cooling, its fan on"),
    say("Belt and buffers run empty, or noted"),
    say("Part cones labelled and back in stock"),
    say("Open case and loose balls labelled"),
    say("Winders stopped and locked out"),
    say("Waste weighed and away"),
)
"""Looked over before a line is left: common practice, no published source."""

_CONE = Asked("cone", say("Cone"), must=True)
_LOT = Asked("lot", say("Dye lot"), "lot")
_LEFT = Asked("cone_mass_g", say("Yarn on it"), "mass")

DEEDS: tuple[Deed, ...] = (
    Deed("load", say("Cone loaded"), "cone loaded", "creel",
         asked=(_CONE, _LOT, _LEFT, Asked("joins", say("Joins known on it"), "whole"))),
    Deed("tie", say("Tie"), "tie", "creel", asked=(Asked("cone", say("Cone that comes on")),)),
    Deed("break-feed", say("Break at the feed"), "retie", "creel", {"parted_at": "feed"}),
    Deed("colour", say("Dye lot tied on"), "colour", "creel",
         asked=(Asked("lot", say("Dye lot that comes on"), "lot", must=True),)),
    Deed("cone-off", say("Part cone off"), "cone off", "creel",
         asked=(_CONE, _LEFT,
                Asked("to", say("Goes to"), "choice", must=True,
                      among=(say("stock"), say("waste"))))),
    Deed("doff", say("Doff"), "doff", "row"),
    Deed("break-winder", say("Break at the winder"), "retie", "row", {"parted_at": "winder"}),
    Deed("seen", say("Tie seen"), "seen", "row"),
    Deed("pulled", say("Ball pulled"), "pulled", "row",
         asked=(Asked("why", say("Why"), "choice", must=True, among=WHY_PULLED),
                Asked("to", say("Goes to"), "choice", must=True,
                      among=(say("second-quality"), say("rework"), say("waste"))))),
    Deed("weighed", say("Ball weighed"), "weighing", "row",
         asked=(Asked("mass_g", say("Scale shows"), "mass", must=True),)),
    Deed("reeled", say("Ball reeled"), "length check", "row",
         asked=(Asked("length_m", say("Length"), "length", must=True),
                Asked("mass_g", say("Its mass before"), "mass"))),
    Deed("stop", say("Stop"), "stop", "row",
         asked=(Asked("why", say("Why"), "choice", must=True, among=WHY_STOPPED),)),
    Deed("go-on", say("Goes on"), "go on", "row"),
    Deed("stop-line", say("Line stops"), "stop", "line",
         asked=(Asked("why", say("Why"), "choice", must=True, among=WHY_STOPPED),)),
    Deed("line-goes-on", say("Line goes on"), "go on", "line"),
    Deed("rework", say("Rework to stock"), "rework", "line",
         asked=(Asked("mass_g", say("Yarn won back"), "mass"),
                Asked("balls", say("From balls"), "whole"), _LOT, Asked("why", say("Why")))),
    Deed("handover", say("Hand the shift over"), "handover", "line",
         asked=(Asked("note", say("What the next lead must know"), "long", must=True),
                Asked("to", say("To whom")))),
    Deed("note", say("Note"), "note", "line",
         asked=(Asked("note", say("What"), "long", must=True),)),
)  # fmt: skip
"""All buttons, in the order in which the strand passes."""


def deed_of(key: str) -> Deed:
    """Find a deed by its name in a form; raises `BadInput`."""
    for deed in DEEDS:
        if deed.key == key:
            return deed
    names = ", ".join(deed.key for deed in DEEDS)
    raise BadInput(
        Fault(
            say("no such deed"),
            say("one of {names}", names=names),
            key="deed",
            value=repr(key)[:40],
        )
    )


def message_of_deed(
    deed: Deed, typed: Mapping[str, str], sender: Sender, *, lane: int | None
) -> Message:
    """Make a message of a button and what was typed beside it.

    Parameters
    ----------
    deed : Deed
        The button.
    typed : mapping of str to str
        What was typed, by name, numbers with a decimal point; empty texts count as not typed.
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
            faults.append(Fault(say("no lane"), say("touch the lane first"), key="lane"))
        else:
            found["lane"] = lane
    for asked in deed.asked:
        text = " ".join(typed.get(asked.name, "").split()) if asked.ask != "long" else (
            typed.get(asked.name, "").replace("\r\n", "\n").strip()
        )  # fmt: skip
        if not text:
            if asked.must:
                faults.append(Fault(say("missing"), asked.words, key=asked.name))
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
        return read_quantity(f"{text} {unit}" if _is_number(text) else text, kind)
    if asked.ask == "whole":
        if text.isascii() and text.isdecimal() and len(text) < 10:
            return int(text)
        raise BadInput(Fault(say("no whole number"), say("a whole number")))
    if asked.ask == "choice" and text not in asked.among:
        raise BadInput(
            Fault(say("none of its words"), say("one of {words}", words=joined(", ", asked.among)))
        )
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
        "done": [str(words) for place, words in enumerate(items) if place in done],
        "not_done": [str(words) for place, words in enumerate(items) if place not in done],
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
            raise BadInput(
                Fault(say("no time of day"), say("such as 05:41"), key="clock")
            ) from None
        if moment.at_us <= now_us:
            return moment.at_us
    return us_of(now)


_PLACES = (say("stock"), say("waste"), say("second-quality"), say("rework"))
_UNTOLD = say("no reason told")
_OURS = {
    str(one): one for one in (*WHY_STOPPED, *WHY_PULLED, *START_UP, *SHUT_DOWN, *_PLACES, _UNTOLD)
}


CHECK_WORDS = {"start-up": say("start-up check"), "shut-down": say("shut-down check")}
LOOKS = {"start-up": say("start-up"), "shut-down": say("shut-down")}
"""The looks over the line, in words and in a word."""
_FLAG_WORDS = {
    "late": say("late"),
    "out of order": say("told out of turn"),
    "ahead of our clock": say("ahead of our clock"),
    "clock read twice": say("clock read twice"),
}


def said_again(kept: str) -> str:
    """Say what was kept in its reader's language, where it is one of the words offered here."""
    return _OURS.get(kept, kept)


def flag_words(flag: str) -> str:
    """Say what is odd about a record in its reader's language."""
    if flag.endswith("out of range"):
        return say("a reading out of range")
    return _FLAG_WORDS.get(flag, flag)


def deeds_at(place: Place) -> tuple[Deed, ...]:
    """Give the buttons of one place."""
    return tuple(deed for deed in DEEDS if deed.place == place)
