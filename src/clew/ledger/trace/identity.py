"""From a band to the ball: how a ball keeps its name between doff and band, or does not."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass

from clew.languages import joined, say, say_many
from clew.ledger.state.known import Effective
from clew.ledger.trace.answer import Identity
from clew.ledger.trace.named import means, naming_balls
from clew.ledger.trace.records import Kept
from clew.ledger.trace.tracing import DAY_US, LaneSeen
from clew.ledger.trace.transit import MOST_GAP, Transit, Wound, wound_of
from clew.mill.lines import Line

_US = 1_000_000


@dataclass(frozen=True, slots=True)
class Candidates:
    """The balls that a band may belong to.

    Attributes
    ----------
    balls : tuple of Wound
        In order of doff.
    why : str
        Why so many.
    missing : tuple of str
        What is missing.
    banded : Effective or None
        The record of the banding itself, where there is one and no other it could be.
    """

    balls: tuple[Wound, ...]
    why: str
    missing: tuple[str, ...] = ()
    banded: Effective | None = None


def doffed_between(line: Line, spans_us: Sequence[tuple[int, int]]) -> tuple[tuple[int, int], ...]:
    """Say when balls were doffed that were banded in these spans of time [us]."""
    least, most = int(line.doff_to_band_least_s * _US), int(line.doff_to_band_most_s * _US)
    return tuple((first - most, last - least) for first, last in spans_us)


def candidates(
    kept: Kept,
    line: Line,
    lane: int,
    spans_us: Sequence[tuple[int, int]],
    seen: LaneSeen,
    *,
    run_from_us: int | None,
    run_upto_us: int | None,
    transit: Transit,
) -> Candidates:
    """Find the balls a band may belong to.

    Parameters
    ----------
    kept : Kept
        The records.
    line : Line
        The line, with how its balls keep their names.
    lane : int
        The lane.
    spans_us : sequence of (int, int)
        When the band was put on [us].
    seen : LaneSeen
        The lane around that time.
    run_from_us, run_upto_us : int, optional
        When the run began and ended: a rack is counted from its beginning [us].
    transit : Transit
        The way of its strand.

    Returns
    -------
    Candidates
        The balls and why.
    """
    windows = doffed_between(line, spans_us)
    in_time = _distinct([one for first, last in windows for one in seen.balls_in(first, last)])
    pulled = _pulled(kept, line, lane, windows, seen)
    in_time = [one for one in in_time if not pulled_to(one, pulled, seen.wound.balls)]
    bands = [
        one
        for first, last in spans_us
        for one in kept.of_kind(line.name, "banded", lane=lane, from_us=first, upto_us=last)
    ]
    named = [one for one in bands if one.ball is not None]
    if bands and len(named) == len(bands):  # a hand told which ball it was
        balls = [
            one for one in in_time if any(means(band, one, seen.wound.balls) for band in named)
        ]
        if balls:
            words = say("its band's record names it") if len(balls) == 1 else (
                say("{n} bands were put on in that time, each naming its ball", n=len(balls))
            )  # fmt: skip
            return Candidates(tuple(balls), words, (), bands[0] if len(bands) == 1 else None)
    identity: Identity = line.ball_identity
    if identity in ("token", "tray"):
        return _by_token(line, bands, in_time, identity)
    if identity == "rack" and len(spans_us) == 1 and run_from_us is not None:
        return _by_rack(kept, line, lane, bands, in_time, run_from_us, run_upto_us, transit)
    words = _window_words(line, len(in_time), say("nothing tells them apart between doff and band"))
    return Candidates(tuple(in_time), words)


def _window_words(line: Line, count: int, because: str) -> str:
    least, most = line.doff_to_band_least_s / 60.0, line.doff_to_band_most_s / 60.0
    return say_many(
        "{n} ball of that winder doffed {least:g} to {most:g} min before the band: {because}",
        "{n} balls of that winder doffed {least:g} to {most:g} min before the band: {because}",
        count, least=least, most=most, because=because,
    )  # fmt: skip


def _distinct(balls: Sequence[Wound]) -> list[Wound]:
    found: list[Wound] = []
    for one in balls:
        if one not in found:
            found.append(one)
    return sorted(found, key=lambda one: (one.ended_us, one.number or 0, one.record is not None))


def _pulled(
    kept: Kept, line: Line, lane: int, windows: Sequence[tuple[int, int]], seen: LaneSeen
) -> list[Effective]:
    return [
        one
        for first, last in windows
        for one in naming_balls(
            kept, line, "pulled", lane, first, last + DAY_US, numbers=seen.numbers,
            seen_upto_us=seen.upto_us,
        )
    ]  # fmt: skip


def pulled_to(ball: Wound, pulled: Sequence[Effective], balls: Sequence[Wound]) -> str:
    """Say where a ball went that was pulled out of first quality; empty where it was not."""
    for one in pulled:
        if means(one, ball, balls):
            return str(one.body.get("to", "")) or "pulled"
    return ""


def _by_token(
    line: Line, bands: Sequence[Effective], in_time: list[Wound], identity: Identity
) -> Candidates:
    tokens = {one.token for one in bands if one.token}
    told = [one for one in in_time if one.record is not None and one.record.token in tokens]
    silent = [one for one in in_time if one.record is None or not one.record.token]
    whole = bool(bands) and all(one.token for one in bands)
    what = "token" if identity == "token" else "tray"
    if whole and told:
        banded = bands[0] if len(bands) == 1 else None
        if identity == "token":
            # of one token the latest doff before the band counts: it went round since
            last = {one.record.token: one for one in _distinct(told) if one.record is not None}
            balls, lacks = _distinct(list(last.values())), tokens - last.keys()
            words = say("by its token {tokens}", tokens=", ".join(sorted(tokens)))
            if len(tokens) > 1:
                words = say("{n} bands in that minute, each with its token", n=len(tokens))
            if lacks:
                balls = _distinct([*balls, *silent])
                why = say(
                    "no doff with the token {tokens} is told", tokens=", ".join(sorted(lacks))
                )
                return Candidates(tuple(balls), joined("; ", (words, why)), (why,))
            return Candidates(tuple(balls), words, (), banded)
        missing: tuple[str, ...] = ()
        if silent:
            missing = (
                say("{n} doffs in that time name no tray: they may be in it too", n=len(silent)),
            )
        balls = _distinct([*told, *silent])
        words = say(
            "{balls} of that winder are in {trays}, which takes about {room}",
            balls=say("{n} balls", n=len(balls)),
            trays=say_many(
                "the tray {names}", "the trays {names}", len(tokens),
                names=", ".join(sorted(tokens)),
            ),
            room=line.tray_balls,
        )  # fmt: skip
        return Candidates(tuple(balls), words, missing, banded)
    tray = what == "tray"
    if whole:
        why = (
            say("no doff with that tray is told")
            if tray
            else say("no doff with that token is told")
        )
    else:
        why = (
            say("the tray at the band is not told")
            if tray
            else say("the token at the band is not told")
        )
    return Candidates(
        tuple(in_time),
        _window_words(line, len(in_time), why),
        (say("{why}; all in time stand", why=why),),
    )


def _by_rack(
    kept: Kept,
    line: Line,
    lane: int,
    bands: Sequence[Effective],
    in_time: list[Wound],
    run_from_us: int,
    run_upto_us: int | None,
    transit: Transit,
) -> Candidates:
    """Count: the n-th ball banded since the run began is the n-th doffed; lost events widen it."""
    name, most_us = line.name, int(line.doff_to_band_most_s * _US)
    if not bands:
        why = say("the band's own record is missing, so nothing is counted")
        return Candidates(tuple(in_time), _window_words(line, len(in_time), why), (why,))
    last_us = bands[-1].at_us if run_upto_us is None else run_upto_us
    ranks, doffed = _ranks(kept, line, lane, in_time, run_from_us, last_us, transit)
    before = kept.count(name, "banded", lane, run_from_us, bands[0].at_us - 1)
    # the rack is empty when the next run begins: what is banded after that is of that one
    following = kept.of_kind(name, "run start", from_us=last_us, upto_us=last_us + most_us, most=1)
    banded_upto_us = following[0].at_us - 1 if following else last_us + most_us
    banded = kept.count(name, "banded", lane, run_from_us, banded_upto_us)
    lost = 0
    missing: list[str] = []
    if run_upto_us is not None:
        lost = doffed - banded
        if lost:
            if lost > 0:
                words = say_many(
                    "{n} band message of the run is missing: each may shift the count by one",
                    "{n} band messages of the run are missing: each may shift the count by one",
                    lost,
                )
            else:
                words = say_many(
                    "{n} doff message of the run is missing: each may shift the count by one",
                    "{n} doff messages of the run are missing: each may shift the count by one",
                    -lost,
                )
            missing.append(words)
    else:
        missing.append(
            say("the run goes on: a band message that was lost would show only at its end")
        )
    low, high = before + min(lost, 0), before + len(bands) - 1 + max(lost, 0)
    balls = [one for one, rank in zip(in_time, ranks, strict=True) if low <= rank <= high]
    if not balls:
        why = say("the count of doffs and bands does not agree with the times")
        missing.append(say("{why}: messages are missing; all in time stand", why=why))
        return Candidates(tuple(in_time), _window_words(line, len(in_time), why), tuple(missing))
    if len(balls) == 1:
        words = say("first in, first out: number {place} of the run on that lane", place=before + 1)
    else:
        several = (
            say("{n} bands in that minute", n=len(bands))
            if len(bands) > 1
            else say("messages are missing")
        )
        words = say("{n} balls, first in, first out: {several}", n=len(balls), several=several)
    return Candidates(tuple(balls), words, tuple(missing), bands[0] if len(bands) == 1 else None)


def _ranks(
    kept: Kept,
    of: Line,
    lane: int,
    in_time: Sequence[Wound],
    run_from_us: int,
    last_us: int,
    transit: Transit,
) -> tuple[list[int], int]:
    """Say how many balls of the run came before each ball, and how many there were in all.

    Where doffs are numbered, the numbers say it, with gaps for what is missing; else all are read.
    """
    line = of.name
    first = kept.of_kind(line, "doff", lane=lane, from_us=run_from_us, upto_us=last_us, most=1)
    last = kept.of_kind(
        line, "doff", lane=lane, from_us=run_from_us, upto_us=last_us, latest_first=True, most=1
    )
    numbers = [one.number for one in in_time]
    low = first[0].ball if first else None
    high = last[0].ball if last else None
    pulled = naming_balls(
        kept, of, "pulled", lane, run_from_us, last_us + DAY_US, seen_upto_us=last_us,
        numbers=() if low is None or high is None else range(low, high + 1),
    )  # fmt: skip
    out = sorted({one.ball for one in pulled if one.ball is not None})
    if low is not None and high is not None:
        begin, end = low, high
        told = [one for one in numbers if one is not None and begin - MOST_GAP <= one <= end]
        named = all(one.ball is not None for one in pulled)
        if len(told) == len(numbers) and named and begin <= end:
            before = kept.of_kind(
                line, "doff", lane=lane, from_us=run_from_us - DAY_US, upto_us=run_from_us - 1,
                latest_first=True, most=1,
            )  # fmt: skip
            if before and before[0].ball is not None and 0 < begin - before[0].ball <= MOST_GAP:
                begin = before[0].ball + 1
            out = [one for one in out if begin <= one <= end]
            ranks = [one - begin - bisect_left(out, one) for one in told]
            return ranks, end - begin + 1 - len(out)
    doffs = kept.of_kind(line, "doff", lane=lane, from_us=run_from_us, upto_us=last_us)
    wound = wound_of(doffs, transit)
    balls = [one for one in wound if not pulled_to(one, pulled, wound)]
    place = {(one.number, one.ended_us, one.record is None): rank for rank, one in enumerate(balls)}
    ranks = [place.get((one.number, one.ended_us, one.record is None), -1) for one in in_time]
    return ranks, len(balls)
