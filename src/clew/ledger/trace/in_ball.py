"""What is in a ball: cones and joins, by when its strand passed the feed."""

from __future__ import annotations

from collections.abc import Sequence

from clew.languages import joined, say
from clew.ledger.state.known import Effective
from clew.ledger.trace.answer import BallFound, ConeIn, ConeStint, JoinIn, Rest
from clew.ledger.trace.identity import pulled_to
from clew.ledger.trace.named import means
from clew.ledger.trace.records import rest_of
from clew.ledger.trace.runs_then import NO_TRIALS, Trials
from clew.ledger.trace.tracing import LaneSeen
from clew.ledger.trace.transit import Wound, WoundLane


def may_hold_cone(ball: Wound, stint: ConeStint, wound: WoundLane) -> bool:
    """Say whether some of a cone may be in a ball."""
    begun = None if ball.begun_us is None else wound.fed_earliest_us(ball.begun_us)
    ended = wound.fed_latest_us(ball.ended_us)
    starts_in_time = stint.from_earliest_us is None or stint.from_earliest_us <= ended
    ends_in_time = begun is None or stint.upto_latest_us is None or stint.upto_latest_us >= begun
    return starts_in_time and ends_in_time


def must_hold_cone(ball: Wound, stint: ConeStint, wound: WoundLane) -> bool:
    """Say whether some of a cone is in a ball however long the strand was on its way.

    Notes
    -----
    The ball's first metre was fed no later than ``fed_latest(begun)``, its last no sooner than
    ``fed_earliest(ended)``. Where the first is before the cone's end and the last after its
    beginning, cone and ball share strand. Source: DERIVED.
    """
    if stint.from_latest_us is None or ball.record is None:
        return False
    last_fed = wound.fed_earliest_us(ball.ended_us)
    if last_fed is None or last_fed < stint.from_latest_us:
        return False
    if stint.upto_earliest_us is None:
        return True
    if stint.upto_earliest_us < stint.from_latest_us:
        return False
    return wound.fed_latest_us(ball.begun_latest_us) <= stint.upto_earliest_us


def cones_in(ball: Wound, seen: LaneSeen) -> tuple[ConeIn, ...]:
    """Find the cones that are or may be in a ball, in order."""
    found = []
    for one in seen.stints:
        if not may_hold_cone(ball, one, seen.wound):
            continue
        sure = must_hold_cone(ball, one, seen.wound)
        words = (
            say("its strand was at the feed then")
            if sure
            else say("its strand may have been in it")
        )
        if one.why:
            words = joined("; ", (words, one.why))
        found.append(
            ConeIn(
                one.cone, one.lot, one.spinner, sure, one.from_earliest_us, one.upto_latest_us,
                words, one.rests,
            )
        )  # fmt: skip
    return tuple(found)


def joins_in(ball: Wound, seen: LaneSeen) -> tuple[JoinIn, ...]:
    """Find the joins that are or may be in a ball, in order."""
    found = []
    for one in seen.joins:
        low, high = lands(one, seen.wound)
        begun = ball.begun_us if ball.begun_us is not None else 0
        if high < begun or low > ball.ended_us:
            continue
        sure = ball.record is not None and low >= ball.begun_latest_us and high <= ball.ended_us
        name = str(one.body.get("name", ""))
        found.append(JoinIn(one.kind, name, one.at_us, sure, (rest_of(one),)))
    return tuple(found)


def lands(join: Effective, wound: WoundLane) -> tuple[int, int]:
    """Say between which moments a join reaches the winder [us]."""
    if join.kind == "retie" and join.body.get("parted_at") == "winder":
        return join.at_us, join.at_us
    low = wound.lands_earliest_us(join.at_us)
    latest = wound.lands_latest_us(join.at_us)
    last = wound.balls[-1].ended_us if wound.balls else low
    high = max(low, last) if latest is None else latest
    return (join.at_us if join.kind == "retie" and "parted_at" not in join.body else low), high


def ball_found(
    ball: Wound,
    seen: LaneSeen,
    *,
    line: str,
    winder: int,
    pulled: Sequence[Effective] = (),
    weighings: Sequence[Effective] = (),
    trials: Trials = NO_TRIALS,
) -> BallFound:
    """Put together what is known of one ball.

    Parameters
    ----------
    ball : Wound
        The ball.
    seen : LaneSeen
        Its lane.
    line : str
        Its line.
    winder : int
        Its winder.
    pulled, weighings : sequence of Effective
        Of that lane around that time.
    trials : Trials
        Trial runs of that time.

    Returns
    -------
    BallFound
        The ball.
    """
    token = "" if ball.record is None else ball.record.token
    own = [one for one in weighings if means(one, ball, seen.wound.balls)]
    mass = own[-1].body.get("mass_g") if own else None
    rests: list[Rest] = [] if ball.record is None else [rest_of(ball.record)]
    rests += [rest_of(one) for one in own[-1:]]
    return BallFound(
        line, ball.lane, winder, ball.number, token, ball.begun_us, ball.doffed_us,
        float(mass) if isinstance(mass, (int, float)) else None,
        joins_in(ball, seen), cones_in(ball, seen), pulled_to(ball, pulled, seen.wound.balls),
        tuple(rests), trials.hold(ball.ended_us),
    )  # fmt: skip


def cones_of_all(balls: Sequence[BallFound]) -> tuple[ConeIn, ...]:
    """Gather the cones of several balls: one is sure where it is sure for each ball."""
    first: dict[tuple[str, tuple[Rest, ...]], ConeIn] = {}
    count: dict[tuple[str, tuple[Rest, ...]], int] = {}
    for ball in balls:
        for one in ball.cones:
            key = (one.cone, one.rests[:1])
            first.setdefault(key, one)
            count[key] = count.get(key, 0) + one.sure
    gathered = []
    for key, one in first.items():
        sure = count[key] == len(balls)
        words = one.why if sure == one.sure else say("in some of the balls it may be")
        gathered.append(
            ConeIn(one.cone, one.lot, one.spinner, sure, one.from_us, one.upto_us, words, one.rests)
        )
    return tuple(sorted(gathered, key=lambda one: (one.from_us or 0, one.cone)))
