"""Which ball an event means that names one: numbers begin anew with a run, tokens go round."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from clew.ledger.state.known import Effective
from clew.ledger.trace.records import Kept
from clew.ledger.trace.transit import Wound
from clew.mill.lines import Line


def means(event: Effective, ball: Wound, balls: Sequence[Wound]) -> bool:
    """Say whether an event that names a ball by number or token names this one.

    Parameters
    ----------
    event : Effective
        A weighing, a band, a ball pulled.
    ball : Wound
        The ball.
    balls : sequence of Wound
        All balls of its lane around that time, it among them.

    Returns
    -------
    bool
        True for the ball of that name doffed last before the event, or on the winder then. Where
        one of that name was doffed and another is on the winder, it is sure of neither: False.
    """
    if event.lane != ball.lane:
        return False
    if event.ball is not None and ball.number is not None:
        alike = [one for one in balls if one.number == event.ball]
    elif event.ball is None and event.token:
        alike = [one for one in balls if one.record is not None and one.record.token == event.token]
    else:
        return False
    doffed = [one for one in alike if one.ended_us <= event.at_us]
    winding = [one for one in alike if _begun(one) <= event.at_us < one.ended_us]
    if doffed and winding:
        return False
    meant = max(doffed or winding, key=lambda one: one.ended_us, default=None)
    return meant is not None and meant == ball


def _begun(ball: Wound) -> int:
    return ball.ended_us if ball.begun_us is None else ball.begun_us


def naming_balls(
    kept: Kept,
    line: Line,
    kind: str,
    lane: int,
    from_us: int,
    upto_us: int,
    *,
    numbers: Collection[int | None],
    seen_upto_us: int,
) -> list[Effective]:
    """Read the events of one kind that may name balls that were seen.

    Parameters
    ----------
    kept : Kept
        The records.
    line : Line
        The line; where its tokens are trays, a token alone names no ball.
    kind : str
        The kind.
    lane : int
        The lane.
    from_us, upto_us : int
        The span of time [us].
    numbers : collection of int
        Numbers of the balls that were seen.
    seen_upto_us : int
        Up to when all doffs were seen [us].

    Returns
    -------
    list of Effective
        In order of time, without those that name a ball doffed after what was seen.
    """
    found = kept.of_kind(line.name, kind, lane=lane, from_us=from_us, upto_us=upto_us)
    if line.ball_identity == "tray":
        found = [one for one in found if one.ball is not None or not one.token]
    beyond = [
        one
        for one in found
        if one.at_us > seen_upto_us and (one.token if one.ball is None else one.ball in numbers)
    ]
    if not beyond:
        return found
    doffs = kept.of_kind(
        line.name, "doff", lane=lane, from_us=seen_upto_us + 1, upto_us=beyond[-1].at_us
    )
    later = {
        one.seq
        for one in beyond
        for doff in doffs
        if doff.at_us <= one.at_us
        and (doff.token == one.token if one.ball is None else doff.ball == one.ball)
    }
    return [one for one in found if one.seq not in later]
