"""Germany's FPackV of 2020: its tables as printed, its test written out anew, and the limits."""

from __future__ import annotations

from fractions import Fraction
from math import ceil

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clew.checks.instruments.rule_limits import average_system
from clew.checks.packages.judge_lot import judge_lot
from clew.checks.packages.plan import Plan, Stage
from clew.checks.packages.rule_sets import judge_many, plan_of
from clew.checks.packages.sample import Sample
from clew.checks.packages.small_lots import sample_factor
from clew.mill.net_content import read_tables

TABLES = read_tables()
LOTS = [10, 49, 50, 99, 100, 500, 501, 3200, 3201, 10_000, 10_001]
SINGLE_PLAN = {100: (50, 3, "0.379"), 501: (80, 5, "0.295"), 3201: (125, 7, "0.234"),
               10_001: (160, 8, "0.207")}  # fmt: skip
"""Annex 3, 3 a: from a lot of, to draw, to accept, k."""
DESTROYED = {10: (5, 0, "2.058"), 100: (8, 0, "1.237"), 501: (13, 1, "0.847"),
             3201: (20, 1, "0.640"), 10_001: (30, 2, "0.503")}  # fmt: skip
"""Annex 3, 3 c."""


def read(section: str) -> pytest.MarkDecorator:
    return pytest.mark.outside(
        document="Fertigpackungsverordnung (FPackV, Germany) of 18 November 2020",
        edition="BGBl. I 2020, 2504, as in the open collection of German federal law",
        section=section,
        mark="READ",
    )


def ask(declared: float = 100.0, lot: int = 400, *, destructive: bool = False) -> Plan:
    return plan_of("de-2020", "mass", declared, lot, TABLES, destructive=destructive)


def row_of(rows: dict[int, tuple[int, int, str]], lot: int) -> tuple[int, int, str]:
    return rows[max(first for first in rows if first <= lot)]


def allowed_g(declared_g: int, times: int) -> Fraction:
    """Section 9 (3) and (4): a band's percentage rounded up to 0.1 g, or its grams."""
    for last, percent, grams in ((50, 9, None), (100, None, "4.5"), (200, "4.5", None),
                                 (300, None, 9), (500, 3, None), (1000, None, 15),
                                 (10_000, "1.5", None)):  # fmt: skip
        if declared_g <= last:
            if grams is not None:
                return times * Fraction(grams)
            return Fraction(ceil(times * Fraction(str(percent)) * declared_g / 10), 10)
    raise AssertionError(declared_g)


def inspected(tenths: list[int], declared_g: int, lot: int, *, destructive: bool) -> bool:
    """The test of Annex 3 in words turned to sums: exact, with no table or code of the house."""
    balls = [Fraction(one, 10) for one in tenths]
    short = sum(declared_g - one > allowed_g(declared_g, 1) for one in balls)
    if any(declared_g - one > allowed_g(declared_g, 2) for one in balls):
        return False
    mean = sum(balls, Fraction(0)) / len(balls)
    if lot < 100 and not destructive:
        return mean >= declared_g and not Fraction(short, len(balls)) > Fraction(2, 100)
    _, accept, k = row_of(DESTROYED if destructive else SINGLE_PLAN, lot)
    if short >= accept + 1:
        return False
    lacking = declared_g - mean
    variance = sum((one - mean) ** 2 for one in balls) / (len(balls) - 1)
    return lacking <= 0 or lacking**2 <= Fraction(k) ** 2 * variance


@read("section 9 (3), (4)")
@pytest.mark.parametrize("declared", [5, 25, 47, 50, 51, 100, 101, 150, 200, 201, 300, 301, 333,
                                      500, 501, 1000, 1001, 1005, 2500, 10_000])  # fmt: skip
def test_tolerable_error_and_marketable_value(declared: int) -> None:
    found = ask(declared)
    assert found.deficiency == pytest.approx(float(allowed_g(declared, 1)), abs=1e-12)
    assert found.far_deficiency == pytest.approx(float(allowed_g(declared, 2)), abs=1e-12)


@read("section 9 (3), (4): rounding")
def test_both_are_rounded_up_by_themselves_and_to_a_tenth_of_a_gram_above_a_kilogram_too() -> None:
    found = ask(47.0)
    assert (found.deficiency, found.far_deficiency) == (4.3, 8.5)  # not twice 4.3
    assert ask(1005.0).deficiency == 15.1


@read("Annex 3, 3 a")
@pytest.mark.parametrize("lot", [100, 500, 501, 3200, 3201, 10_000, 10_001, 100_000])
def test_single_plan(lot: int) -> None:
    n, accept, k = row_of(SINGLE_PLAN, lot)
    found = ask(lot=lot)
    assert found.stages == (Stage(n, accept, accept + 1),)
    assert (found.average_n, found.factor) == (n, float(k))
    assert found.confirmed


@read("Annex 3, 3 c")
@pytest.mark.parametrize("lot", [10, 99, 100, 500, 501, 3200, 3201, 10_000, 10_001])
def test_plan_for_balls_that_are_destroyed(lot: int) -> None:
    n, accept, k = row_of(DESTROYED, lot)
    found = ask(lot=lot, destructive=True)
    assert found.stages == (Stage(n, accept, accept + 1),)
    assert (found.average_n, found.factor) == (n, float(k))


@read("Annex 3, 3: k comes from Student's t")
@pytest.mark.parametrize("n_and_k", [*SINGLE_PLAN.values(), *DESTROYED.values()])
def test_where_k_comes_from(n_and_k: tuple[int, int, str]) -> None:
    """t(0.995, n-1)/sqrt(n) to its last digit, but for n = 5 and n = 160: printed one digit off."""
    n, _, k = n_and_k
    off = {5: -0.001, 160: 0.001}.get(n, 0.0)
    assert float(k) == pytest.approx(round(sample_factor(n, p_frac=0.995), 3) + off, abs=1e-9)


@read("Annex 3, 3 b, 6 a bb, 7 b")
@pytest.mark.parametrize(("lot", "allowed"), [(10, 0), (49, 0), (50, 1), (99, 1)])
def test_a_small_lot_is_weighed_whole(lot: int, allowed: int) -> None:
    found = ask(lot=lot)
    assert found.whole_lot
    assert (found.average_n, found.factor) == (lot, 0.0)
    assert found.stages == (Stage(lot, allowed, allowed + 1),)


@read("Annex 3, 6 a: greater or equal")
def test_a_mean_exactly_at_its_limit_passes() -> None:
    half = np.sqrt(49.0 / 50.0)  # sd 1 over 50 balls
    at_limit = np.tile([99.621 - half, 99.621 + half], 25)[None]
    assert bool(judge_many(ask(), at_limit).average[0])
    assert not bool(judge_many(ask(), at_limit - 0.001).average[0])
    assert bool(judge_many(ask(lot=60), np.full((1, 60), 100.0)).average[0])
    assert not bool(judge_many(ask(lot=60), np.full((1, 60), 99.999)).average[0])


@read("section 9 (4), Annex 3, 7: who exceeds, and how many")
def test_a_ball_exactly_at_its_limit_does_not_exceed_it() -> None:
    def met(contents: list[float], lot: int) -> bool:
        return bool(judge_many(ask(lot=lot), np.array([contents])).individual[0])

    assert met([95.5] * 50, 400)
    assert met([95.4] * 3 + [101.0] * 47, 400)
    assert not met([95.4] * 4 + [101.0] * 46, 400)
    assert met([91.0] + [101.0] * 49, 400)
    assert not met([90.9] + [101.0] * 49, 400)
    assert met([95.4] + [101.0] * 49, 50)  # 2 % exactly
    assert not met([95.4] + [101.0] * 48, 49)  # 2.04 %


@read("Annex 3, 6 and 7")
@settings(max_examples=150, deadline=None)
@given(st.data())
def test_the_annex_written_out_anew_judges_alike(data: st.DataObject) -> None:
    lot, destructive = data.draw(st.sampled_from(LOTS)), data.draw(st.booleans())
    declared = data.draw(st.sampled_from([47, 50, 100, 150, 333, 1005]))
    plan = ask(declared, lot, destructive=destructive)
    n = row_of(DESTROYED, lot)[0] if destructive else lot
    if lot >= 100 and not destructive:
        n = row_of(SINGLE_PLAN, lot)[0]
    rng = np.random.default_rng(data.draw(st.integers(0, 2**32 - 1)))
    short = float(allowed_g(declared, 1))
    low = data.draw(st.floats(-1.0, 0.3)) * short
    contents = rng.normal(declared + low, data.draw(st.floats(0.0, 1.0)) * short, n)
    tenths = np.round(10.0 * contents).astype(int).tolist()
    found = judge_many(plan, np.array([tenths]) / 10.0)
    assert bool(found.passed[0]) == inspected(tenths, declared, lot, destructive=destructive)


@read("Annex 3, 4 b and 6 b: dry mass with the allowance of Annex IX of EU 1007/2011")
def test_textiles_are_judged_at_their_agreed_allowance() -> None:
    names = tuple(map(str, range(50)))
    sample = Sample("mass", np.full(50, 100.5), None, np.zeros(0), names, "")
    said = {"mass": 100.0}
    at_regain = judge_lot("de-2020", [sample], said, 400, TABLES, commercial=True)
    assert at_regain.word == "pass"
    assert judge_lot("uk-2006", [sample], said, 400, TABLES, commercial=True).word != "pass"


@read("Annex 7, 1 b")
def test_error_in_use_of_at_most_a_fifth_of_the_tolerable_one() -> None:
    tolerable = ask().deficiency
    assert average_system(tolerable, error_g=0.9).allowed
    assert not average_system(tolerable, error_g=0.91).allowed
