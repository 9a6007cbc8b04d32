"""A line whose every ball is known, metre by metre; then messages go missing."""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from typing import Any

from clew.ledger.events.message import Message, Record
from clew.ledger.events.moments import show_utc
from clew.ledger.events.reading import Sender, read_message
from clew.ledger.state.effective import effective_events
from clew.ledger.state.known import Effective
from clew.ledger.store.chain import body_text
from clew.ledger.trace.transit import Transit

LINE = "Line 1"
START_US = 1_764_000_000_000_000
_US = 1_000_000


@dataclass
class TrueBall:
    """One ball as it truly was."""

    lane: int
    number: int
    doffed_us: int
    banded_us: int = 0
    cones: set[str] = field(default_factory=set)
    case: str = ""
    token: str = ""


@dataclass
class Truth:
    """What happened, and all messages of it, none missing yet."""

    balls: list[TrueBall]
    messages: list[dict[str, Any]]
    sent: dict[str, str]  # case to customer

    def ball(self, lane: int, number: int) -> TrueBall:
        """Find one."""
        return next(one for one in self.balls if (one.lane, one.number) == (lane, number))


def at(us: int) -> str:
    """Write a moment."""
    return show_utc(us)


def live(
    transit: Transit,
    *,
    ball_name: str,
    lanes: int = 2,
    hours: float = 5.0,
    seed: int = 1,
    identity: str = "rack",
    lot: str = "SL-207",
    least_s: float = 120.0,
    most_s: float = 2400.0,
) -> Truth:
    """Let a line live for some hours, second by second."""
    draw = random.Random(seed)
    balls: list[TrueBall] = []
    told: list[dict[str, Any]] = [
        {"kind": "run start", "at": at(START_US), "run": "R-1", "lot": lot, "key": "rs",
         "ball_name": ball_name, "target_g": 50.6, "order": "O-9"},
        {"kind": "check", "at": at(START_US), "what": "start-up", "done": ["guards"], "key": "ck"},
    ]  # fmt: skip
    for lane in range(1, lanes + 1):
        balls += _lane(transit, lane, hours, draw, told, lot)
    _band(balls, told, draw, identity, lot, least_s, most_s)
    sent = _pack(balls, told, draw, lot, ball_name)
    end_us = max(one.banded_us for one in balls) + 1
    told.append({"kind": "run end", "at": at(end_us), "run": "R-1", "key": "re"})
    return Truth(balls, told, sent)


def _lane(
    transit: Transit, lane: int, hours: float, draw: random.Random, told: list[dict[str, Any]],
    lot: str,
) -> list[TrueBall]:  # fmt: skip
    speed = transit.wind_m_per_s * 0.92  # the feed, in metres as wound
    hold_m = transit.most_laid_m - speed * transit.least_s  # the buffer
    cones = [f"C{lane}-{number:03d}" for number in range(400)]
    ends, total = [], 0.0
    for _ in cones:
        total += speed * transit.cone_s * draw.uniform(0.5, 1.1)
        ends.append(total)
    cone, belt_s, wound_m, paused, stood, number = 0, 0.0, 0.0, 0.0, 0.0, 1
    begun_m = 0.0
    size = transit.full_m
    found: list[TrueBall] = []
    _load(told, lane, cones[0], -60.0, lot)
    for second in range(int(hours * 3600)):
        now_us = START_US + second * _US
        arrived_m = max(0.0, speed * (belt_s - transit.least_s))
        if stood > 0.0:
            stood -= 1.0
        elif draw.random() < 0.0003:
            stood = draw.uniform(60.0, 900.0)
        elif arrived_m - wound_m < hold_m - speed:
            belt_s += 1.0
        while speed * belt_s > ends[cone]:
            cone += 1
            _load(told, lane, cones[cone], second - draw.uniform(100.0, 400.0), lot)
            told.append({"kind": "tie", "lane": lane, "at": at(now_us), "cone": cones[cone],
                         "cone_off": cones[cone - 1], "name": f"T{lane}-{cone}",
                         "key": f"tie {lane} {cone}"})  # fmt: skip
        if paused > 0.0:
            paused -= 1.0
            continue
        wound_m = min(wound_m + transit.wind_m_per_s, arrived_m) if arrived_m > wound_m else wound_m
        if wound_m - begun_m >= size:
            ball = TrueBall(lane, number, now_us)
            low, high = begun_m, wound_m
            first = [0.0, *ends]
            ball.cones = {
                name for place, name in enumerate(cones)
                if first[place] < high - 1.0 and ends[place] > low + 1.0
            }  # fmt: skip
            found.append(ball)
            counts = transit.full_counts.get(lane)
            said: dict[str, Any] = {"kind": "doff", "lane": lane, "ball": number, "at": at(now_us),
                                    "key": f"doff {lane} {number}"}  # fmt: skip
            if counts is not None:
                said["counts"] = round(counts * size / transit.full_m)
            told.append(said)
            told.append({"kind": "weighing", "lane": lane, "ball": number, "mass_g": 50.0,
                         "at": at(now_us + 30 * _US), "key": f"w {lane} {number}"})  # fmt: skip
            begun_m, number = wound_m, number + 1
            size = transit.full_m * (0.4 if draw.random() < 0.04 else draw.uniform(0.99, 1.01))
            paused = draw.uniform(5.0, 60.0)
    return found


def _load(told: list[dict[str, Any]], lane: int, cone: str, second: float, lot: str) -> None:
    told.append(
        {"kind": "cone loaded", "lane": lane, "cone": cone, "lot": lot, "spinner": "Harle",
         "at": at(START_US + int(second * _US)), "key": f"load {cone}"}
    )  # fmt: skip


def _band(
    balls: list[TrueBall], told: list[dict[str, Any]], draw: random.Random, identity: str,
    lot: str, least_s: float, most_s: float,
) -> None:  # fmt: skip
    last: dict[int, int] = {}
    tray: dict[int, tuple[str, int, int]] = {}
    for place, ball in enumerate(sorted(balls, key=lambda one: one.doffed_us)):
        wait_s = draw.uniform(least_s, 0.8 * most_s)
        if identity == "tray":
            name, count, out_us = tray.get(ball.lane, ("", 0, 0))
            if count == 0:
                name, count = f"TRAY-{place}", 10
                out_us = ball.doffed_us + int((most_s - 1.0) * _US)
            tray[ball.lane] = (name, count - 1, out_us)
            ball.token = name
            low_us = ball.doffed_us + int((least_s + 1.0) * _US)
            ball.banded_us = max(low_us, out_us - int(draw.uniform(0.0, 60.0) * _US))
        elif identity == "token":
            ball.token = f"K{place % 300}"
            ball.banded_us = ball.doffed_us + int(wait_s * _US)
        else:
            ball.banded_us = ball.doffed_us + int(wait_s * _US)
            if identity == "rack":
                ball.banded_us = max(ball.banded_us, last.get(ball.lane, 0) + _US)
                last[ball.lane] = ball.banded_us
        for one in told:
            if ball.token and one["key"] == f"doff {ball.lane} {ball.number}":
                one["token"] = ball.token
        said = {"kind": "banded", "lane": ball.lane, "lot": lot, "at": at(ball.banded_us),
                "key": f"band {ball.lane} {ball.number}"}  # fmt: skip
        if ball.token:
            said["token"] = ball.token
        told.append(said)


def _pack(
    balls: list[TrueBall], told: list[dict[str, Any]], draw: random.Random, lot: str,
    ball_name: str,
) -> dict[str, str]:  # fmt: skip
    ordered = sorted(balls, key=lambda one: one.banded_us)
    sent: dict[str, str] = {}
    cases = []
    for place in range(0, len(ordered), 20):
        part, name = ordered[place : place + 20], f"CASE-{place // 20 + 1}"
        for ball in part:
            ball.case = name
        cases.append(name)
        told.append(
            {"kind": "case closed", "package": name, "lot": lot, "balls": len(part),
             "ball_name": ball_name, "from": at(part[0].banded_us), "upto": at(part[-1].banded_us),
             "at": at(part[-1].banded_us + 60 * _US), "key": name}
        )  # fmt: skip
    end_us = ordered[-1].banded_us + 600 * _US
    for place in range(0, len(cases), 6):
        pallet = f"PAL-{place // 6 + 1}"
        customer = draw.choice(["Brannock Wools", "Tarn & Daughters"])
        sent |= dict.fromkeys(cases[place : place + 6], customer)
        told.append({"kind": "pallet closed", "package": pallet, "cases": cases[place : place + 6],
                     "at": at(end_us), "key": pallet})  # fmt: skip
        told.append({"kind": "shipped", "package": pallet, "customer": customer,
                     "delivery": f"D-{place}", "at": at(end_us + _US),
                     "key": f"s {pallet}"})  # fmt: skip
    told.append({"kind": "lot decision", "lot": lot, "decision": "release", "at": at(end_us),
                 "key": f"d {lot}"})  # fmt: skip
    return sent


def lost(
    truth: Truth, draw: random.Random, *, ties: float = 0.0, loads: float = 0.0,
    doffs: float = 0.0, bands: float = 0.0,
) -> list[dict[str, Any]]:  # fmt: skip
    """Drop messages by chance, never both the tie and the load of one cone."""
    tied = {one["cone"] for one in truth.messages if one["kind"] == "tie"}
    lost_ties = {cone for cone in sorted(tied) if draw.random() < ties}
    of_lane: dict[int, list[str]] = {}
    for ball in truth.balls:
        of_lane.setdefault(ball.lane, []).append(f"doff {ball.lane} {ball.number}")
    # a gap in the numbers shows a lost doff, so the first and last of a lane are told
    ends = {key for keys in of_lane.values() for key in (keys[0], keys[-1])}
    shares = {"cone loaded": loads, "doff": doffs, "banded": bands}
    kept = []
    for one in truth.messages:
        kind = one["kind"]
        if kind == "tie":
            stays = one["cone"] not in lost_ties
        elif (
            kind == "cone loaded" and (one["cone"] in lost_ties or one["cone"] not in tied)
        ) or one["key"] in ends:
            stays = True
        else:
            stays = draw.random() >= shares.get(kind, 0.0)
        if stays:
            kept.append(one)
    return kept


def messages_of(told: list[dict[str, Any]]) -> list[Message]:
    """Read them as the ledger does, in the order in which they arrive."""
    sender = Sender("test", author="Ansa", line=LINE, zone="Europe/London")
    return [read_message(one, sender) for one in told]


class KeptInList:
    """The records in memory, for the same questions."""

    def __init__(self, messages: list[Message]) -> None:
        records = []
        count: dict[str, int] = {}
        for one in messages:
            count[one.line] = count.get(one.line, 0) + 1
            records.append(
                Record(
                    one.line, count[one.line], one.at_us, one.at_us, one.kind, one.source, one.key,
                    one.author, one.lane, one.ball, one.run, one.cone, one.lot, one.package,
                    one.token, body_text(one.body), "", b"",
                )
            )  # fmt: skip
        self.events: list[Effective] = []
        for line in count:
            of_line = [one for one in records if one.line == line]
            self.events += effective_events(of_line, zone="Europe/London").events
        self.events.sort(key=lambda one: (one.at_us, one.line, one.seq))
        self._of: dict[tuple[str, str], list[Effective]] = {}
        for event in self.events:
            self._of.setdefault((event.line, event.kind), []).append(event)

    def of_kind(
        self, line: str, kind: str, *, lane: int | None = None, from_us: int | None = None,
        upto_us: int | None = None, latest_first: bool = False, most: int | None = None,
        holding: str = "",
    ) -> list[Effective]:  # fmt: skip
        """As in `clew.ledger.trace.records.Kept`."""
        found = [
            one
            for one in self._of.get((line, kind), [])
            if (lane is None or one.lane == lane)
            and (from_us is None or one.at_us >= from_us)
            and (upto_us is None or one.at_us <= upto_us)
            and (not holding or holding in body_text(one.body))
        ]
        found = found[::-1] if latest_first else found
        return found if most is None else found[:most]

    def count(self, line: str, kind: str, lane: int, from_us: int, upto_us: int) -> int:
        """As in `clew.ledger.trace.records.Kept`."""
        return len(self.of_kind(line, kind, lane=lane, from_us=from_us, upto_us=upto_us))

    def naming(self, what: str, name: str, kinds: tuple[str, ...] = ()) -> list[Effective]:
        """As in `clew.ledger.trace.records.Kept`."""
        return [
            one
            for one in self.events
            if getattr(one, what) == name and (not kinds or one.kind in kinds)
        ]

    def lines(self) -> tuple[str, ...]:
        """As in `clew.ledger.trace.records.Kept`."""
        return tuple(dict.fromkeys(one.line for one in self.events))

    def troubles(self) -> tuple[str, ...]:
        """No trouble."""
        return ()
