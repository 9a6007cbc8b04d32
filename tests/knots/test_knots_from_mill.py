"""What the knots room reads off a mill: everything on the basis of the ball."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from scipy.stats import chi2

from clew.cli.knots.terms import terms_from
from clew.faults import BadInput
from clew.knots.from_mill import knot_terms
from clew.mill.model import Mill

PRICED = {"ball_length": 200.0, "price_first": 6.0, "price_second": 3.0}


def test_cones_and_their_breaks_are_taken_through_steam(demo_mill: Mill) -> None:
    terms = knot_terms(demo_mill, "Querl 100")
    # 1.6 kg of 400 tex is 4 km, of which 20 % is lost in steam
    assert terms.sources.cone_length_m == pytest.approx(3200.0)
    assert terms.sources.cone_cv == pytest.approx(math.hypot(0.025, 0.013))
    assert terms.sources.breaks_per_m == pytest.approx(0.35 / 800.0)
    assert terms.sources.dispersion == pytest.approx(1 / 0.81)
    assert terms.sources.line_breaks_per_m == pytest.approx(0.02e-3)


def test_a_measured_lot_makes_cones_shorter_when_it_is_thicker(demo_mill: Mill) -> None:
    thick = knot_terms(demo_mill, "querl 100", "sl-207")
    assert thick.lot_name == "SL-207"
    assert thick.sources.cone_length_m < 3200.0
    assert thick.cone_count_tex == pytest.approx(1.6e6 / (thick.sources.cone_length_m / 0.8))


def test_money_is_the_mills_own(demo_mill: Mill) -> None:
    terms = knot_terms(demo_mill, "Querl 100")
    assert terms.prices.first == 4.6
    assert terms.prices.second == pytest.approx(4.6 * 0.45)
    assert terms.prices.waste_per_m == pytest.approx(0.4 * 0.101 / 200)
    assert terms.prices.parting == pytest.approx(16.0 * 30 / 3600)


def test_the_band_of_the_rate_is_wider_than_poisson_where_cones_differ(demo_mill: Mill) -> None:
    low, high = knot_terms(demo_mill, "Querl 100").breaks_band
    counted = 0.35 * 180
    telling = counted / (1 + 0.35 * 4.0 * 0.81)
    assert low == pytest.approx(chi2.ppf(0.025, 2 * telling) / 2 / telling)
    assert high == pytest.approx(chi2.ppf(0.975, 2 * telling + 2) / 2 / telling)
    assert high - low > (chi2.ppf(0.975, 2 * counted + 2) - chi2.ppf(0.025, 2 * counted)) / (
        2 * counted
    )


def test_without_a_count_there_is_no_band(demo_mill: Mill) -> None:
    yarn = demo_mill.yarn[0].model_copy(update={"breaks_counted_m": None})
    bare = demo_mill.model_copy(update={"yarn": (yarn, *demo_mill.yarn[1:])})
    assert knot_terms(bare, "Querl 100").breaks_band == (1.0, 1.0)


def test_a_ball_without_a_price_has_a_law_and_no_money(demo_mill: Mill) -> None:
    ball = demo_mill.ball[0].model_copy(update={"price": None})
    bare = demo_mill.model_copy(update={"ball": (ball, *demo_mill.ball[1:])})
    terms = knot_terms(bare, "Querl 100")
    assert terms.sources.breaks_per_m > 0.0
    with pytest.raises(BadInput, match="no price of a first-quality ball"):
        _ = terms.prices


@pytest.mark.parametrize(
    ("ball", "lot", "words"),
    [
        ("Querl 300", "", "no such ball"),
        ("Querl 100", "XX-1", "no such dye lot"),
        ("Querl 100", "BR-091", "BR-091 is of Dunnow"),
    ],
)
def test_names_that_are_none_are_refused(demo_mill: Mill, ball: str, lot: str, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        knot_terms(demo_mill, ball, lot)


def test_by_hand_stands_in_place_of_the_mills(mill_dir: Path) -> None:
    own = terms_from(mill_dir, "Querl 100", "", {})
    put = terms_from(mill_dir, "Querl 100", "", {"cone_length": 5000.0, "limit": 1})
    assert put.sources.cone_length_m == pytest.approx(4000.0)
    assert put.sources.breaks_per_m == pytest.approx(own.sources.breaks_per_m)
    assert put.rule.limit == 1
    assert put.breaks_band == own.breaks_band
    rate = terms_from(mill_dir, "Querl 100", "", {"breaks_per_km": 0.7})
    assert rate.sources.breaks_per_m == pytest.approx(2 * own.sources.breaks_per_m)
    assert rate.breaks_band == (1.0, 1.0)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({}, "--ball-length"),
        ({"ball_length": 200.0, "breaks_per_km": -1.0}, "--breaks-per-km"),
        ({"ball_length": 200.0, "cone_cv": 2.0}, "--cone-cv"),
        ({"ball_length": 200.0, "shrink": 0.95}, "--shrink"),
        ({"ball_length": 200.0, "price_first": 5.0}, "--price-second"),
        ({"ball_length": 200.0, "price_first": 5.0, "price_second": 5.1}, "--price-second"),
        ({"ball_length": 200.0, "price_first": math.nan, "price_second": 1.0}, "--price-first"),
        ({"ball_length": 200.0, "price_first": 2e12, "price_second": 1.0}, "--price-first"),
        ({"ball_length": 200.0, "price_first": 5.0, "price_second": -1.0}, "--price-second"),
        (PRICED | {"waste_per_m": -0.1}, "--waste-per-m"),
        (PRICED | {"parting": math.inf}, "--parting"),
        (PRICED | {"join_length": 0.0}, "--join-length"),
        (PRICED | {"min_piece": -1.0}, "--min-piece"),
        (PRICED | {"ball_mass": 0.0}, "--ball-mass"),
        (PRICED | {"ball_mass": math.inf}, "--ball-mass"),
        (PRICED | {"ball_length": 0.0}, "--ball-length"),
        (PRICED | {"limit": 10**400}, "--limit"),
        ({"ball_length": 200.0, "waste_per_m": 0.1}, "--price-first.*--waste-per-m"),
        ({"ball_length": 200.0, "price_second": 3.0}, "--price-first.*--price-second"),
    ],
)
def test_a_fault_names_the_option(given: dict[str, float], words: str) -> None:
    with pytest.raises(BadInput, match=words):
        terms_from(Path(), "", "", given)


def test_all_faults_come_at_once() -> None:
    with pytest.raises(BadInput) as bad:
        terms_from(Path(), "", "", PRICED | {"parting": -1.0, "ball_mass": -1.0, "min_piece": -1.0})
    assert {fault.key for fault in bad.value.faults} == {"--parting", "--ball-mass", "--min-piece"}


def test_a_ball_of_another_length_has_another_mass(mill_dir: Path) -> None:
    own = terms_from(mill_dir, "Querl 100", "", {})
    half = terms_from(mill_dir, "Querl 100", "", {"ball_length": own.rule.ball_length_m / 2})
    assert half.ball_mass_g == pytest.approx(own.ball_mass_g / 2)
    assert half.prices == own.prices
    said = terms_from(mill_dir, "Querl 100", "", {"ball_length": 50.0, "ball_mass": 77.0})
    assert said.ball_mass_g == 77.0
    assert math.isnan(terms_from(Path(), "", "", {"ball_length": 50.0}).ball_mass_g)


def test_another_price_keeps_the_share_of_the_second(mill_dir: Path) -> None:
    own = terms_from(mill_dir, "Querl 100", "", {})
    dear = terms_from(mill_dir, "Querl 100", "", {"price_first": 9.2})
    assert (dear.prices.first, dear.prices.second) == (9.2, pytest.approx(9.2 * 0.45))
    assert dear.prices.waste_per_m == own.prices.waste_per_m
    both = terms_from(mill_dir, "Querl 100", "", {"price_first": 9.2, "price_second": 1.0})
    assert both.prices.second == 1.0
    same = terms_from(mill_dir, "Querl 100", "", {"price_first": own.prices.first})
    assert same.prices == own.prices
    with pytest.raises(BadInput, match="--price-second"):
        terms_from(mill_dir, "Querl 100", "", {"price_second": 4.7})


def test_a_count_of_no_break_is_not_certainty(demo_mill: Mill) -> None:
    yarn = demo_mill.yarn[0].model_copy(update={"breaks_per_km": 0.0})
    none = demo_mill.model_copy(update={"yarn": (yarn, *demo_mill.yarn[1:])})
    terms = knot_terms(none, "Querl 100")
    # Poisson of that mean gives none in 180 km before steam, 144 km after, with chance 0.025
    assert math.exp(-terms.breaks_at_most_per_m * 144_000.0) == pytest.approx(0.025)
    assert knot_terms(demo_mill, "Querl 100").breaks_at_most_per_m == 0.0
    unknown = yarn.model_copy(update={"breaks_counted_m": None})
    bare = demo_mill.model_copy(update={"yarn": (unknown, *demo_mill.yarn[1:])})
    assert knot_terms(bare, "Querl 100").breaks_at_most_per_m == 0.0


def test_the_most_breaks_follow_what_is_said_by_hand(mill_dir: Path) -> None:
    file = mill_dir / "mill.toml"
    text = file.read_text(encoding="utf-8").replace('breaks = "0.35 /km"', 'breaks = "0 /km"')
    file.write_text(text, encoding="utf-8")
    own = terms_from(mill_dir, "Querl 100", "", {})
    assert own.breaks_at_most_per_m == pytest.approx(3.6889 / 144_000.0, rel=1e-4)
    raw = terms_from(mill_dir, "Querl 100", "", {"shrink": 0.0})
    assert raw.breaks_at_most_per_m == pytest.approx(0.8 * own.breaks_at_most_per_m)
    rate = terms_from(mill_dir, "Querl 100", "", {"breaks_per_km": 0.0})
    assert rate.breaks_at_most_per_m == 0.0
