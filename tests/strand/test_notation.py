"""Reading plied counts: either order where it can be told, refusal where it cannot."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.quantities import convert_count
from clew.strand.notation import PliedCount, read_plied


@pytest.mark.parametrize(
    ("text", "plies", "single_tex"),
    [
        ("2/28 Nm", 2, 1000 / 28),
        ("28/2 Nm", 2, 1000 / 28),
        ("Nm 28/2", 2, 1000 / 28),
        ("nm 2/28", 2, 1000 / 28),
        ("4/2.4 Nm", 4, 1000 / 2.4),
        ("3 / 12 Nm", 3, 1000 / 12),
        ("1/20 Nm", 1, 50.0),
        ("6/6 Nm", 6, 1000 / 6),
        ("R 40 tex/2", 2, 20.0),
        ("r40tex / 2", 2, 20.0),
        ("R 500 dtex/2", 2, 25.0),
        ("20 tex x 2", 2, 20.0),
        ("20 tex × 3", 3, 20.0),
        ("400 tex", 1, 400.0),
        ("Nm 2.5", 1, 400.0),
    ],
)
def test_what_is_written_is_read(text: str, plies: int, single_tex: float) -> None:
    found = read_plied(text)
    assert found.plies == plies
    assert found.single_tex == pytest.approx(single_tex, rel=1e-12)
    assert found.resultant_tex == pytest.approx(plies * single_tex, rel=1e-12)


@given(ends=st.integers(2, 8), count=st.integers(9, 200))
def test_either_order_is_one_yarn_when_only_one_number_can_be_the_ends(ends, count) -> None:
    assert read_plied(f"{ends}/{count} Ne") == read_plied(f"{count}/{ends} Ne")
    single = convert_count(count, "Ne", "tex")
    assert read_plied(f"{ends}/{count}s Ne").single_tex == pytest.approx(single, rel=1e-12)


def test_an_ambiguous_slash_is_refused_and_read_when_the_order_is_said() -> None:
    with pytest.raises(BadInput, match=r"ambiguous.*2 ends of 8.*8 ends of 2"):
        read_plied("2/8 Nm")
    assert read_plied("2/8 Nm", order="ends-first") == PliedCount(250.0, 2, 125.0)
    assert read_plied("2/8 Nm", order="count-first") == PliedCount(4000.0, 8, 500.0)


def test_an_order_that_cannot_be_is_refused() -> None:
    with pytest.raises(BadInput, match="cannot be a number of ends"):
        read_plied("2.5/8 Nm", order="ends-first")


def test_spun_silk_asks_what_its_number_counts() -> None:
    with pytest.raises(BadInput, match="single or the folded"):
        read_plied("30/2 spun silk")
    folded = read_plied("30/2 spun silk", counts="resultant")
    assert convert_count(folded.resultant_tex, "tex", "Ne") == pytest.approx(30.0)
    assert folded.single_tex == pytest.approx(folded.resultant_tex / 2)


@given(take_up=st.floats(0.0, 0.5))
def test_take_up_stands_between_the_ends_and_the_plied_yarn(take_up: float) -> None:
    from_ends = read_plied("20 tex x 2", take_up_frac=take_up)
    assert from_ends.single_tex == 20.0
    assert from_ends.resultant_tex == pytest.approx(40.0 / (1.0 - take_up))
    from_plied = read_plied("R 40 tex/2", take_up_frac=take_up)
    assert from_plied.resultant_tex == 40.0
    assert from_plied.single_tex == pytest.approx(20.0 * (1.0 - take_up))


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("2/20s", "without its count system"),
        ("20/2 tex", "does not say which count"),
        ("150/48 den", "does not say which count"),
        ("R 40 Nm/2", "written with a slash"),
        ("20 tex x 0", "one end or more"),
        ("0/2 Nm", "more than 0"),
        ("0 tex", "more than 0"),
        ("9/12 Nm", "whole number of ends"),
        ("2/28 foo", "no such count system"),
        ("2/3/40 Nm", "not a plied count"),
        ("2//3 Ne", "not a plied count"),
        ("", "not a plied count"),
        ("9" * 400 + " tex", "not a plied count"),
    ],
)
def test_what_cannot_be_read_is_refused(text: str, why: str) -> None:
    with pytest.raises(BadInput, match=why):
        read_plied(text)


@given(st.text(max_size=30))
def test_no_text_breaks_the_reader(text: str) -> None:
    try:
        found = read_plied(text)
    except BadInput:
        return
    assert found.plies >= 1
    assert found.single_tex > 0.0


def test_a_single_is_one_end_in_either_order() -> None:
    assert read_plied("1/20 Nm", order="ends-first") == PliedCount(50.0, 1, 50.0)
    assert read_plied("20/1 Nm", order="count-first") == PliedCount(50.0, 1, 50.0)
    with pytest.raises(BadInput, match="cannot be a number of ends"):
        read_plied("0/20 Nm", order="ends-first")
