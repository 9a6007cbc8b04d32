"""Chance in the loop: every variate is named by its stream and its number."""

from __future__ import annotations

import math

import numpy as np

from clew.line.simulate.loop.jit import inlined, open_part
from clew.line.simulate.loop.states import DOFF_TIME, NEVER
from clew.line.simulate.records import LaneRecord, LineRecord


@open_part
def mix(word: np.uint64) -> np.uint64:
    """Scramble a word of 64 bits (splitmix64; Steele, Lea and Flood 2014)."""
    z = word + np.uint64(0x9E3779B97F4A7C15)
    z = (z ^ (z >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    z = (z ^ (z >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return z ^ (z >> np.uint64(31))


@open_part
def stream(seed: int, replication: int, lane: int, purpose: int) -> np.uint64:
    """Key of the variates of one purpose in one lane of one shift."""
    key = mix(mix(np.uint64(seed)) + np.uint64(replication))
    return mix(mix(key + np.uint64(lane)) + np.uint64(purpose))


@open_part
def uniform(key: np.uint64, number: int) -> float:
    """Variate of a stream by its number, between 0 and 1, never either."""
    word = mix(key + np.uint64(number) * np.uint64(0x9E3779B97F4A7C15))
    return (np.float64(np.int64(word >> np.uint64(11))) + 0.5) * (1.0 / 9007199254740992.0)


@open_part
def normal(u: float) -> float:
    """Standard normal quantile to 1.2e-9 relative (Acklam's rational approximation, MEMORY)."""
    if 0.02425 <= u <= 0.97575:
        q = u - 0.5
        r = q * q
        top = (
            (
                ((-3.969683028665376e01 * r + 2.209460984245205e02) * r - 2.759285104469687e02) * r
                + 1.383577518672690e02
            )
            * r
            - 3.066479806614716e01
        ) * r + 2.506628277459239e00
        base = (
            (
                ((-5.447609879822406e01 * r + 1.615858368580409e02) * r - 1.556989798598866e02) * r
                + 6.680131188771972e01
            )
            * r
            - 1.328068155288572e01
        ) * r + 1.0
        return float(top * q / base)
    q = math.sqrt(-2.0 * math.log(u if u < 0.5 else 1.0 - u))
    top = (
        (
            ((-7.784894002430293e-03 * q - 3.223964580411365e-01) * q - 2.400758277161838e00) * q
            - 2.549732539343734e00
        )
        * q
        + 4.374664141464968e00
    ) * q + 2.938163982698783e00
    base = (
        ((7.784695709041462e-03 * q + 3.224671290700398e-01) * q + 2.445134137142996e00) * q
        + 3.754408661907416e00
    ) * q + 1.0
    return float(top / base if u < 0.5 else -top / base)


@open_part
def cone_length(u: float, mean_m: float, cv: float) -> float:
    """Length of a cone [m], gamma by the cube of a normal (Wilson and Hilferty 1931)."""
    if cv == 0.0:
        return mean_m
    a = cv * cv / 9.0
    return float(mean_m * max(1.0 - a + normal(u) * cv / 3.0, 0.1) ** 3)


@inlined
def draw(lane: LaneRecord, purpose: int) -> float:
    """Draw the next variate of a purpose."""
    number = lane.drawn[purpose]
    lane.drawn[purpose] = number + 1
    return uniform(lane.key[purpose], number)


@inlined
def service_s(line: LineRecord, lane: LaneRecord, kind: int) -> float:
    """Draw how long a hand takes for a kind of call [s]."""
    if line.service_sigma == 0.0:
        return float(line.service_mean_s[kind])
    z = normal(draw(lane, DOFF_TIME + kind))
    return math.exp(line.service_mu[kind] + line.service_sigma * z)


@inlined
def to_break(lane: LaneRecord, purpose: int, mean_m: float) -> float:
    """Draw the strand to the next break [m]; without end when there are none."""
    return NEVER if mean_m == NEVER else -math.log(draw(lane, purpose)) * mean_m
