"""Two runs of a line on one day, balls numbered anew: what is told of one is not of the other."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest
from tests.ledger.trace.conftest import BALL
from tests.ledger.trace.truth import LINE, KeptInList, TrueBall, at, live, messages_of

from clew.ledger.events.moments import read_moment
from clew.ledger.trace.backwards import back_from_ball, back_from_band, back_from_case
from clew.ledger.trace.band_code import read_band_code, write_band_code
from clew.ledger.trace.forwards import forward_from_cone, forward_from_lot
from clew.ledger.trace.recall import recall_list
from clew.ledger.trace.tracing import Tracing
from clew.ledger.trace.transit import Transit
from clew.mill.model import Mill

ZONE = "Europe/London"
MIN = 60_000_000
_TIMES = ("at", "from", "upto")


class TwoRuns:
    """R-1 of SL-207, then R-2 of SL-211 soon after its last band, with its own cones and cases."""

    def __init__(self, way: Transit, identity: str, *, trial: bool = False) -> None:
        first = live(way, ball_name=BALL, lanes=1, hours=2.0, seed=4, identity=identity)
        second = live(
            way, ball_name=BALL, lanes=1, hours=2.0, seed=5, identity=identity, lot="SL-211"
        )
        begun = min(self.us(one["at"]) for one in second.messages)
        self.shift_us = max(one.banded_us for one in first.balls) + 5 * MIN - begun
        self.first, self.second = first.balls, [self.later(one) for one in second.balls]
        self.told = [*first.messages, *(self.moved(one) for one in second.messages)]
        if trial:
            next(one for one in self.told if one["key"] == "rs later")["trial"] = True
        # every third ball of the second run is pulled, under a number the first one had as well
        self.pulled = {one.number for one in self.second[::3]}
        self.told += [
            {"kind": "pulled", "lane": 1, "ball": one.number, "to": "rework",
             "at": at(one.doffed_us + 20_000_000), "key": f"pull {one.number}"}
            for one in self.second if one.number in self.pulled
        ]  # fmt: skip

    @staticmethod
    def us(said: str) -> int:
        return read_moment(said).at_us

    def later(self, ball: TrueBall) -> TrueBall:
        return TrueBall(
            ball.lane, ball.number, ball.doffed_us + self.shift_us,
            ball.banded_us + self.shift_us, {f"D{one[1:]}" for one in ball.cones},
            ball.case.replace("CASE", "BOX"), ball.token,
        )  # fmt: skip

    def moved(self, one: dict[str, Any]) -> dict[str, Any]:
        text = json.dumps(one).replace("CASE-", "BOX-").replace("PAL-", "QAL-")
        found: dict[str, Any] = json.loads(text.replace("R-1", "R-2").replace('"C1-', '"D1-'))
        for name in _TIMES:
            if name in found:
                found[name] = at(self.us(found[name]) + self.shift_us)
        return {**found, "key": f"{one['key']} later"}

    def tracing(self, mill: Mill) -> Tracing:
        told = sorted(self.told, key=lambda one: str(one["at"]))
        return Tracing(mill, KeptInList(messages_of(told)))


@pytest.mark.parametrize("identity", ["none", "rack", "token"])
def test_a_ball_pulled_in_one_run_stays_traced_in_the_other(
    way: Transit, mill_with: Callable[[str], Mill], identity: str
) -> None:
    runs = TwoRuns(way, identity)
    tracing = runs.tracing(mill_with(identity))
    for lot, balls in (("SL-207", runs.first), ("SL-211", runs.second)):
        gone = runs.pulled if lot == "SL-211" else set()
        packed = [one for one in balls if one.number not in gone]
        for ball in packed[::7] + packed[-2:]:
            code = write_band_code(lot, LINE, 1, ball.banded_us, ZONE)
            found = back_from_band(tracing, read_band_code(code, ZONE, lines=(LINE,)))
            assert found.run is not None and found.run.lot == lot
            if lot == "SL-211" and identity == "rack":
                continue  # bands of pulled balls are told here: a rack's count cannot hold
            mine = [one for one in found.balls if one.doffed_us == ball.doffed_us]
            assert len(mine) == 1 and not mine[0].pulled_to, (ball.number, found.why)
            assert ball.cones <= {one.cone for one in mine[0].cones}
            assert ball.case in {one.case for one in found.cases}


def test_a_recall_of_the_first_run_heeds_no_pull_of_the_second(
    way: Transit, mill_with: Callable[[str], Mill]
) -> None:
    runs = TwoRuns(way, "none")
    tracing = runs.tracing(mill_with("none"))
    found = forward_from_lot(tracing, "SL-207")
    assert {one.doffed_us for one in found.balls} >= {one.doffed_us for one in runs.first}
    of_first = [one for one in found.balls if one.doffed_us in {b.doffed_us for b in runs.first}]
    assert not [one.number for one in of_first if one.pulled_to]
    assert {one.case for one in found.cases} >= {one.case for one in runs.first}
    second = forward_from_lot(tracing, "SL-211")
    gone = {one.number for one in second.balls if one.pulled_to}
    assert gone == runs.pulled


def test_a_lot_that_a_hand_told_in_small_letters_is_recalled(
    way: Transit, mill_with: Callable[[str], Mill]
) -> None:
    runs = TwoRuns(way, "none")
    for one in runs.told:
        if one["kind"] == "cone loaded" and one["lot"] == "SL-207":
            one["lot"] = "sl-207"
    tracing = runs.tracing(mill_with("none"))
    for name in ("SL-207", "sl-207"):
        found = forward_from_lot(tracing, name)
        assert {one.doffed_us for one in found.balls} >= {one.doffed_us for one in runs.first}


@pytest.mark.parametrize("cone", ["C1-000", "D1-000"])
def test_the_first_cone_of_a_run_is_followed_from_its_start(
    way: Transit, mill_with: Callable[[str], Mill], cone: str
) -> None:
    runs = TwoRuns(way, "rack")
    start_us = runs.us(next(one for one in runs.told if one["key"] == "rs later")["at"])
    tied = [one["cone"] for one in runs.told if one["kind"] == "tie" and one["cone"][0] == "C"]
    runs.told.append({"kind": "cone off", "lane": 1, "cone": tied[-1], "to": "stock",
                      "at": at(start_us - MIN), "key": "off"})  # fmt: skip
    found = forward_from_cone(runs.tracing(mill_with("rack")), cone)
    balls = runs.first if cone == "C1-000" else runs.second
    true = {one.doffed_us for one in balls if cone in one.cones}
    assert {one.doffed_us for one in found.balls if one.sure} <= true
    assert true <= {one.doffed_us for one in found.balls}
    (stint,) = found.cones
    assert stint.from_earliest_us == stint.from_latest_us
    assert cone == "C1-000" or stint.from_latest_us == start_us
    assert not [one for one in found.missing if "tie" in one]


def test_a_band_message_lost_in_one_run_is_not_made_good_by_the_next_runs_bands(
    way: Transit, mill_with: Callable[[str], Mill]
) -> None:
    runs = TwoRuns(way, "rack")
    lost = {f"band 1 {one.number}" for one in runs.first[5:8]}
    runs.told = [one for one in runs.told if one["key"] not in lost]
    tracing = runs.tracing(mill_with("rack"))
    for ball in runs.first[20:40:3]:
        code = write_band_code("SL-207", LINE, 1, ball.banded_us, ZONE)
        found = back_from_band(tracing, read_band_code(code, ZONE, lines=(LINE,)))
        assert ball.number in {one.number for one in found.balls}, found.why
        assert any("3 band messages" in one for one in found.missing)


def test_balls_of_a_trial_are_never_traced_as_sold_in_silence(
    way: Transit, mill_with: Callable[[str], Mill]
) -> None:
    runs = TwoRuns(way, "none", trial=True)
    tracing = runs.tracing(mill_with("none"))
    found = forward_from_lot(tracing, "SL-211")
    own = {one.doffed_us for one in runs.second}
    assert {one.doffed_us for one in found.balls if one.trial} == own & {
        one.doffed_us for one in found.balls
    }
    assert any("of the trial run R-2, not for sale" in one for one in found.missing)
    assert not [one.case for one in found.cases if one.sure]
    rows = recall_list(found, ZONE).rows
    assert all("of a trial run, not for sale" in f"{one.why} {one.where}" for one in rows
               if one.name.startswith("BOX"))  # fmt: skip
    ball = runs.second[40]
    back = back_from_ball(tracing, LINE, 1, ball.number)
    assert back.balls[0].trial and any("trial run R-2" in one for one in back.missing)
    case = back_from_case(tracing, ball.case)
    assert any("trial run R-2" in one for one in case.missing)
    assert not [one for one in forward_from_lot(tracing, "SL-207").balls
                if one.trial and one.doffed_us not in own]  # fmt: skip
