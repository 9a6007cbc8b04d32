"""Looking plans up: what a person may write, whole lots, and what is not offered."""

from __future__ import annotations

import pytest

from clew.checks.attributes.curves import chance_accepted
from clew.checks.attributes.iso2859 import (
    AQLS,
    LEVELS,
    code_letter,
    read_aql,
    standard_plan,
    table_cell,
)
from clew.faults import BadInput


@pytest.mark.parametrize(
    ("text", "aql"), [("1.5", "1.5"), ("4", "4.0"), ("10 %", "10"), (".1", "0.10")]
)
def test_an_aql_however_it_is_written(text: str, aql: str) -> None:
    assert read_aql(text) == aql


@pytest.mark.parametrize("text", ["15", "0.065", "2", "abc", "nan", ""])
def test_no_other_aql_is_offered(text: str) -> None:
    with pytest.raises(BadInput, match="not an AQL"):
        read_aql(text)


def test_a_lot_smaller_than_the_plan_is_looked_at_whole() -> None:
    found = standard_plan(40, "0.25")
    assert (found.plan, found.n, found.accept, found.reject) == (None, 40, 0, 1)
    assert standard_plan(51, "0.25").plan is not None


def test_an_arrow_changes_the_number_drawn() -> None:
    found = standard_plan(100, "0.65")
    assert (found.letter, found.plan_letter, found.n) == ("F", "F", 20)
    found = standard_plan(100, "1.0")
    assert (found.letter, found.plan_letter, found.n) == ("F", "E", 13)


def test_reduced_inspection_leaves_a_gap() -> None:
    found = standard_plan(3500, "1.5", severity="reduced")
    assert (found.n, found.accept, found.reject, found.gap) == (80, 3, 6, 2)
    assert found.plan is not None
    assert found.plan.stages[0].accept == 5


def test_a_greater_level_tells_lots_apart_better() -> None:
    """Bad lots pass less often from level S-1 to III; good ones by and large as often."""
    passed = []
    for level in LEVELS:
        plan = standard_plan(5000, "1.5", level).plan
        assert plan is not None
        passed.append(float(chance_accepted(plan, 0.08, 5000)))
    assert passed == sorted(passed, reverse=True)


@pytest.mark.parametrize("aql", AQLS)
@pytest.mark.parametrize("lot", [1000, 20_000])
def test_tightened_inspection_accepts_no_more(lot: int, aql: str) -> None:
    share = float(aql) / 100
    chances = []
    for severity in ("tightened", "normal", "reduced"):
        plan = standard_plan(lot, aql, severity=severity).plan  # type: ignore[arg-type]
        chances.append(1.0 if plan is None else float(chance_accepted(plan, share)))
    assert chances[0] <= chances[1] <= chances[2] + 1e-9


def test_what_is_not_in_the_tables() -> None:
    with pytest.raises(BadInput, match="balls in the lot"):
        code_letter(1)
    with pytest.raises(BadInput, match="no such level"):
        code_letter(100, "IV")  # type: ignore[arg-type]
    with pytest.raises(BadInput, match="no such code letter"):
        table_cell("I", "1.0")
    with pytest.raises(BadInput, match="not an AQL"):
        table_cell("A", "15")
