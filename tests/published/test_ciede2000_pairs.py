"""CIEDE2000 against the pairs its authors published, and against another program."""

from __future__ import annotations

import csv
import warnings
from pathlib import Path

import numpy as np
import pytest

from clew.strand.shade import ciede2000

PAIRS = Path(__file__).parent / "data" / "ciede2000_pairs.csv"


def published() -> list[tuple[float, ...]]:
    with PAIRS.open(encoding="utf-8") as rows:
        return [tuple(float(cell) for cell in row.values()) for row in csv.DictReader(rows)]


@pytest.mark.outside(
    document="Sharma, Wu and Dalal, Color Research and Application 30 (2005) 21-30",
    edition="2005",
    section="Table 1, seventeen of the 34 pairs, printed to four places",
    mark="READ",
)
@pytest.mark.parametrize("pair", published(), ids=lambda pair: f"{pair[:3]}-{pair[3:6]}")
def test_each_published_pair(pair: tuple[float, ...]) -> None:
    assert float(ciede2000(pair[:3], pair[3:6])) == pytest.approx(pair[6], abs=5.1e-5)
    assert float(ciede2000(pair[3:6], pair[:3])) == pytest.approx(pair[6], abs=5.1e-5)


@pytest.mark.outside(
    document="Sharma, Wu and Dalal, Color Research and Application 30 (2005) 21-30",
    edition="2005",
    section="Table 1, pair 34",
    mark="READ",
)
def test_a_pair_close_to_black() -> None:
    found = float(ciede2000((2.0776, 0.0795, -1.1350), (0.9033, -0.0636, -0.5514)))
    assert found == pytest.approx(0.9082, abs=5.1e-5)


@pytest.mark.outside(
    document="Sharma, Wu and Dalal, Color Research and Application 30 (2005) 21-30",
    edition="2005",
    section="the mean hue jumps where two hues lie 180 degrees apart: pairs 9 to 16",
    mark="READ",
)
@pytest.mark.parametrize(
    ("first", "before", "after", "jump"),
    [
        ((50, 2.49, -0.001), (50, -2.49, 0.0010), (50, -2.49, 0.0011), 7.2195 - 7.1792),
        ((50, -0.001, 2.49), (50, 0.0010, -2.49), (50, 0.0011, -2.49), 4.7461 - 4.8045),
    ],
)
def test_the_known_jump_of_the_formula(
    first: tuple[float, ...], before: tuple[float, ...], after: tuple[float, ...], jump: float
) -> None:
    """A mean hue taken without care shows no jump, or jumps elsewhere."""
    found = float(ciede2000(first, after)) - float(ciede2000(first, before))
    assert found == pytest.approx(jump, abs=1.1e-4)


@pytest.mark.outside(
    document="colour-science, agreement with a library",
    edition="0.4",
    section="delta_E_CIE2000 on 20 000 random pairs, greys and opposite hues among them",
    mark="COMPUTED",
)
def test_agrees_with_a_library() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour
    drawn = np.random.default_rng(20)
    one = drawn.uniform((0, -100, -100), (100, 100, 100), (20_000, 3))
    two = one + drawn.normal(0.0, drawn.choice([0.5, 5.0, 40.0], (20_000, 1)), (20_000, 3))
    one[:200, 1:] = 0.0
    two[200:400, 1:] = -one[200:400, 1:]
    assert ciede2000(one, two) == pytest.approx(
        colour.difference.delta_E_CIE2000(one, two), abs=1e-9
    )
