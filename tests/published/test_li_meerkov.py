"""The two-machine Bernoulli line; values recomputed from its chain elsewhere."""

import pytest

from clew.line.interference.bernoulli_line import bernoulli_line_a_cycle


@pytest.mark.outside(
    document="J. Li & S. M. Meerkov, Production Systems Engineering",
    edition="formula MEMORY; values recomputed elsewhere",
    section="two-machine Bernoulli lines",
    mark="COMPUTED",
)
@pytest.mark.parametrize(
    ("first", "second", "buffer", "rate"),
    [
        (0.9, 0.9, 1, 0.818182),
        (0.9, 0.9, 2, 0.857143),
        (0.9, 0.9, 3, 0.870968),
        (0.9, 0.9, 5, 0.882353),
        (0.9, 0.7, 2, 0.688968),
        (0.8, 0.9, 3, 0.791536),
        (0.95, 0.95, 5, 0.940594),
        (0.55, 0.55, 5, 0.504587),
    ],
)
def test_pieces_a_cycle(first, second, buffer, rate):
    found = bernoulli_line_a_cycle(first_works=first, second_works=second, buffer=buffer)
    assert found == pytest.approx(rate, abs=6e-7)
