"""Weight classes: boundaries as documented, near ones said, words of sellers in one table."""

import itertools
import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.strand.weight_class import (
    BOUNDARIES,
    CLASS_WORDS,
    GUIDELINE_NOTE,
    SELLER_WORDS,
    class_of_word,
    suggest_class,
)


def test_boundaries_run_from_fine_to_coarse_without_a_gap() -> None:
    assert [(b.finer, b.coarser) for b in BOUNDARIES] == [(n, n + 1) for n in range(7)]
    assert all(a.length_m > b.length_m for a, b in itertools.pairwise(BOUNDARIES))
    assert all("READ" in boundary.why for boundary in BOUNDARIES)


@pytest.mark.parametrize(
    ("index", "length_m"),
    [(0, 536.66), (1, 400.0), (2, 300.0), (3, 240.0), (4, 124.90), (5, 100.0), (6, 55.56)],
)
def test_each_boundary_is_where_the_manual_says(index: int, length_m: float) -> None:
    assert BOUNDARIES[index].length_m == pytest.approx(length_m, abs=0.005)


@given(length_m=st.floats(5.0, 5000.0))
def test_a_yarn_lies_within_the_bounds_of_its_class(length_m: float) -> None:
    found = suggest_class(1e5 / length_m)
    assert found.low_m is None or found.low_m <= found.length_m_per_100g
    assert found.high_m is None or found.length_m_per_100g < found.high_m
    assert found.words == CLASS_WORDS[found.category]
    assert found.note == GUIDELINE_NOTE


@given(count=st.floats(10.0, 5000.0), thicker=st.floats(1.0, 20.0))
def test_a_thicker_yarn_is_never_in_a_finer_class(count: float, thicker: float) -> None:
    assert suggest_class(count * thicker).category >= suggest_class(count).category


@pytest.mark.parametrize("boundary", BOUNDARIES, ids=[f"{b.finer}-{b.coarser}" for b in BOUNDARIES])
def test_near_a_boundary_the_neighbour_is_named(boundary) -> None:
    coarse = suggest_class(1e5 / (boundary.length_m * 0.96))
    assert (coarse.category, coarse.neighbour) == (boundary.coarser, boundary.finer)
    fine = suggest_class(1e5 / (boundary.length_m * 1.04))
    assert (fine.category, fine.neighbour) == (boundary.finer, boundary.coarser)
    assert coarse.near_boundary
    assert fine.near_boundary


def test_far_from_any_boundary_there_is_no_neighbour() -> None:
    found = suggest_class(500.0)
    assert (found.category, found.words, found.neighbour) == (4, "medium", None)
    assert not found.near_boundary


def test_100_g_of_220_yards_is_medium() -> None:
    assert suggest_class(1000.0 * 100.0 / (220.0 * 0.9144)).category == 4


def test_the_ends_are_open() -> None:
    assert suggest_class(1.0).high_m is None
    assert suggest_class(1e5).low_m is None


@pytest.mark.parametrize("count", [0.0, -1.0, math.nan, math.inf])
def test_a_count_that_cannot_be_is_refused(count: float) -> None:
    with pytest.raises(BadInput, match="count"):
        suggest_class(count)


def test_each_word_stands_once_and_the_guideline_words_mean_their_class() -> None:
    words = [word for word, _, _ in SELLER_WORDS]
    assert len(set(words)) == len(words)
    assert [class_of_word(word) for word in CLASS_WORDS] == list(range(8))
    assert all(why for _, _, why in SELLER_WORDS)


@pytest.mark.parametrize(
    ("written", "category"), [("DK", 3), ("Super-Bulky", 6), ("light_fingering", 1), (" Aran ", 4)]
)
def test_capitals_and_hyphens_do_not_matter(written: str, category: int) -> None:
    assert class_of_word(written) == category


def test_an_unknown_word_is_refused_with_the_known_ones() -> None:
    with pytest.raises(BadInput, match=r"no such weight word.*lace, cobweb"):
        class_of_word("whisper")


def test_a_word_means_the_class_its_own_reason_names() -> None:
    """Reasons name a class, another word of the same class, or the finest one."""
    named = 0
    for word, category, why in SELLER_WORDS:
        in_class = re.search(r"of class (\d)", why)
        same_as = re.search(r"British word for ([a-z ]+)", why)
        if in_class:
            assert category == int(in_class[1]), word
        elif same_as:
            assert category == class_of_word(same_as[1].strip()), word
        elif why.startswith("finer than lace"):
            assert category == class_of_word("lace") == 0, word
        named += bool(in_class or same_as or why.startswith("finer"))
    assert named >= 10


@pytest.mark.parametrize(
    ("plies", "word"),
    [
        *[("2 ply", "lace"), ("4 ply", "fingering"), ("5 ply", "sport"), ("8 ply", "dk")],
        *[("10 ply", "aran"), ("12 ply", "chunky"), ("sock", "fingering")],
    ],
)
def test_the_british_ply_words_are_the_american_ones(plies: str, word: str) -> None:
    assert class_of_word(plies) == class_of_word(word)


def test_light_worsted_lies_between_sport_and_worsted() -> None:
    assert class_of_word("sport") < class_of_word("light worsted") < class_of_word("worsted")
