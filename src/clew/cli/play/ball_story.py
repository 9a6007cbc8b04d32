"""What becomes of each ball after the winder: weighed, reeled, pulled, banded, packed."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from clew.cli.play.told import Cone, Told, Wound

WITHIN_CV = 0.006
"""Of a ball's count within its cone."""
HEAVY_WINDER, HEAVY_FRAC = 4, 0.018
"""Winder 4 winds long, and so heavy, until the lead takes turns off it."""
WINDER_CV = 0.002
REEL_EVERY, REEL_CV = 60, 0.003
BAND_SOURCE, SCALE_SOURCE = "bander", "scale"
_PULL_SHARE = 0.006
_PULL_WHY = ("soft at the end", "stained", "a loose end inside")
_SEEN_SHARE = 0.6


@dataclass(frozen=True, slots=True)
class BallTerms:
    """What masses, bands and cases are made from.

    Attributes
    ----------
    ball_name, line_name : str
        What is made, where.
    scale_g : dict of str to dict of int to float
        By dye lot and winder: what the scale shows of a mean ball at the card's setting [g].
    length_m : dict of str to float
        By dye lot: its mean length [m].
    scale_sd_g : float
        One weighing [g].
    knot_limit : int
        Most joins in a first-quality ball.
    balls_per_case, cases_per_pallet : int
        Packing.
    runs : dict of str to str
        By dye lot: the run it is wound in.
    factor : callable
        Turns a winder is set to at a moment, over the card's: (lane, s) -> [1].
    code : callable
        Code printed on the band: (lot, lane, s) -> text, empty for none.
    moment : callable
        A moment of the shift as ISO 8601: (s) -> text.
    errors : dict of int to float, optional
        How much longer than set each lane's winder winds; drawn where left out [1].
    part_why : str
        Why a part ball is pulled.
    """

    ball_name: str
    line_name: str
    scale_g: dict[str, dict[int, float]]
    length_m: dict[str, float]
    scale_sd_g: float
    knot_limit: int
    balls_per_case: int
    cases_per_pallet: int
    runs: dict[str, str]
    factor: Callable[[int, float], float]
    code: Callable[[str, int, float], str]
    moment: Callable[[float], str]
    errors: dict[int, float] | None = None
    part_why: str = "the next colour came"


def ball_story(
    balls: Sequence[Wound],
    cones: Sequence[Cone],
    joins_m: dict[int, list[float]],
    terms: BallTerms,
    hands: tuple[str, ...],
    rng: random.Random,
) -> list[Told]:
    """Tell what becomes of the balls of all lanes.

    Parameters
    ----------
    balls : sequence of Wound
        Of all lanes.
    cones : sequence of Cone
        All that ran.
    joins_m : dict of int to list of float
        By lane: where joins lie, by its feed counter [m].
    terms : BallTerms
        What masses, bands and cases are made from.
    hands : tuple of str
        Who is in the row.
    rng : random.Random
        For masses and times.

    Returns
    -------
    list of Told
        In no order.
    """
    told: list[Told] = []
    banded: list[tuple[float, str]] = []
    winder_error = terms.errors
    if winder_error is None:
        winder_error = winder_errors({one.lane for one in balls}, rng)
    by_lane: dict[int, list[Cone]] = {}
    for cone in cones:
        by_lane.setdefault(cone.lane, []).append(cone)
    first_lot = next(iter(terms.runs))
    for ball in sorted(balls, key=lambda one: one.off_s):
        ran = _cones_in(ball, by_lane.get(ball.lane, []))
        lot = ran[-1].lot if ran and ball.whole else first_lot
        error = sum(one.count_error_frac for one in ran) / len(ran) if ran else 0.0
        knots = [m for m in joins_m.get(ball.lane, []) if ball.from_m < m <= ball.upto_m]
        for metre in knots:
            if rng.random() < _SEEN_SHARE:
                told.append(_seen(ball, metre, rng))
        names = {"ball": ball.number, "lot": lot}
        hand = ball.hand or hands[0]
        if not ball.whole:
            why = {"to": "rework", "why": terms.part_why}
            told.append(_hand(ball.off_s + 6.0, "pulled", ball, hand, ball=ball.number, **why))
            continue
        longer = (1.0 + winder_error[ball.lane]) * terms.factor(ball.lane, ball.from_s)
        drawn = longer * (1.0 + error + rng.gauss(0.0, WITHIN_CV))
        mass_g = terms.scale_g[lot][ball.lane] * drawn + rng.gauss(0.0, terms.scale_sd_g)
        weighed_s = ball.off_s + rng.uniform(12.0, 35.0)
        weighing = {**names, "mass_g": round(mass_g, 1), "scale": "row end"}
        told.append(Told(weighed_s, "weighing", SCALE_SOURCE, ball.lane, "", weighing))
        if ball.number % REEL_EVERY == 10:
            reeled = terms.length_m[lot] * longer * (1.0 + rng.gauss(0.0, REEL_CV))
            told.append(
                _hand(weighed_s + rng.uniform(180.0, 300.0), "length check", ball, hand, **names,
                      length_m=round(reeled, 1), mass_g=round(mass_g, 1))
            )  # fmt: skip
            continue  # unreeled, it is no ball any more
        pulled = _why_pulled(len(knots), terms.knot_limit, rng)
        if pulled:
            told.append(
                _hand(weighed_s + rng.uniform(4.0, 15.0), "pulled", ball, hand, ball=ball.number,
                      to="second-quality", mass_g=round(mass_g, 1), why=pulled)
            )  # fmt: skip
            continue
        band_s = ball.off_s + rng.uniform(75.0, 240.0)
        code = terms.code(lot, ball.lane, band_s)
        band = {**names, "code": code} if code else names
        told.append(Told(band_s, "banded", BAND_SOURCE, ball.lane, "", band))
        banded.append((band_s, lot))
    return told + _cases(banded, terms, hands[0])


def winder_errors(lanes: Iterable[int], rng: random.Random) -> dict[int, float]:
    """Draw how much longer than set each lane's winder winds; one winds long [1]."""
    found = {lane: rng.gauss(0.0, WINDER_CV) for lane in lanes}
    found[HEAVY_WINDER] = HEAVY_FRAC
    return found


def _cones_in(ball: Wound, cones: Sequence[Cone]) -> list[Cone]:
    """Find the cones whose strand is in a ball."""
    return [
        one for one in cones if one.ran and one.from_m < ball.upto_m and one.upto_m > ball.from_m
    ]


def _hand(at_s: float, kind: str, ball: Wound, hand: str, /, **says: object) -> Told:
    return Told(at_s, kind, "row-tablet", ball.lane, hand, says)


def _seen(ball: Wound, metre: float, rng: random.Random) -> Told:
    """Let a hand see a tie pass into the ball."""
    frac = (metre - ball.from_m) / (ball.upto_m - ball.from_m)
    at_s = ball.from_s + frac * (ball.full_s - ball.from_s) + rng.uniform(0.0, 0.5)
    at_s = min(at_s, ball.off_s - 0.1)
    return _hand(
        at_s, "seen", ball, ball.hand, ball=ball.number, ball_frac=frac if ball.whole else None
    )  # fmt: skip


def _why_pulled(knots: int, limit: int, rng: random.Random) -> str:
    if knots > limit:
        return f"{knots} joins"
    return rng.choice(_PULL_WHY) if rng.random() < _PULL_SHARE else ""


def _cases(banded: list[tuple[float, str]], terms: BallTerms, hand: str) -> list[Told]:
    """Pack balls as they are banded, each dye lot in its own cases."""
    told: list[Told] = []
    for lot, run in terms.runs.items():
        moments = sorted(at_s for at_s, of in banded if of == lot)
        cases: list[str] = []
        pallets = 0
        per_case = terms.balls_per_case
        for first in range(0, len(moments) - per_case + 1, per_case):
            inside = moments[first : first + per_case]
            closed_s = inside[-1] + 20.0
            name = f"{run} case {first // per_case + 1:03d}"
            cases.append(name)
            says = {
                "package": name, "lot": lot, "run": run, "ball_name": terms.ball_name,
                "balls": per_case, "from": terms.moment(inside[0]),
                "upto": terms.moment(inside[-1]),
            }  # fmt: skip
            told.append(Told(closed_s, "case closed", "packing-tablet", 0, hand, says))
            if len(cases) == terms.cases_per_pallet:
                pallets += 1
                pallet = {"package": f"{run} pallet {pallets:03d}", "cases": cases}
                told.append(
                    Told(closed_s + 90.0, "pallet closed", "packing-tablet", 0, hand, pallet)
                )
                cases = []
    return told
