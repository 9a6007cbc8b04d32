"""The demo mill's shift-weighings.csv and shade-readings.csv: invented, with stated faults.

    cd src/clew/mill/demo
    python ../../../../tests/models/demo_weighings.py weighings > shift-weighings.csv
    python ../../../../tests/models/demo_weighings.py shade > shade-readings.csv

write them; a test holds the shipped files to this, and finds the faults in them. Line 1 winds ball
"Querl 100" for the first three hours of a shift, every ball is weighed and every twentieth reeled.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

SEED = 31
START = datetime(2026, 11, 23, 6, 0, 0)
WINDERS = 6
BALLS_A_WINDER = 200
LOTS = ("SL-207", "SL-211")
CHANGE_AT_BALL = 118
LOT_HEAVY = {"SL-207": 0.0, "SL-211": 0.012}
"""SL-211 is spun 1.2 % heavier than the count the winders were set for."""

TARGET_G = 101.0
COUNT_TEX = 502.1
"""Steamed: SL-207's 403 tex before steam, 20 % shorter, 0.8 % lost, 9 to 9.5 % regain."""

CONE_CV = 0.013
WITHIN_CV = 0.006
WINDER_CV = 0.002
BALL_LENGTH_CV = 0.003
SCALE_SD_G = 0.1
REEL_CV = 0.003
REEL_TENSION_CN = 25.0
MODULUS_CN_PER_TEX = 9.0

LONG_WINDER, LONG = 4, 0.018
"""Winder 4 winds 1.8 % long from the start: its balls are long and heavy alike."""
DRAWN_WINDER, DRAWN_BACK = 2, 0.01
"""Winder 2's balls drew back after winding: 1 % short on the reel, the mass as it should be."""

SHADE_SEED = 5
STANDARD = (24.0, 8.5, -19.0)
SHADE_OFF = {"SL-207": (0.08, 0.05, -0.1), "SL-211": (0.95, -0.35, 1.0)}
SHADE_SD = (0.22, 0.3, 0.42)
CONES_READ = 8


@dataclass(frozen=True)
class Weighed:
    at_s: float
    lot: str
    cone: str
    winder: int
    number: int
    mass_g: float
    length_m: float | None


def lane_cones(rng: random.Random) -> Iterator[tuple[str, float, bool]]:
    """Lot, count error and whether it starts a cone, ball after ball, of one lane."""
    lot = LOTS[0]
    error = rng.gauss(0.0, CONE_CV)
    left = rng.uniform(4.0, 15.8)
    first = True
    for number in range(BALLS_A_WINDER):
        if number == CHANGE_AT_BALL:
            lot, left = LOTS[1], 0.0
        if left <= 0.0:
            error, left, first = rng.gauss(0.0, CONE_CV), 15.8 * rng.gauss(1.0, 0.025), True
        told = error
        if left < 1.0 and number + 1 != CHANGE_AT_BALL:
            # The tie lies in this ball: the rest of it is from the next cone.
            following = rng.gauss(0.0, CONE_CV)
            told = left * error + (1.0 - left) * following
            yield lot, told, first
            error, left, first = following, 15.8 * rng.gauss(1.0, 0.025) - (1.0 - left), True
            continue
        yield lot, told, first
        left, first = left - 1.0, False


def balls() -> list[Weighed]:
    length_set_m = 1000.0 * TARGET_G / COUNT_TEX
    rng = random.Random(SEED)
    winder_errors = {winder: rng.gauss(0.0, WINDER_CV) for winder in range(1, WINDERS + 1)}
    winder_errors[LONG_WINDER] = LONG
    told: list[tuple[Weighed, bool]] = []
    for winder in range(1, WINDERS + 1):
        lane = random.Random(1000 * SEED + winder)
        at_s = lane.uniform(20.0, 60.0)
        for number, (lot, count_error, first) in enumerate(lane_cones(lane), start=1):
            at_s += max(44.0, lane.gauss(55.0, 4.0)) + (25.0 if lane.random() < 0.02 else 0.0)
            length_m = length_set_m * (
                1.0 + winder_errors[winder] + lane.gauss(0.0, BALL_LENGTH_CV)
            )
            within = lane.gauss(0.0, WITHIN_CV)
            count_tex = COUNT_TEX * (1.0 + LOT_HEAVY[lot] + count_error + within)
            mass_g = length_m * count_tex / 1000.0 + lane.gauss(0.0, SCALE_SD_G)
            reeled = None
            if number % 20 == 10:
                back = 1.0 - DRAWN_BACK if winder == DRAWN_WINDER else 1.0
                pulled = 1.0 + REEL_TENSION_CN / (MODULUS_CN_PER_TEX * count_tex)
                reeled = length_m * back * pulled * (1.0 + lane.gauss(0.0, REEL_CV))
            ball = Weighed(at_s, lot, "", winder, number, mass_g, reeled)
            told.append((ball, first))
    told.sort(key=lambda one: one[0].at_s)
    # Cones are numbered as they are put up, over all lanes.
    put_up = dict.fromkeys(LOTS, 0)
    on_lane: dict[int, str] = {}
    found = []
    for ball, first in told:
        if first:
            put_up[ball.lot] += 1
            on_lane[ball.winder] = f"{ball.lot}-{put_up[ball.lot]:02d}"
        found.append(
            Weighed(
                ball.at_s, ball.lot, on_lane[ball.winder], ball.winder, ball.number, ball.mass_g,
                ball.length_m,
            )
        )  # fmt: skip
    return found


def weighing_rows() -> list[str]:
    rows = ["time,lot,cone,lane,winder,ball,mass_g,length_m,tension_cn"]
    for one in balls():
        at = (START + timedelta(seconds=round(one.at_s))).isoformat()
        reeled = "," if one.length_m is None else f"{one.length_m:.1f},{REEL_TENSION_CN:.0f}"
        rows.append(
            f"{at},{one.lot},{one.cone},{one.winder},{one.winder},"
            f"{one.winder}-{one.number:03d},{one.mass_g:.1f},{reeled}"
        )
    return rows


def shade_rows() -> list[str]:
    rng = random.Random(SHADE_SEED)
    rows = ["lot,cone,lightness,a,b"]
    for lot in LOTS:
        for cone in range(1, CONES_READ + 1):
            read = [
                standard + off + rng.gauss(0.0, sd)
                for standard, off, sd in zip(STANDARD, SHADE_OFF[lot], SHADE_SD, strict=True)
            ]
            rows.append(f"{lot},{lot}-{cone:02d}," + ",".join(f"{value:.2f}" for value in read))
    return rows


if __name__ == "__main__":
    print("\n".join(shade_rows() if sys.argv[1:] == ["shade"] else weighing_rows()))
