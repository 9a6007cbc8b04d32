"""On a line whose every ball is known, the answer holds the truth, messages lost or not."""

from __future__ import annotations

import random
from collections.abc import Callable

import pytest
from tests.ledger.trace.conftest import BALL
from tests.ledger.trace.truth import LINE, KeptInList, TrueBall, Truth, live, lost, messages_of

from clew.ledger.trace.answer import BackTrace
from clew.ledger.trace.backwards import back_from_ball, back_from_band, back_from_case
from clew.ledger.trace.band_code import read_band_code, write_band_code
from clew.ledger.trace.forwards import forward_from_cone, forward_from_lot
from clew.ledger.trace.tracing import Tracing
from clew.ledger.trace.transit import Transit
from clew.mill.model import Mill

ZONE = "Europe/London"
IDENTITIES = ["none", "rack", "tray", "token"]
LOSSES = {
    "all told": {},
    "a tenth of ties and loads lost": {"ties": 0.1, "loads": 0.1},
    "some doffs lost": {"doffs": 0.06},
    "some of everything lost": {"ties": 0.1, "loads": 0.1, "doffs": 0.05},
}


def asked(tracing: Tracing, ball: TrueBall) -> BackTrace:
    code = write_band_code("SL-207", LINE, ball.lane, ball.banded_us, ZONE)
    return back_from_band(tracing, read_band_code(code, ZONE, lines=(LINE,)))


def lived(way: Transit, identity: str, seed: int) -> Truth:
    return live(way, ball_name=BALL, hours=4.0, seed=seed, identity=identity)


@pytest.mark.parametrize("losses", LOSSES)
@pytest.mark.parametrize("identity", IDENTITIES)
def test_the_ball_and_its_cones_are_always_among_those_named(
    way: Transit, mill_with: Callable[[str], Mill], identity: str, losses: str
) -> None:
    truth = lived(way, identity, seed=7)
    told = lost(truth, random.Random(11), **LOSSES[losses])
    tracing = Tracing(mill_with(identity), KeptInList(messages_of(told)))
    for ball in truth.balls[::9]:
        found = asked(tracing, ball)
        mine = [one for one in found.balls if one.number == ball.number]
        assert len(mine) == 1, (ball, found.why)
        assert ball.cones <= {one.cone for one in mine[0].cones}
        assert {one.cone for one in mine[0].cones if one.sure} <= ball.cones
        assert ball.case in {one.case for one in found.cases}
        assert all(
            one.customer == truth.sent[one.case] for one in found.cases if one.case == ball.case
        )
        if any(one.sure for one in found.cases):
            assert [one.case for one in found.cases if one.sure] == [ball.case]


@pytest.mark.parametrize("lost_bands", [0.0, 0.05])
def test_a_rack_gives_one_ball_a_band_until_bands_are_lost(
    way: Transit, mill_with: Callable[[str], Mill], lost_bands: float
) -> None:
    truth = lived(way, "rack", seed=5)
    told = lost(truth, random.Random(2), bands=lost_bands)
    bands = [one for one in told if one["kind"] == "banded" and one["lane"] == 1]
    gone = sum(one.lane == 1 for one in truth.balls) - len(bands)
    assert (gone > 0) == (lost_bands > 0.0)
    tracing = Tracing(mill_with("rack"), KeptInList(messages_of(told)))
    for ball in [one for one in truth.balls if one.lane == 1][::9]:
        found = asked(tracing, ball)
        minute = ball.banded_us // 60_000_000
        alike = [
            one for one in truth.balls if one.lane == 1 and one.banded_us // 60_000_000 == minute
        ]
        assert ball.number in {one.number for one in found.balls}
        if not gone:
            assert {one.number for one in found.balls} == {one.number for one in alike}
        elif any("band message" in one for one in found.missing):
            assert found.size <= len(alike) + gone


def test_a_token_is_one_ball(way: Transit, mill_with: Callable[[str], Mill]) -> None:
    truth = lived(way, "token", seed=3)
    tracing = Tracing(mill_with("token"), KeptInList(messages_of(truth.messages)))
    for ball in truth.balls[::12]:
        minute = ball.banded_us // 60_000_000
        alike = [
            one.number
            for one in truth.balls
            if one.lane == ball.lane and one.banded_us // 60_000_000 == minute
        ]
        assert [one.number for one in asked(tracing, ball).balls] == sorted(alike)


def test_a_tray_is_about_its_balls(way: Transit, mill_with: Callable[[str], Mill]) -> None:
    truth = lived(way, "tray", seed=3)
    tracing = Tracing(mill_with("tray"), KeptInList(messages_of(truth.messages)))
    for ball in truth.balls[::12]:
        in_tray = {one.number for one in truth.balls if one.token == ball.token}
        assert {one.number for one in asked(tracing, ball).balls} <= in_tray


def test_without_a_name_it_is_every_ball_in_time(
    way: Transit, mill_with: Callable[[str], Mill]
) -> None:
    truth = lived(way, "none", seed=3)
    mill = mill_with("none")
    tracing = Tracing(mill, KeptInList(messages_of(truth.messages)))
    ball = truth.balls[60]
    minute = ball.banded_us // 60_000_000 * 60_000_000
    least, most = (
        int(one * 1e6)
        for one in (mill.line[0].doff_to_band_least_s, mill.line[0].doff_to_band_most_s)
    )
    in_time = [
        one.number
        for one in truth.balls
        if one.lane == ball.lane and minute - most <= one.doffed_us <= minute + 59_999_999 - least
    ]
    found = asked(tracing, ball)
    assert [one.number for one in found.balls] == in_time
    assert found.why.startswith(f"{len(in_time)} balls of that winder doffed 2 to 40 min before")


@pytest.mark.parametrize("losses", LOSSES)
def test_a_cone_is_followed_into_every_ball_and_case(
    way: Transit, mill_with: Callable[[str], Mill], losses: str
) -> None:
    truth = lived(way, "rack", seed=9)
    told = lost(truth, random.Random(4), **LOSSES[losses])
    tracing = Tracing(mill_with("rack"), KeptInList(messages_of(told)))
    sure = 0
    for cone in sorted({one for ball in truth.balls for one in ball.cones})[::3]:
        found = forward_from_cone(tracing, cone)
        true = {(one.lane, one.number) for one in truth.balls if cone in one.cones}
        assert true <= {(one.lane, one.number) for one in found.balls}
        assert {(one.lane, one.number) for one in found.balls if one.sure} <= true
        cases = {one.case for one in truth.balls if cone in one.cones}
        assert cases <= {one.case for one in found.cases}
        assert {one.case for one in found.cases if one.sure} <= cases
        # no wider than two full ways of the strand beyond the truth
        assert len(found.balls) <= len(true) + 2 * way.balls + (80 if losses != "all told" else 4)
        sure += found.sure
    assert sure > 0


def test_a_dye_lot_is_in_every_ball(way: Transit, mill_with: Callable[[str], Mill]) -> None:
    truth = lived(way, "rack", seed=1)
    tracing = Tracing(mill_with("rack"), KeptInList(messages_of(truth.messages)))
    found = forward_from_lot(tracing, "SL-207")
    assert {(one.lane, one.number) for one in truth.balls} == {
        (one.lane, one.number) for one in found.balls
    }
    assert {one.case for one in found.cases} == set(truth.sent)
    assert forward_from_lot(tracing, "SL-999").cones == ()


def test_a_case_is_traced_to_its_balls(way: Transit, mill_with: Callable[[str], Mill]) -> None:
    truth = lived(way, "rack", seed=1)
    tracing = Tracing(mill_with("rack"), KeptInList(messages_of(truth.messages)))
    found = back_from_case(tracing, "CASE-5")
    true = {(one.lane, one.number) for one in truth.balls if one.case == "CASE-5"}
    assert true <= {(one.lane, one.number) for one in found.balls}
    assert {cone for one in truth.balls if one.case == "CASE-5" for cone in one.cones} <= {
        one.cone for one in found.cones
    }
    assert found.cases[0].customer == truth.sent["CASE-5"]


def test_a_ball_by_its_number_is_that_ball(way: Transit, mill_with: Callable[[str], Mill]) -> None:
    truth = lived(way, "none", seed=1)
    tracing = Tracing(mill_with("none"), KeptInList(messages_of(truth.messages)))
    found = back_from_ball(tracing, LINE, 2, 33)
    (ball,) = found.balls
    assert (ball.number, ball.lane, ball.mass_g) == (33, 2, 50.0)
    assert ball.doffed_us == truth.ball(2, 33).doffed_us
    assert found.run is not None and found.run.order == "O-9"
    assert dict(found.run.settings)["target_g"] == "50.6"
    assert found.decisions[-1].decision == "release"


def test_a_correction_changes_the_answer(way: Transit, mill_with: Callable[[str], Mill]) -> None:
    truth = lived(way, "none", seed=1)
    told = truth.messages
    seq = next(
        place
        for place, one in enumerate(
            [
                one
                for one in told
                if one["kind"] not in ("pallet closed", "shipped", "lot decision")
            ],
            1,
        )
        if one["kind"] == "weighing" and (one["lane"], one["ball"]) == (2, 33)
    )
    change = {"kind": "correction", "at": told[-1]["at"], "of_seq": seq, "why": "misread",
              "change": '{"mass_g": 61.5}', "key": "c1"}  # fmt: skip
    tracing = Tracing(mill_with("none"), KeptInList(messages_of([*told, change])))
    assert back_from_ball(tracing, LINE, 2, 33).balls[0].mass_g == 61.5
