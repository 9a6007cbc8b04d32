"""The class report: counts every ball once, shares as a naive count has them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.strand.class_report import report_classes

PAIRS = st.lists(st.tuples(st.integers(0, 7), st.integers(0, 7)), min_size=1, max_size=60)


@given(pairs=PAIRS)
def test_shares_as_a_naive_count_has_them(pairs) -> None:
    stated, suggested = [list(column) for column in zip(*pairs, strict=True)]
    found = report_classes(stated, suggested)
    assert found.balls == sum(map(sum, found.confusion)) == len(pairs)
    assert found.exact_frac == pytest.approx(len([1 for a, b in pairs if a == b]) / len(pairs))
    assert found.within_one_frac == pytest.approx(
        len([1 for a, b in pairs if b in (a - 1, a, a + 1)]) / len(pairs)
    )
    assert found.baseline_exact_frac == pytest.approx(stated.count(4) / len(pairs))
    for category, recall in enumerate(found.recall_frac):
        mine = [b for a, b in pairs if a == category]
        assert recall == (pytest.approx(mine.count(category) / len(mine)) if mine else None)


def test_the_table_as_printed() -> None:
    printed = report_classes([4, 4, 1], [4, 5, 2]).text().splitlines()
    assert printed[0].split()[:4] == ["stated", "\\", "suggested", "0"]
    assert len(printed) == 11
    assert printed[5].split() == ["4", "medium", ".", ".", ".", ".", "1", "1", ".", ".", "50", "%"]
    assert printed[9] == "3 balls: exact 33.3 %, within one class 100.0 %"
    assert printed[10] == "always class 4: exact 66.7 %, within one class 66.7 %"


@pytest.mark.parametrize(
    ("stated", "suggested", "why"),
    [([], [], "nothing to compare"), ([4], [4, 5], "nothing to compare"), ([8], [4], "0 to 7")],
)
def test_what_cannot_be_compared_is_refused(stated, suggested, why: str) -> None:
    with pytest.raises(BadInput, match=why):
        report_classes(stated, suggested)
