"""Reading one message: a flat JSON object becomes a checked `Message`, or plain faults."""

from __future__ import annotations

import hashlib
import math
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.ledger.events.kinds import (
    KINDS,
    LONGEST_NAME,
    LONGEST_TEXT,
    MOST_IN_LIST,
    FieldOf,
    KindOf,
)
from clew.ledger.events.message import MILL_LINE, MILL_WORD, NO_LANE, Message
from clew.ledger.events.moments import read_moment
from clew.ledger.events.plausible import implausible

HEAD = ("line", "kind", "at", "source", "key", "author", "lane")
NAMES = ("ball", "run", "cone", "lot", "package", "token")
MOST_LANES = 64
LARGEST_WHOLE = 2**53
"""Whole numbers beyond this are not the same in every program that reads JSON."""


@dataclass(frozen=True, slots=True)
class Sender:
    """Who hands a message in, and what is said where the message does not say it.

    Attributes
    ----------
    source : str
        Stands where the message names no source; before the source it names.
    author : str
        Person who vouches; stands over whatever the message says, where it is not empty.
    line : str
        Line where the message names none.
    zone : str
        Time zone of moments without an offset; without a zone such a moment is refused.
    at_us : int or None
        Moment where the message names none [us]; without it such a message is refused.
    key : str
        Key where the message has none; without it such a message is refused.
    """

    source: str
    author: str = ""
    line: str = ""
    zone: str = ""
    at_us: int | None = None
    key: str = ""


def read_message(found: object, sender: Sender) -> Message:
    """Read one message.

    Parameters
    ----------
    found : object
        What a JSON parser made of it: a flat object with ``line``, ``kind``, ``at``, ``key``,
        ``lane``, the names it carries and the fields of its kind.
    sender : Sender
        Who hands it in.

    Returns
    -------
    Message
        Checked; a reading outside what is plausible is flagged.

    Raises
    ------
    BadInput
        Everything that is wrong with it, at once.
    """
    if not isinstance(found, Mapping):
        raise BadInput(Fault(say("no message"), say('an object such as {{"kind": "doff", ...}}')))
    return _Reading(found, sender).message()


class _Reading:
    """One message while it is read: what is wrong with it gathers."""

    def __init__(self, found: Mapping[Any, Any], sender: Sender) -> None:
        self.found, self.sender = found, sender
        self.faults: list[Fault] = []
        self.flags: list[str] = []

    def wrong(self, key: str, what: str, expected: str) -> None:
        value = self.found.get(key)
        shown = "" if value is None else repr(value)[:60]
        self.faults.append(Fault(what, expected, key=key, value=shown))

    def message(self) -> Message:
        kind = self.kind()
        at_us = self.at_us()
        key = self.name("key") or self.sender_key()
        if not key and "key" not in [one.key for one in self.faults]:
            self.wrong(
                "key", say("no key"), say("the sender's own key of this message, new for each")
            )
        source = self.source()
        author = self.sender.author or self.name("author")
        of = KINDS[kind] if kind else None
        line = self.line(of)
        lane = self.lane(of)
        names = {name: self.name(name) for name in NAMES if name != "ball"}
        ball = self.ball()
        body = {} if of is None else self.body(of)
        if of is not None:
            self.check_names(kind, of, names, ball)
        if self.faults or at_us is None:
            raise BadInput(self.faults)
        return Message(
            line, kind, at_us, source, key, author, lane, ball,
            names["run"], names["cone"], names["lot"], names["package"], names["token"],
            body, (*self.flags, *implausible(kind, body)),
        )  # fmt: skip

    def kind(self) -> str:
        said = self.found.get("kind")
        wanted = (
            " ".join(said.replace("_", " ").casefold().split()) if isinstance(said, str) else ""
        )
        if wanted in KINDS:
            return wanted
        self.wrong(
            "kind", say("no kind of event") if said is None else say("no such kind of event"),
            say("one of {names}", names=", ".join(KINDS)),
        )  # fmt: skip
        return ""

    def at_us(self) -> int | None:
        said = self.found.get("at")
        if said is None:
            if self.sender.at_us is None:
                self.wrong("at", say("no moment"), say("such as 2026-03-29T05:40:00Z"))
            return self.sender.at_us
        try:
            moment = read_moment(said, self.sender.zone)
        except BadInput as bad:
            self.wrong("at", bad.faults[0].what, bad.faults[0].expected)
            return None
        self.flags += moment.flags
        return moment.at_us

    def sender_key(self) -> str:
        key = self.sender.key
        if len(key) <= LONGEST_NAME and is_plain(key):
            return key.strip()
        self.wrong(
            "key",
            say("no name"),
            say("text on one line, at most {most} characters", most=LONGEST_NAME),
        )
        return ""

    def source(self) -> str:
        said = self.name("source")
        if not said or said == self.sender.source:
            return self.sender.source
        joined = f"{self.sender.source}/{said}"
        if said.startswith(f"{self.sender.source}/"):
            return said
        if len(joined) > LONGEST_NAME:  # only cut off, two machines could become one
            mark = hashlib.sha256(joined.encode()).hexdigest()[:12]
            return f"{joined[: LONGEST_NAME - 13]}~{mark}"
        return joined

    def line(self, of: KindOf | None) -> str:
        if of is not None and of.where == "mill":
            return MILL_LINE
        line = self.name("line") or self.sender.line
        if line == MILL_WORD and of is not None and of.of_mill:
            if self.found.get("lane") not in (None, NO_LANE):
                self.wrong("lane", say("a lane of the mill's own chain"), say("none, or 0"))
            return MILL_LINE
        if not line and of is not None:
            wanted = (
                say("the name of a line, or {mill} for the mill's own chain", mill=MILL_WORD)
                if of.of_mill
                else say("the name of a line")
            )
            self.wrong("line", say("no line"), wanted)
        return line

    def lane(self, of: KindOf | None) -> int:
        said: Any = self.found.get("lane")
        if of is None or (said is None and of.where != "lane"):
            return NO_LANE
        lowest = 1 if of.where == "lane" else 0
        highest = MOST_LANES if of.where in ("lane", "either") else 0
        if _is_whole(said) and lowest <= said <= highest:
            return int(said)
        self.wrong(
            "lane",
            say("no lane"),
            say("{lowest} to {highest}", lowest=lowest, highest=highest)
            if highest
            else say("none, or 0"),
        )
        return NO_LANE

    def ball(self) -> int | None:
        said = self.found.get("ball")
        if said is None:
            return None
        if not _is_whole(said) or not 0 <= int(said) <= LARGEST_WHOLE:
            self.wrong("ball", say("no number of a ball"), say("a whole number"))
            return None
        return int(said)

    def name(self, key: str) -> str:
        said = self.found.get(key)
        if said is None:
            return ""
        if isinstance(said, str) and len(said) <= LONGEST_NAME and is_plain(said):
            return said.strip()
        self.wrong(
            key,
            say("no name"),
            say("text on one line, at most {most} characters", most=LONGEST_NAME),
        )
        return ""

    def check_names(
        self, kind: str, of: KindOf, names: Mapping[str, str], ball: int | None
    ) -> None:
        there: set[str] = {name for name, value in names.items() if value}
        if ball is not None:
            there.add("ball")
        for name in of.must:
            if name not in there and name not in [one.key for one in self.faults]:
                self.wrong(
                    name,
                    say('"{kind}" without its {name}', kind=kind, name=name),
                    say("the {name}", name=name),
                )
        for other in sorted(there - {*of.must, *of.may}):
            self.wrong(
                other, say('"{kind}" names no {other}', kind=kind, other=other), say("nothing here")
            )

    def body(self, of: KindOf) -> dict[str, Any]:
        known = {*HEAD, *NAMES, *(one.name for one in of.fields)}
        for key in self.found:
            if key not in known:
                names = ", ".join(one.name for one in of.fields) or say("none")
                self.faults.append(
                    Fault(
                        say("no such field"), say("one of {names}", names=names), key=str(key)[:60]
                    )
                )
        body: dict[str, Any] = {}
        for field in of.fields:
            said = self.found.get(field.name)
            if said is None:
                if field.must:
                    self.wrong(field.name, say("missing"), field.words)
                continue
            value = self.value(field, said)
            if value is not None:
                body[field.name] = value
        return body

    def value(self, field: FieldOf, said: object) -> Any:
        if field.type in ("number", "whole"):
            return self.number(field, said)
        if field.type == "yes":
            if isinstance(said, bool):
                return said
            self.wrong(field.name, say("neither yes nor no"), say("true or false"))
        elif field.type == "text":
            if isinstance(said, str) and len(said) <= LONGEST_TEXT and is_plain(said, lines=True):
                text = said.strip()
                if not field.among or text in field.among:
                    if text or not field.must:
                        return text or None
                    self.wrong(field.name, say("missing"), field.words)
                else:
                    self.wrong(
                        field.name,
                        say("none of its words"),
                        say("one of {words}", words=", ".join(field.among)),
                    )
            else:
                self.wrong(
                    field.name,
                    say("no text"),
                    say("text of at most {most} characters", most=LONGEST_TEXT),
                )
        elif field.type == "texts":
            texts = said if isinstance(said, list) else None
            if (
                texts is not None
                and len(texts) <= MOST_IN_LIST
                and all(
                    isinstance(one, str) and len(one) <= LONGEST_NAME and is_plain(one)
                    for one in texts
                )
            ):
                return [one.strip() for one in texts]
            self.wrong(
                field.name,
                say("no list of texts"),
                say("at most {most} short texts", most=MOST_IN_LIST),
            )
        else:
            return self.numbers(field, said)
        return None

    def number(self, field: FieldOf, said: Any) -> float | int | None:
        usable = isinstance(said, (int, float)) and not isinstance(said, bool)
        if usable and _is_usable(said) and (field.type == "number" or _is_whole(said)):
            # 100 and 100.0 are one reading: a repeated message has one text
            return int(said) if field.type == "whole" else float(said)
        if field.type == "whole":
            expected = say("a whole number: {what}", what=field.words)
            self.wrong(field.name, say("not a whole number"), expected)
        else:
            expected = say("a number: {what}", what=field.words)
            self.wrong(field.name, say("not a number"), expected)
        return None

    def numbers(self, field: FieldOf, said: object) -> dict[str, float] | None:
        usable = isinstance(said, Mapping) and len(said) <= MOST_LANES and all(
            isinstance(name, str) and name.isascii() and name.isdecimal() and len(name) <= 4
            and isinstance(value, (int, float)) and not isinstance(value, bool)
            and _is_usable(value)
            for name, value in said.items()
        )  # fmt: skip
        if not usable:
            self.wrong(
                field.name, say("no numbers by winder"), say('such as {{"1": 985, "2": 985}}')
            )
            return None
        assert isinstance(said, Mapping)
        return {name: float(value) for name, value in said.items()}


def _is_usable(value: float) -> bool:
    return abs(value) <= LARGEST_WHOLE and math.isfinite(value)


def _is_whole(value: object) -> bool:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return False
    return _is_usable(value) and value == int(value)


def is_plain(text: str, *, lines: bool = False) -> bool:
    """Say whether a text holds no control characters and no half of a character.

    Parameters
    ----------
    text : str
        The text.
    lines : bool
        Whether it may have several lines.
    """
    allowed = "\n\t" if lines else ""
    return all(unicodedata.category(one) not in ("Cc", "Cs") or one in allowed for one in text)
