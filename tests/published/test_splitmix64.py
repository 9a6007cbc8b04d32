"""The words that all chance of a simulated shift comes from."""

from __future__ import annotations

import numpy as np
import pytest

from clew.line.simulate.loop import chance

STEP = 0x9E3779B97F4A7C15


@pytest.mark.outside(
    document="Rosetta Code, Pseudo-random numbers/Splitmix64",
    edition="as quoted by public test files",
    section="first five words of seed 1234567",
    mark="READ",
)
def test_first_words_of_a_seed() -> None:
    states = [np.uint64((1_234_567 + k * STEP) % 2**64) for k in range(5)]
    assert [int(chance.mix(state)) for state in states] == [
        6457827717110365317,
        3203168211198807973,
        9817491932198370423,
        4593380528125082431,
        16408922859458223821,
    ]
