"""The creel of one lane: what stands on it, what feeds, and how long it has fed."""

from __future__ import annotations

from dataclasses import replace

from clew.ledger.state.known import ConeOn, Effective, LaneState


def cone_loaded(lane: LaneState, event: Effective) -> LaneState:
    """Put a cone on: it feeds where nothing else does, and stands in reserve otherwise.

    What stood at the same place, or had the same name, is gone from there.
    """
    body = event.body
    cone = ConeOn(
        cone=event.cone, place=body.get("place", 0), lot=event.lot, spinner=body.get("spinner", ""),
        loaded_us=event.at_us, mass_g=body.get("cone_mass_g"),
        joins=body.get("joins"),
    )  # fmt: skip
    feeding = lane.feeding
    if feeding is not None and feeding.cone == cone.cone:
        # the same label read again tells more of it; it goes on feeding
        known = replace(
            cone, loaded_us=feeding.loaded_us, place=cone.place or feeding.place,
            lot=cone.lot or feeding.lot, mass_g=cone.mass_g or feeding.mass_g,
        )  # fmt: skip
        return replace(lane, feeding=known)
    reserve = tuple(
        one
        for one in lane.reserve
        if one.cone != cone.cone and not (cone.place and one.place == cone.place)
    )
    if feeding is None:
        return _fed_by(replace(lane, reserve=reserve), cone, event)
    return replace(lane, reserve=(*reserve, cone))


def tied(lane: LaneState, event: Effective) -> LaneState:
    """Let the next cone feed: the one that is named, or the one that stood there longest."""
    named = event.cone
    feeding = lane.feeding
    ends = event.body.get("cone_off", "")
    lot = event.lot
    if named and feeding is not None and feeding.cone == named:
        following: ConeOn | None = feeding  # told again, or loaded onto an empty creel and tied
    elif named:
        following = next((one for one in lane.reserve if one.cone == named), None)
    else:
        following = next((one for one in lane.reserve if one.cone != ends), None)
    again = following is not None and following is feeding and lane.ties > 0
    if following is None:
        following = ConeOn(named, 0, lot, "", event.at_us, loaded=False)
    elif lot and not following.lot:
        following = replace(following, lot=lot)
    elif lot and event.kind == "tie" and lot != following.lot:
        following = replace(following, lot=lot)  # the label was read again as it was tied
    reserve = tuple(one for one in lane.reserve if one.cone not in (following.cone, ends))
    ties = lane.ties if again else lane.ties + 1  # by the hand, then by the feed: one tie
    return _fed_by(replace(lane, reserve=reserve, ties=ties), following, event)


def cone_off(lane: LaneState, event: Effective) -> LaneState:
    """Take a cone off."""
    reserve = tuple(one for one in lane.reserve if one.cone != event.cone)
    feeding = lane.feeding
    if feeding is not None and feeding.cone == event.cone:
        feeding = None
    return replace(lane, reserve=reserve, feeding=feeding)


def _fed_by(lane: LaneState, cone: ConeOn, event: Effective) -> LaneState:
    metres = event.body.get("metres")
    return replace(
        lane, feeding=cone, last_tie_us=event.at_us,
        fed_us=0, fed_from_us=None if lane.fed_from_us is None else event.at_us,
        tie_metres=lane.metres if metres is None and _is_fresh(lane, event) else metres,
    )  # fmt: skip


_FRESH_US = 5_000_000


def _is_fresh(lane: LaneState, event: Effective) -> bool:
    """Whether the counter was read so shortly before that it can stand for the tie's own."""
    return lane.metres_at_us is not None and event.at_us - lane.metres_at_us <= _FRESH_US


def feed_goes(lane: LaneState, at_us: int, *, goes: bool) -> LaneState:
    """Let the time go on or stand that the cone has fed.

    Parameters
    ----------
    lane : LaneState
        The lane.
    at_us : int
        The moment [us].
    goes : bool
        Whether the feed runs from now on.
    """
    since = lane.fed_from_us
    if goes:
        return lane if since is not None else replace(lane, fed_from_us=at_us)
    if since is None:
        return lane
    return replace(lane, fed_us=lane.fed_us + at_us - since, fed_from_us=None)


def fed_s(lane: LaneState, now_us: int) -> float:
    """Time that the cone on this lane has fed [s].

    Parameters
    ----------
    lane : LaneState
        The lane.
    now_us : int
        The moment [us].
    """
    running = 0 if lane.fed_from_us is None else max(now_us - lane.fed_from_us, 0)
    return (lane.fed_us + running) / 1e6
