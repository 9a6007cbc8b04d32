"""A ball's terms as the mill file gives them."""

from __future__ import annotations

import math

import pytest

from clew.ball.from_mill import terms_of
from clew.faults import BadInput
from clew.mill import mill_from_text
from clew.mill.model import Mill
from clew.strand.bulk import steamed


def test_a_measured_lot_is_weighed_with_the_nominal_count(demo_mill: Mill) -> None:
    """Normal with known variances, by hand: 400 tex +- 0.8 %, and 403 on eight cones."""
    strand = terms_of(demo_mill, "Querl 100", "SL-207").strand
    sample_cv = math.hypot(0.013, 0.006) / math.sqrt(8)
    weights = (1 / 0.008**2, 1 / sample_cv**2)
    nominal = 400.0 * 1.092 / 1.09
    log_count = (weights[0] * math.log(nominal) + weights[1] * math.log(403.0)) / sum(weights)
    assert strand.count_spun_tex == pytest.approx(math.exp(log_count))
    assert strand.spreads[0].cv == pytest.approx(1 / math.sqrt(sum(weights)))
    after = steamed(
        strand.count_spun_tex,
        0.20,
        finish_loss_frac=0.008,
        regain_in_frac=0.092,
        regain_out_frac=0.095,
    )
    assert strand.regain_in_frac == 0.092
    assert strand.count_tex == pytest.approx(after.count_tex)


def test_measuring_never_makes_a_lot_less_sure(demo_mill: Mill, demo_text: str) -> None:
    """One cone moves the count a little; eight move it more and are surer; none is the nominal."""
    none = terms_of(demo_mill, "Querl 100").strand
    eight = terms_of(demo_mill, "Querl 100", "SL-207").strand
    text = demo_text.replace("cones_measured = 8", "cones_measured = 1", 1)
    one = terms_of(mill_from_text(text), "Querl 100", "SL-207").strand
    assert none.spreads[0].cv > one.spreads[0].cv > eight.spreads[0].cv
    assert 400.0 == none.count_spun_tex < one.count_spun_tex < eight.count_spun_tex < 403.0


def test_without_a_spread_of_lots_the_measured_count_stands_alone(demo_text: str) -> None:
    text = demo_text.replace('count_spun_cv = "0.8 %"', 'count_spun_cv = "0 %"', 1)
    strand = terms_of(mill_from_text(text), "Querl 100", "SL-207").strand
    assert strand.count_spun_tex == 403.0


def test_a_run_is_as_large_as_its_line_and_its_lot(demo_mill: Mill) -> None:
    run = terms_of(demo_mill, "Querl 100", "SL-207").winding.run
    assert (run.winders, run.cones, run.balls) == (6, 96, 1536)
    assert terms_of(demo_mill, "Querl 100").winding.run.cones == 6 * 4


def test_a_target_left_out_is_the_declaration(demo_mill: Mill) -> None:
    promise = terms_of(demo_mill, "Sallowe 100").promise
    assert (promise.target_mass_g, promise.target_length_m) == (100.0, 250.0)


def test_the_blend_has_its_agreed_allowance(demo_mill: Mill) -> None:
    assert terms_of(demo_mill, "Querl 100").strand.allowance_frac == pytest.approx(
        0.55 * 0.1825 + 0.45 * 0.02
    )


@pytest.mark.parametrize(
    ("ball", "lot", "words"),
    [
        ("Querl 101", "", "no such ball"),
        ("Querl 100", "SL-999", "no such dye lot"),
        ("Querl 100", "SA-340", "dye lot SA-340 is of Dunnow"),
    ],
)
def test_a_name_that_is_not_there_is_one_line_with_those_that_are(
    demo_mill: Mill, ball: str, lot: str, words: str
) -> None:
    with pytest.raises(BadInput, match=words) as caught:
        terms_of(demo_mill, ball, lot)
    assert caught.value.faults[0].expected.startswith("one of")
