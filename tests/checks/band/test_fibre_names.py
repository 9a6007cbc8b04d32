"""Fibre content in the words and the order of each market's law."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.checks.band.fibre_names import (
    LAW_NAMES,
    content_faults,
    content_of,
    names_of,
    said_content,
    whole_percents,
)
from clew.faults import BadInput
from clew.strand.allowances import conditioned_from_dry
from clew.strand.fibres import FIBRES

EU = "eu-1007-2011"
shares = st.lists(st.floats(0.001, 1.0), min_size=1, max_size=7).map(
    lambda found: [one / math.fsum(found) for one in found]
)


@given(shares)
def test_percentages_fill_the_hundred_and_stay_near(found: list[float]) -> None:
    rounded = whole_percents(found)
    unit = 1.0 if min(found) >= 0.01 else 0.1
    assert math.fsum(rounded) == pytest.approx(100.0)
    assert min(rounded) > 0
    for percent, share in zip(rounded, found, strict=True):
        assert percent / unit == pytest.approx(round(percent / unit))
        assert abs(percent - 100 * share) <= unit * (1 if unit == 1.0 else len(found)) + 1e-6


@given(st.permutations([one.key for one in FIBRES if one.key in LAW_NAMES][:20]), shares)
def test_content_falls_in_mass_and_its_own_words_have_no_fault(
    keys: list[str], found: list[float]
) -> None:
    blend = list(zip(keys, found, strict=False))
    due = content_of(blend, EU, "eu")
    percents = [percent for _, percent in due.parts]
    assert percents == sorted(percents, reverse=True)
    assert math.fsum(percents) == pytest.approx(100.0)
    assert content_faults(said_content((due.words,)), due) == ()


def test_shares_are_of_the_conditioned_mass() -> None:
    blend = [("wool_combed", 0.55), ("acrylic", 0.45)]
    due = content_of(blend, EU, "eu")
    wool = dict(conditioned_from_dry(blend, EU))["wool_combed"]
    assert wool == pytest.approx(0.55 * 1.1825 / (0.55 * 1.1825 + 0.45 * 1.02))
    assert due.words == "59 % wool, 41 % acrylic"


@pytest.mark.parametrize(
    ("blend", "eu", "us"),
    [
        ([("viscose", 0.6), ("polyamide_staple", 0.4)], "61 % viscose, 39 % polyamide",
         "61 % rayon, 39 % nylon"),
        ([("cotton", 0.97), ("elastane", 0.03)], "97 % cotton, 3 % elastane",
         "97 % cotton, 3 % spandex"),
        ([("cotton", 0.96), ("silk", 0.02), ("polyester", 0.02)],
         "96 % cotton, 2 % silk, 2 % polyester", "96 % cotton, 4 % other fibers"),
        ([("cotton", 0.96), ("silk", 0.04)], "96 % cotton, 4 % silk",
         "96 % cotton, 4 % other fiber"),
        ([("acrylic", 0.97), ("wool_carded", 0.03)], "97 % acrylic, 3 % wool",
         "97 % acrylic, 3 % wool"),
        ([("wool_combed", 0.5), ("wool_carded", 0.5)], "100 % wool", "100 % wool"),
    ],
)  # fmt: skip
def test_each_market_has_its_words(blend: list[tuple[str, float]], eu: str, us: str) -> None:
    assert content_of(blend, EU, "eu").words == eu
    assert content_of(blend, EU, "uk").words == eu
    assert content_of(blend, EU, "us").words == us


@pytest.mark.parametrize(
    ("line", "fault"),
    [
        ("59 % wool, 41 % acrylic", ""),
        ("57 % Wool; 43 % Acrylic", ""),
        ("55 % wool, 45 % acrylic", "more than 3 points apart"),
        ("41 % acrylic, 59 % wool", "not in falling order"),
        ("59 % wool, 41 % polyester", "acrylic is due and not named so"),
        ("59 % wool, 40 % acrylic", "add up to 99 %"),
        ("59 % wool, 39 % acrylic, 2 % silk", "silk is no name of a fibre in it"),
        ("soft yarn", "no fibre content"),
        ("pure wool", "more than 3 points apart"),
    ],
)
def test_what_a_band_says_is_laid_beside_what_is_due(line: str, fault: str) -> None:
    due = content_of([("wool_combed", 0.55), ("acrylic", 0.45)], EU, "eu")
    found = content_faults(said_content((line,)), due)
    assert (found == ()) if not fault else any(fault in one for one in found), found


def test_one_fibre_may_be_said_in_words() -> None:
    due = content_of([("cotton", 1.0)], EU, "us")
    assert content_faults(said_content(("All cotton",)), due) == ()
    assert content_faults(said_content(("98 % cotton",)), due)


def test_a_name_of_the_other_market_is_no_name() -> None:
    blend = [("polypropylene", 1.0)]
    eu, us = content_of(blend, EU, "eu"), content_of(blend, EU, "us")
    assert content_faults(said_content((us.words,)), eu)
    assert content_faults(said_content(("100 % polypropylene",)), us) == ()


def test_a_fibre_without_a_name_there_is_refused() -> None:
    assert names_of("alginate", "us") == ()
    assert names_of("paper", "eu") == ()
    with pytest.raises(BadInput, match="without a name"):
        content_of([("alginate", 1.0)], EU, "us")


def test_pure_is_a_word_for_all_of_it_only() -> None:
    due = content_of([("wool_carded", 1.0)], EU, "eu")
    assert not content_faults(said_content(["100 % pure wool"]), due)
    both = content_of([("wool_carded", 0.5), ("cotton", 0.5)], EU, "eu")
    assert content_faults(said_content(["51 % pure wool, 49 % cotton"]), both)
