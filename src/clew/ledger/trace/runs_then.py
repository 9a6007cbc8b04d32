"""Which run of a line made a ball, its settings then, and which runs were trials."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from clew.languages import say, say_many
from clew.ledger.trace.answer import RunThen
from clew.ledger.trace.records import Kept, rest_of

REACH_US = 60 * 86_400_000_000
"""A run that began longer before a ball is not looked for [us]: assumed."""


def run_then(kept: Kept, line: str, at_us: int) -> RunThen | None:
    """Find the run of a line at a moment, and its settings then.

    Parameters
    ----------
    kept : Kept
        The records.
    line : str
        The line.
    at_us : int
        The moment [us].

    Returns
    -------
    RunThen or None
        The run that was started last; None where none was. One that nobody ended ends where the
        next one begins.
    """
    starts = kept.of_kind(
        line, "run start", from_us=at_us - REACH_US, upto_us=at_us, latest_first=True, most=1
    )
    if not starts:
        return None
    start = starts[0]
    ends = [
        one
        for one in kept.of_kind(line, "run end", from_us=start.at_us, most=4)
        if one.run == start.run
    ][:1]
    following = kept.of_kind(line, "run start", from_us=start.at_us + 1, most=1)
    ended = [one.at_us for one in (*ends, *following)]
    sets = [
        one
        for one in kept.of_kind(line, "run set", from_us=start.at_us, upto_us=at_us)
        if one.run == start.run
    ]
    settings: dict[str, Any] = {}
    for one in (start, *sets):
        for key, value in one.body.items():
            if key in _NOT_SETTINGS:
                continue
            if isinstance(value, dict) and isinstance(settings.get(key), dict):
                settings[key] = {**settings[key], **value}
            else:
                settings[key] = value
    body = start.body
    return RunThen(
        start.run, start.lot, str(body.get("ball_name", "")), start.at_us,
        min(ended, default=None),
        tuple((key, _shown(value)) for key, value in settings.items()),
        str(body.get("card", "")), str(body.get("order", "")), body.get("trial") is True,
        tuple(rest_of(one) for one in (start, *sets, *ends)),
    )  # fmt: skip


_NOT_SETTINGS = ("ball_name", "card", "trial", "order", "note", "why")


def _shown(value: Any) -> str:
    if isinstance(value, dict):
        return ", ".join(f"{key}: {_shown(one)}" for key, one in value.items())
    return f"{value:g}" if isinstance(value, float) else str(value)


def run_of_band(
    kept: Kept, line: str, lane: int, windows_us: Sequence[tuple[int, int]], lot: str
) -> RunThen | None:
    """Find the run of a ball that was doffed within some time, before its band was put on.

    Parameters
    ----------
    kept : Kept
        The records.
    line : str
        The line.
    lane : int
        The lane.
    windows_us : sequence of (int, int)
        When it was doffed [us].
    lot : str
        Dye lot on its band; empty where not told.

    Returns
    -------
    RunThen or None
        The latest run that reaches into that time and has the band's lot; where none has, or no
        lot is told, the latest that had taken off a ball on that lane.
    """
    first, last = windows_us[0][0], max(one for _, one in windows_us)
    newest = run = run_then(kept, line, last)
    runs = []
    while run is not None:
        runs.append(run)
        if run.started_us is None or run.started_us <= first:
            break
        run = run_then(kept, line, run.started_us - 1)
        if run is not None and run.ended_us is not None and run.ended_us < first:
            break
    alike = [one for one in runs if lot and one.lot.casefold() == lot.casefold()]
    for one in alike or runs:
        upto_us = last if one.ended_us is None else min(last, one.ended_us)
        if one.started_us is not None and kept.of_kind(
            line, "doff", lane=lane, from_us=one.started_us, upto_us=upto_us, most=1
        ):
            return one
    return alike[0] if alike else newest


@dataclass(frozen=True, slots=True)
class Trials:
    """Trial runs of a line within some time.

    Attributes
    ----------
    spans_us : tuple of (int, int)
        From when to when each took off balls [us].
    names : tuple of str
        Their names.
    """

    spans_us: tuple[tuple[int, int], ...] = ()
    names: tuple[str, ...] = ()

    def hold(self, at_us: int) -> bool:
        """Say whether a ball taken off at a moment is of a trial run."""
        return any(first <= at_us <= last for first, last in self.spans_us)

    def names_of(self, moments_us: Iterable[int | None]) -> tuple[str, ...]:
        """Name those that took off a ball at one of some moments; all, where one is not told."""
        moments = list(moments_us)
        return tuple(
            name
            for name, (first, last) in zip(self.names, self.spans_us, strict=True)
            if any(one is None or first <= one <= last for one in moments)
        )


NO_TRIALS = Trials()


def trials_of(kept: Kept, line: str, from_us: int, upto_us: int) -> Trials:
    """Find the trial runs of a line that reach into a span of time [us]."""
    starts = kept.of_kind(
        line,
        "run start",
        from_us=from_us - REACH_US,
        upto_us=from_us,
        latest_first=True,
        most=1,
    )
    starts += kept.of_kind(line, "run start", from_us=from_us + 1, upto_us=upto_us)
    found = [one for one in starts if one.body.get("trial") is True]
    spans = []
    for one in found:
        run = run_then(kept, line, one.at_us)
        ended = None if run is None else run.ended_us
        spans.append((one.at_us, max(upto_us, one.at_us) if ended is None else ended))
    return Trials(tuple(spans), tuple(one.run for one in found))


def trial_words(names: Iterable[str], count: int, cases: Iterable[str]) -> str:
    """Say that balls of a trial stand in an answer, and in which cases they would be by time."""
    runs, listed = ", ".join(sorted(set(names))), sorted(set(cases))
    if not listed:
        return say_many(
            "{n} ball is of the trial run {runs}, not for sale",
            "{n} balls are of the trial run {runs}, not for sale",
            count, runs=runs,
        )  # fmt: skip
    shown = ", ".join(listed[:6])
    if len(listed) > 6:
        shown = say("{shown} and {more} more", shown=shown, more=len(listed) - 6)
    return say_many(
        "{n} ball is of the trial run {runs}, not for sale: by its times it fits {cases}, look "
        "whether it was packed",
        "{n} balls are of the trial run {runs}, not for sale: by its times they fit {cases}, look "
        "whether they were packed",
        count, runs=runs, cases=shown,
    )  # fmt: skip
