"""The variates of the line in time, in plain Python: counted words, so that any order draws alike.

Every number belongs to (seed, replication, lane, purpose, k): two implementations that ask for the
same k get the same number whatever they did before.

Source: splitmix64 as the step and the mixing of 64-bit words (Steele, Lea and Flood, OOPSLA 2014);
the normal's quantile by Acklam's rational approximation, relative error below 1.15e-9; a gamma by
the cube of a normal (Wilson and Hilferty, 1931).
"""

from __future__ import annotations

import math
import random

START, CONE, FEED_BREAK, WIND_BREAK, DOFF, MEND, FEED, LOAD, CHANGE, COLOUR = range(10)
PURPOSE_OF = {
    "doff": DOFF, "mend": MEND, "feed": FEED, "load": LOAD, "change": CHANGE, "colour": COLOUR,
}  # fmt: skip

_MASK = (1 << 64) - 1
_STEP = 0x9E3779B97F4A7C15

_A = (-3.969683028665376e01, 2.209460984245205e02, -2.759285104469687e02,
      1.383577518672690e02, -3.066479806614716e01, 2.506628277459239e00)  # fmt: skip
_B = (-5.447609879822406e01, 1.615858368580409e02, -1.556989798598866e02,
      6.680131188771972e01, -1.328068155288572e01)  # fmt: skip
_C = (-7.784894002430293e-03, -3.223964580411365e-01, -2.400758277161838e00,
      -2.549732539343734e00, 4.374664141464968e00, 2.938163982698783e00)  # fmt: skip
_D = (7.784695709041462e-03, 3.224671290700398e-01, 2.445134137142996e00,
      3.754408661907416e00)  # fmt: skip
_TAIL = 0.02425


def mix(x: int) -> int:
    """One step of splitmix64 from state x, mixed."""
    z = (x + _STEP) & _MASK
    z = ((z ^ (z >> 30)) * 0xBF58476D1CE4E5B9) & _MASK
    z = ((z ^ (z >> 27)) * 0x94D049BB133111EB) & _MASK
    return z ^ (z >> 31)


def stream_key(seed: int, replication: int, lane: int, purpose: int) -> int:
    """The key of one stream of words."""
    return mix(mix(mix(mix(seed) + replication) + lane) + purpose)


def uniform(key: int, k: int) -> float:
    """Word k of a stream as a number between 0 and 1, neither of them."""
    return ((mix(key + k * _STEP) >> 11) + 0.5) / 9007199254740992.0


def normal_quantile(u: float) -> float:
    """The normal's value below which a share u lies."""
    if u < _TAIL:
        q = math.sqrt(-2.0 * math.log(u))
        return _tail(q)
    if u > 1.0 - _TAIL:
        q = math.sqrt(-2.0 * math.log(1.0 - u))
        return -_tail(q)
    a, b = _A, _B
    q = u - 0.5
    r = q * q
    above = ((((a[0] * r + a[1]) * r + a[2]) * r + a[3]) * r + a[4]) * r + a[5]
    below = ((((b[0] * r + b[1]) * r + b[2]) * r + b[3]) * r + b[4]) * r + 1.0
    return above * q / below


def _tail(q: float) -> float:
    c, d = _C, _D
    above = ((((c[0] * q + c[1]) * q + c[2]) * q + c[3]) * q + c[4]) * q + c[5]
    below = (((d[0] * q + d[1]) * q + d[2]) * q + d[3]) * q + 1.0
    return above / below


class SharedVariates:
    """Every lane's streams of one shift, each with its own count."""

    def __init__(self, seed: int, replication: int, lanes: int) -> None:
        self._keys = [
            [stream_key(seed, replication, lane, purpose) for purpose in range(COLOUR + 1)]
            for lane in range(lanes)
        ]
        self._next = [[0] * (COLOUR + 1) for _ in range(lanes)]

    def uniform(self, lane: int, purpose: int) -> float:
        counts = self._next[lane]
        k = counts[purpose]
        counts[purpose] = k + 1
        return uniform(self._keys[lane][purpose], k)

    def exponential(self, lane: int, purpose: int, mean: float) -> float:
        return -math.log(self.uniform(lane, purpose)) * mean

    def lognormal(self, lane: int, purpose: int, mean: float, cv: float) -> float:
        z = normal_quantile(self.uniform(lane, purpose))
        s = math.sqrt(math.log(1.0 + cv * cv))
        return mean * math.exp(s * z - s * s / 2.0)

    def cone(self, lane: int, mean: float, cv: float) -> float:
        z = normal_quantile(self.uniform(lane, CONE))
        return mean * max(1.0 - cv * cv / 9.0 + z * cv / 3.0, 0.1) ** 3


class PythonVariates:
    """The same laws from Python's own generator, in whatever order they are asked for."""

    def __init__(self, seed: int, replication: int) -> None:
        self._random = random.Random(f"{seed} {replication}")

    def uniform(self, lane: int, purpose: int) -> float:
        return self._random.random()

    def exponential(self, lane: int, purpose: int, mean: float) -> float:
        return self._random.expovariate(1.0 / mean)

    def lognormal(self, lane: int, purpose: int, mean: float, cv: float) -> float:
        s = math.sqrt(math.log(1.0 + cv * cv))
        return self._random.lognormvariate(math.log(mean) - s * s / 2.0, s)

    def cone(self, lane: int, mean: float, cv: float) -> float:
        return self._random.gammavariate(1.0 / (cv * cv), mean * cv * cv)
