"""Alarms at the creel: a wrong or unknown cone, and cones that run out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from clew.languages import say
from clew.ledger.events.moments import show_local
from clew.ledger.state.alarm_kinds import ALARMS
from clew.ledger.state.answer import Alarm, Between
from clew.ledger.state.known import ConeOn, LaneState, LineState


def creel_alarms(
    lane: LaneState,
    state: LineState,
    yarn: str,
    yarn_of: Mapping[str, str],
    to_tie: Between | None,
    zone: str,
    tie_due_min: float,
) -> Iterator[Alarm]:
    """Say what is wrong with one lane's cones during a run.

    Parameters
    ----------
    lane : LaneState
        The lane.
    state : LineState
        The line, its run in progress.
    yarn : str
        The run's yarn.
    yarn_of : mapping of str to str
        Yarn of each dye lot of the mill, by its name in lower case.
    to_tie : Between or None
        Minutes to the next tie [min].
    zone : str
        The mill's time zone.
    tie_due_min : float
        From how many minutes on a tie is called due [min].

    Yields
    ------
    Alarm
        In no particular order.
    """
    see = _Creel(lane, state, yarn, yarn_of, zone)
    yield from see.of_lots()
    yield from see.of_number(to_tie, tie_due_min)


class _Creel:
    """One lane's creel, beside the run."""

    def __init__(
        self, lane: LaneState, state: LineState, yarn: str, yarn_of: Mapping[str, str], zone: str
    ) -> None:
        assert state.run is not None
        self.lane, self.yarn, self.yarn_of, self.zone = lane, yarn, yarn_of, zone
        self.lot = lane.lot or state.run.lot
        announced = {one.lot for one in state.lanes if one.lot}
        self.right = {self.lot.casefold()}
        # where nobody tells of cones at all, a tie without one is nothing new
        self.cones_are_told = any(
            one.reserve or (one.feeding is not None and one.feeding.loaded) for one in state.lanes
        )
        self.may_wait = self.right | {one.casefold() for one in announced}

    def alarm(self, kind: str, words: str, todo: str, since_us: int, about: str = "") -> Alarm:
        number = self.lane.lane
        words = say("Lane {lane}: {words}", lane=number, words=words)
        return Alarm(kind, ALARMS[kind].urgency, number, words, todo, since_us, about)

    def clock(self, at_us: int) -> str:
        return show_local(at_us, self.zone, seconds=False)[11:]

    def of_lots(self) -> Iterator[Alarm]:
        lane = self.lane
        feeding, since = lane.feeding, lane.last_tie_us
        if feeding is not None and since is not None:
            wrong = self.wrong_words(feeding, self.right)
            if wrong:
                yield self.alarm(
                    "wrong lot", wrong,
                    say("stop the lane, pull the balls since {clock}", clock=self.clock(since)),
                    since, feeding.cone,
                )  # fmt: skip
            elif not feeding.loaded and (feeding.cone or self.cones_are_told):
                yield self.alarm(
                    "cone not loaded",
                    say(
                        "cone {cone} was tied on at {clock} that nobody told as loaded",
                        cone=feeding.cone, clock=self.clock(since),
                    ) if feeding.cone else say(
                        "a cone was tied on at {clock} that nobody told as loaded",
                        clock=self.clock(since),
                    ),
                    say("read its label: is it {lot}? then tell it as loaded", lot=self.lot),
                    since, feeding.cone,
                )  # fmt: skip
            elif feeding.loaded and not feeding.lot:
                yield self.not_told(feeding)
        for fed in lane.fed_wrong:
            yield self.alarm(
                "wrong lot",
                say(
                    "{cone}; it fed from {begin} to {end}",
                    cone=self.other_words(fed.cone, fed.lot, fed.right),
                    begin=self.clock(fed.from_us), end=self.clock(fed.upto_us),
                ),
                say(
                    "pull the balls that may hold it ({command}), and tell of them as pulled",
                    command=f"clew lot trace --cone {fed.cone}",
                ) if fed.cone else say(
                    "pull the balls that may hold it, and tell of them as pulled"
                ),
                fed.from_us, fed.cone,
            )  # fmt: skip
        for cone in lane.reserve:
            wrong = self.wrong_words(cone, self.may_wait)
            if wrong:
                yield self.alarm(
                    "wrong lot", say("{wrong}; it waits on the creel", wrong=wrong),
                    say("take it off before it is tied on"), cone.loaded_us, cone.cone,
                )  # fmt: skip
            elif not cone.lot:
                yield self.not_told(cone)

    def not_told(self, cone: ConeOn) -> Alarm:
        return self.alarm(
            "lot not told", say("cone {cone} was loaded without its dye lot", cone=cone.cone),
            say("read its label: is it {lot}?", lot=self.lot), cone.loaded_us, cone.cone,
        )  # fmt: skip

    def wrong_words(self, cone: ConeOn, right: set[str]) -> str:
        """Say what a cone is instead; empty where it is right, or nobody told."""
        if not cone.lot or cone.lot.casefold() in right:
            return ""
        return self.other_words(cone.cone, cone.lot, self.lot)

    def other_words(self, cone: str, lot: str, right: str) -> str:
        """Say what a cone is instead of the right lot."""
        named = say("cone {cone}", cone=cone) if cone else say("the cone that feeds")
        yarn = self.yarn_of.get(lot.casefold())
        if yarn is None:
            return say(
                "{cone} is of dye lot {lot}, which the mill file does not know, the run is {right}",
                cone=named, lot=lot, right=right,
            )  # fmt: skip
        if yarn != self.yarn:
            return say(
                "{cone} is of dye lot {lot} and another yarn, {yarn}, the run is {right}",
                cone=named, lot=lot, yarn=yarn, right=right,
            )  # fmt: skip
        return say(
            "{cone} is of dye lot {lot}, the run is {right}", cone=named, lot=lot, right=right
        )

    def of_number(self, to_tie: Between | None, tie_due_min: float) -> Iterator[Alarm]:
        lane = self.lane
        if lane.last_tie_us is None:
            return  # nobody tells what stands on this creel
        if lane.feeding is None:
            if not lane.reserve:
                yield self.alarm(
                    "out of cones",
                    say("no cone is on its creel"),
                    say("load {lot}", lot=self.lot),
                    lane.last_tie_us,
                )
            return
        if to_tie is None:
            return
        named = say("cone {cone}", cone=lane.feeding.cone) if lane.feeding.cone else say("the cone")
        if to_tie.high <= 0.0 and lane.fed_from_us is not None:
            if lane.reserve:
                yield self.alarm(
                    "tie not told",
                    say("by its mass {cone} is empty, and no tie was told", cone=named),
                    say("look which cone feeds, and enter the tie with its time"),
                    lane.last_tie_us, lane.feeding.cone,
                )  # fmt: skip
            else:
                yield self.alarm(
                    "out of cones",
                    say("by its mass {cone} is empty, and none is in reserve", cone=named),
                    say("load {lot} and tie it on, or enter the cone that was", lot=self.lot),
                    lane.last_tie_us, lane.feeding.cone,
                )  # fmt: skip
        elif to_tie.low <= tie_due_min and not lane.reserve:
            yield self.alarm(
                "tie due",
                say(
                    "{cone} is empty in about {middle:.0f} min ({low:.0f} to {high:.0f}), and none "
                    "is in reserve",
                    cone=named, middle=to_tie.middle, low=to_tie.low, high=to_tie.high,
                ),
                say("load {lot} and tie it on", lot=self.lot), lane.last_tie_us, lane.feeding.cone,
            )  # fmt: skip
