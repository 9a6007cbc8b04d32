"""What is said to a buyer: how usual, first-quality or not, what goes back to spinning."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import poisson

from clew.faults import BadInput
from clew.knots.answer import Prevention, ReturnedBall, answer_buyer
from clew.knots.answer_grade_words import first_sentence
from clew.knots.answer_odds import band_words, joins_words, odds_words
from clew.knots.answer_plain import answer_as_plain
from clew.knots.answer_price_words import prevention_sentence
from clew.knots.answer_words import (
    cone_sentence,
    spinning_sentences,
    split_sentence,
    usual_sentence,
)
from clew.knots.cutting import CutPrices, FirstRule, plan_cuts
from clew.knots.knot_map import knot_map
from clew.knots.law import knot_law
from clew.knots.letter import DRAFT_MARK, letter_paragraphs
from clew.knots.monte_carlo import draw_balls
from clew.knots.price import Band
from clew.knots.rate_tests import cones_against_rate
from clew.knots.sources import Sources

LENGTH_M = 200.0
SOURCES = Sources(0.001, 2.0, 4000.0, 0.05, 0.0002, 0.0001)
RULE = FirstRule(LENGTH_M, 2, 5.0, 0.1)
BALL = ReturnedBall(SOURCES, RULE, 2, breaks_band=(0.7, 1.4), made_a_year=50_000)


def test_the_chances_are_those_of_the_law():
    found = answer_buyer(BALL)
    law = knot_law(SOURCES, LENGTH_M)
    assert found.exactly.value == law.pmf[2]
    assert found.at_least.value == pytest.approx(1.0 - law.pmf[0] - law.pmf[1], rel=1e-9)
    for factor, end in ((0.7, "low"), (1.4, "high")):
        other = knot_law(replace(SOURCES, breaks_per_m=0.001 * factor), LENGTH_M)
        assert getattr(found.at_least, end) == pytest.approx(other.more_than(1), rel=1e-9)
        assert getattr(found.exactly, end) == pytest.approx(other.pmf[2], rel=1e-9)


def test_among_first_quality_against_drawn_balls():
    drawn = draw_balls(SOURCES, LENGTH_M, balls=400_000, seed=3)
    first = (drawn.joins <= 2) & (drawn.shortest_m >= 5.0)
    found = answer_buyer(BALL)
    assert found.first_share.value == pytest.approx(first.mean(), abs=0.002)
    of_first = float((drawn.joins[first] == 2).mean())
    assert found.exactly_of_first.value == pytest.approx(of_first, rel=0.05)
    assert found.at_least_of_first.value == pytest.approx(found.exactly_of_first.value)
    # first-quality balls are counted in a year, so more than those are wound
    assert found.sold_a_year.value == pytest.approx(50_000 * of_first, rel=0.05)
    wound = 50_000 * (drawn.joins == 2).sum() / first.sum()
    assert found.exactly_a_year.value == pytest.approx(wound, rel=0.03)


def test_more_balls_wound_than_first_quality_ones_are_not_capped():
    """Most balls hold a join and the limit is none: more such are wound than are sold."""
    ball = ReturnedBall(Sources(0.01), FirstRule(LENGTH_M, 0, 0.0, 0.1), 1, made_a_year=100)
    assert answer_buyer(ball).exactly_a_year.value == pytest.approx(100 * 2.0, rel=1e-6)


def test_a_ball_that_could_not_have_been_sold_as_first():
    found = answer_buyer(replace(BALL, joins=3))
    assert found.exactly_of_first.value == found.sold_a_year.value == 0.0
    assert found.first_quality is False
    assert first_sentence(found).startswith("Over the limit of 2")


def test_no_join_at_all():
    found = answer_buyer(replace(BALL, joins=0))
    assert found.at_least.value == 1.0
    assert found.first_quality is True
    assert found.shortest_m is None
    assert found.as_short is None
    assert split_sentence(found) == ""
    assert found.split.rate_times < 1.0
    assert usual_sentence(found).startswith("No knot in a ball of 200 m")
    assert found.ball.limit_against is None


def test_beyond_the_tail_is_told_as_fewer_than_one_in_a_million():
    found = answer_buyer(replace(BALL, joins=100))
    assert found.exactly.value == 0.0
    assert found.doubled_weight is None
    assert "fewer than one ball in a million has just so many" in usual_sentence(found)
    assert sum(found.split.expected.values()) == pytest.approx(100.0)
    assert found.split.rate_times > 10.0


@pytest.mark.parametrize(
    ("chance", "words"),
    [
        (1 / 38.2, "one ball in 38"),
        (1 / 1234, "one ball in 1200"),
        (0.23, "one ball in 4.3"),
        (0.8, "80 balls in 100"),
        (1.0, "every ball"),
        (9e-7, "fewer than one ball in a million"),
        (0.0, "fewer than one ball in a million"),
    ],
)
def test_odds_in_words(chance, words):
    assert odds_words(chance) == words


def test_a_band_in_words_runs_from_the_likelier_end():
    said = band_words(Band(1 / 51, 1 / 38, 1 / 30))
    assert said == "one ball in 38 (one in 30 to one in 51, as the break rate is uncertain)"
    assert band_words(Band(0.1, 0.1, 0.1)) == "one ball in 10"


def test_a_band_in_words_runs_from_low_to_high():
    likely = band_words(Band(0.4, 0.6, 0.7))
    assert likely == "60 balls in 100 (40 to 70, as the break rate is uncertain)"
    assert "60 balls in 100" in odds_words(0.6)


@pytest.mark.parametrize(
    ("joins", "places", "verdict"),
    [
        (2, (50.0, 120.0), True),
        (2, (3.0, 120.0), False),
        (2, (0.0, LENGTH_M), False),
        (2, (197.0,), False),  # one place is enough to see a short piece
        (2, (50.0,), None),
        (2, (), None),
        (3, (50.0, 100.0, 150.0), False),
    ],
)
def test_first_quality_by_limit_and_pieces(joins, places, verdict):
    found = answer_buyer(replace(BALL, joins=joins, positions_m=places))
    assert found.first_quality is verdict
    assert ("not a first-quality ball" in first_sentence(found)) is (verdict is False)


def test_pieces_that_cannot_all_be_long_enough():
    found = answer_buyer(replace(BALL, rule=FirstRule(LENGTH_M, 5, 70.0, 0.1)))
    assert found.pieces_long_enough is False
    assert found.long_enough == 0.0


def test_splices_that_count_half():
    found = answer_buyer(replace(BALL, joins=4, join_counts=0.5))
    assert found.within_limit
    assert found.ball.limit_against == 1
    assert not answer_buyer(replace(BALL, joins=5, join_counts=0.5)).within_limit
    free = replace(BALL, joins=20, join_counts=0.0)
    assert answer_buyer(free).within_limit
    assert free.limit_against is None


def test_the_shortest_piece_against_uniform_places():
    found = answer_buyer(replace(BALL, positions_m=(40.0, 46.0)))
    assert found.shortest_m == pytest.approx(5.9)  # the knot takes 0.1 m
    # a join that begins 0.1 m before the ball still reaches into it
    places = np.sort(np.random.default_rng(4).random((200_000, 2)), axis=1) * (LENGTH_M + 0.1) - 0.1
    pieces = np.diff(places, axis=1, prepend=-0.1, append=LENGTH_M).min(axis=1) - 0.1
    assert found.as_short == pytest.approx((pieces <= 5.9).mean(), abs=0.005)


def test_what_goes_back_to_spinning():
    found = answer_buyer(BALL)
    assert found.cones_needed == cones_against_rate(1.0, 4.0, times=2.0, shape=2.0)
    expected = 1.0 - (1.0 - found.at_least.value) ** (50_000 / found.first_share.value)
    assert found.any_a_year.value == pytest.approx(expected, abs=1e-9)
    said = " ".join(spinning_sentences(found))
    assert "no sample of the lot" in said
    assert f"knots of {found.cones_needed.cones} cones" in said


def test_the_weight_of_a_doubled_rate_is_a_ratio_of_poissons():
    found = answer_buyer(ReturnedBall(Sources(0.001), RULE, 3))
    ratio = poisson.pmf(3, 0.4) / poisson.pmf(3, 0.2)
    assert found.doubled_weight == pytest.approx(ratio, rel=1e-9)
    assert found.cones_needed is None
    assert cone_sentence(found) == ""


def test_sources_that_cannot_give_the_ball():
    found = answer_buyer(ReturnedBall(Sources(cone_length_m=50.0), RULE, 9))
    assert found.split is None
    assert found.exactly.value == 0.0
    assert "cannot give such a ball" in split_sentence(found)
    assert any("cannot say" in one for one in letter_paragraphs(found))


def test_every_fault_at_once():
    bad = ReturnedBall(
        SOURCES, replace(RULE, limit=-1), 1, (5.0, 5.0), breaks_band=(2.0, 1.0), made_a_year=-1
    )
    with pytest.raises(BadInput) as caught:
        answer_buyer(bad)
    whats = " ".join(fault.what for fault in caught.value.faults)
    for word in ("same place", "fewer joins than places", "no such band", "no such limit"):
        assert word in whats
    with pytest.raises(BadInput):
        answer_buyer(replace(BALL, positions_m=(201.0,)))


def test_prevention_is_told_with_its_band():
    """Both costs: of one who knows the whole strand, and wound straight through."""
    priced = Prevention(
        1, Band(0.1, 0.2, 0.3), Band(0.05, 0.1, 0.2), Band(1.0, 2.0, 3.0), Band(0.5, 1.0, 2.0)
    )
    said = prevention_sentence(answer_buyer(BALL, prevention=priced), "GBP")
    assert said == (
        "A limit of 1 would have kept it back. Over today's limit it costs at the very least "
        "GBP 0.1 a ball (GBP 0.05 to GBP 0.2; by one who knows the whole strand), and GBP 1 a ball "
        "(GBP 0.5 to GBP 2) wound straight through. Over having neither limit nor shortest piece "
        "it costs at the very least GBP 0.2 a ball (GBP 0.1 to GBP 0.3; by one who knows the whole "
        "strand), and GBP 2 a ball (GBP 1 to GBP 3) wound straight through."
    )
    plain = answer_as_plain(answer_buyer(BALL, prevention=priced))["prevention"]
    assert plain["straight_per_ball"]["value"] == 2.0
    assert plain["straight_more_than_today_per_ball"]["value"] == 1.0
    over = answer_buyer(replace(BALL, joins=3), prevention=Prevention(2, Band(0.1, 0.2, 0.3)))
    assert "Today's limit of 2 forbids such a ball" in prevention_sentence(over)
    none = answer_buyer(BALL, prevention=Prevention(0, Band(1.0, math.inf, math.inf)))
    assert "none is first-quality" in prevention_sentence(none)
    assert answer_as_plain(none)["prevention"]["cost_per_ball"]["high"] is None


def test_a_short_piece_is_not_blamed_on_the_limit():
    found = answer_buyer(replace(BALL, positions_m=(3.0, 120.0)))
    said = prevention_sentence(found)
    assert "shortest-piece rule already forbids" in said
    assert "slipped past" in said
    assert "A limit of" not in said


@pytest.mark.parametrize(
    ("last", "verdict"), [(194.95, None), (194.89, True), (194.9, True), (195.01, False)]
)
def test_a_piece_within_one_join_of_the_rule_is_too_near_to_tell(last, verdict):
    """The knot takes 0.1 m: read from the start, 194.95 leaves 4.95 m; from the end, 5.05 m."""
    found = answer_buyer(replace(BALL, positions_m=(100.0, last)))
    assert found.first_quality is verdict
    assert found.near_the_rule is (verdict is None)
    assert ("too near to 5 m to tell" in first_sentence(found)) is (verdict is None)
    other = answer_buyer(replace(BALL, positions_m=(100.0, LENGTH_M - last)))
    assert other.first_quality is verdict


@pytest.mark.parametrize("places", [(40.0, 45.05), (40.0, 45.11), (90.0, 150.0), (5.2, 194.7)])
def test_cut_and_answer_grade_the_same_ball_alike(places):
    knots = knot_map(list(places), LENGTH_M)
    cut = plan_cuts(knots, RULE, CutPrices(4.0, 2.0)).straight
    found = answer_buyer(replace(BALL, positions_m=places))
    assert found.first_quality is bool(cut.first)


def test_pieces_and_knots_that_do_not_fit_the_ball_together():
    """Three pieces of 66.6 m fit without the knots, not with 0.1 m for each."""
    tight = answer_buyer(replace(BALL, rule=FirstRule(LENGTH_M, 2, 66.61, 0.1)))
    assert tight.pieces_long_enough is False
    assert tight.long_enough == 0.0


def test_first_share_takes_the_knots_own_length():
    """Held against balls of a drawn strand whose knots are 4 m long."""
    rule = FirstRule(LENGTH_M, 2, 5.0, 4.0)
    found = answer_buyer(ReturnedBall(Sources(0.005), rule, 2))
    random = np.random.default_rng(6)
    first = 0
    for number in random.poisson(0.005 * (LENGTH_M + 4.0), 40_000):
        places = np.sort(random.random(number)) * (LENGTH_M + 4.0) - 4.0
        pieces = np.diff(places, prepend=-4.0, append=LENGTH_M) - 4.0
        first += number <= 2 and pieces.min() >= 5.0
    # joins that only reach in are left to the price: 4 m of 200 make 0.02 of a join
    assert found.first_share.value == pytest.approx(first / 40_000, abs=0.02)
    assert found.long_enough == pytest.approx((1.0 - 3.0 * 9.0 / 204.0) ** 2)


@pytest.mark.parametrize("places", [(), (0.5, 1.0), (0.0,)])
def test_a_splice_that_counts_nothing_is_seen_by_no_rule(places):
    found = answer_buyer(replace(BALL, join_counts=0.0, joins=30, positions_m=places))
    assert found.first_quality is True
    assert found.long_enough == found.first_share.value == 1.0
    assert "whatever their number and places" in first_sentence(found, joined_by="splice")
    letter = "\n".join(letter_paragraphs(found, joined_by="splice"))
    assert "splices do not count, whatever their number and places" in letter
    assert "no piece shorter" not in letter
    assert "at most" not in letter


def test_any_a_year_has_a_band_and_plain_words():
    few = answer_buyer(replace(BALL, joins=3, made_a_year=200))
    band = few.any_a_year
    assert 0.0 < band.low < band.value < band.high < 1.0
    assert answer_as_plain(few)["p_any_a_year"]["low"] == band.low
    said = " ".join(spinning_sentences(few))
    assert "With nothing worse than usual, a year's balls hold one like it with a chance of" in said
    many = " ".join(spinning_sentences(answer_buyer(BALL)))
    assert "a year's balls are as good as certain to hold one like it." in many


def test_a_single_knot_is_told_as_one():
    said = split_sentence(answer_buyer(replace(BALL, joins=1)))
    assert said.startswith("The knot was a break re-tied at spinning with ")
    assert "Of the 1 knot" not in said
    assert "a tie from cone to cone with " in said


def test_one_word_for_one_thing():
    for joined_by, other in (("knot", "splice"), ("splice", "knot")):
        found = answer_buyer(replace(BALL, positions_m=(60.0, 130.0)))
        said = " ".join(
            (
                usual_sentence(found, joined_by=joined_by),
                first_sentence(found, joined_by=joined_by),
                split_sentence(found, joined_by),
                spinning_sentences(found, joined_by)[0],
            )
        )
        assert f"2 {joined_by}s" in said
        assert "join" not in said
        assert other not in said
        assert "breaks re-tied at spinning" in said


FORBIDDEN = (
    "guarantee", "liable", "liability", "our fault", "we promise", "refund", "compensat",
    "we admit", "defect", "apolog", "we will",
)  # fmt: skip


@pytest.mark.parametrize("joins", [0, 1, 2, 3, 100])
@pytest.mark.parametrize("units", ["metric", "yard"])
def test_the_letter_has_numbers_and_no_promises(joins, units):
    found = answer_buyer(replace(BALL, joins=joins))
    letter = letter_paragraphs(found, ball_name="Fell 100", lot_name="L7", units=units)
    text = "\n".join(letter)
    assert letter[0] == DRAFT_MARK
    for word in FORBIDDEN:
        assert word not in text.lower()
    assert odds_words(found.exactly.value) in text
    assert ("219 yd" if units == "yard" else "200 m") in text
    assert "Fell 100" in text
    assert "dye lot L7" in text
    assert "terms of sale" in text
    assert "band" in text
    offers = [one for one in letter if "replace" in one]
    assert len(offers) == 1
    assert offers[0].startswith("[if your terms offer it:")
    assert offers[0].endswith("]")
    assert ("5.47 yd" in text) is (units == "yard" and joins > 0)


def test_the_letter_says_splice_where_it_is_one():
    text = "\n".join(letter_paragraphs(answer_buyer(BALL), joined_by="splice"))
    assert "2 splices" in text
    assert "knot" not in text


def test_the_letter_counts_as_one_counts():
    one = answer_buyer(replace(BALL, rule=replace(RULE, limit=1), joins=1))
    text = "\n".join(letter_paragraphs(one))
    assert "holds at most 1 knot," in text
    assert " 1 knots" not in text
    none = answer_buyer(replace(BALL, rule=replace(RULE, limit=0), joins=1))
    assert "holds no knot, and no piece" in "\n".join(letter_paragraphs(none))
    usual = "\n".join(letter_paragraphs(answer_buyer(replace(BALL, joins=0))))
    assert "balls in 100 (68.8 to 78.1, as the break rate is uncertain) hold just no knot" in usual
    assert joins_words(1, "splice") == "1 splice"


def test_the_letter_on_a_ball_within_the_rule():
    inside = answer_buyer(replace(BALL, positions_m=(60.0, 130.0)))
    assert any("is within that grade" in one for one in letter_paragraphs(inside))
    outside = answer_buyer(replace(BALL, joins=4))
    assert any("If we find in it" in one for one in letter_paragraphs(outside))


def test_same_question_same_answer():
    short = replace(BALL, sources=Sources(0.001, 2.0, 230.0, 0.3), seed=11)
    one, other = (answer_as_plain(answer_buyer(short)) for _ in range(2))
    assert one == other
    assert one["split"]["drawn"] > 0
    assert "standard error" in split_sentence(answer_buyer(short))


def test_the_year_counts_ball_by_ball_from_the_first() -> None:
    one, many = (answer_buyer(replace(BALL, made_a_year=made)) for made in (1, 50_000))
    assert one.exactly_a_year is not None and many.exactly_a_year is not None
    for name in ("low", "value", "high"):
        each = getattr(one.exactly_a_year, name)
        assert 0.0 < each < 1.0
        assert getattr(many.exactly_a_year, name) == pytest.approx(50_000 * each)


def test_a_ball_with_more_joins_than_the_law_reaches_has_no_chance() -> None:
    """The law stops where what is left is nothing: at its last number, one on, and two on."""
    law = knot_law(SOURCES, LENGTH_M).pmf
    for joins in (law.size - 1, law.size, law.size + 1):
        found = answer_buyer(replace(BALL, joins=joins, breaks_band=(1.0, 1.0)))
        assert found.exactly.value == (law[joins] if joins < law.size else 0.0)
        assert found.exactly.value < 1e-12
