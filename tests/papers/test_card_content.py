"""The arranged card says what the rooms computed, once, in words of the floor."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable

import pytest

from clew import __version__
from clew.ball.run_card import RunCard
from clew.ball.size.shape import Range
from clew.mill.model import Mill
from clew.papers import CardContent, card_content, inputs_fingerprint
from clew.papers.ball_words import basis_words, count_note, cover_words, short_words
from clew.papers.card_rows import RULE_WORDS, ball_rows, wind_rows

Cards = Callable[[str, str], RunCard]
Contents = Callable[..., CardContent]


def test_the_head_names_what_is_made_of_what_and_where(content: Contents) -> None:
    found = content()
    assert (found.mill_name, found.line_name, found.ball_name) == (
        "Ostrel Mill",
        "Line 1",
        "Querl 100",
    )
    assert (found.colour_name, found.lot_name) == ("Sloe", "SL-207")
    assert found.yarn_words == "Querl: 55 % combed wool, 45 % acrylic, of the dry mass"
    assert found.title == "Run card – Querl 100 – Sloe, SL-207 – Line 1"


def test_turns_and_masses_are_the_answers_own(content: Contents, card: Cards) -> None:
    found, answer = content(), card("Querl 100", "SL-207").answer
    assert found.turns == str(answer.turns)
    mass, length = found.expected.rows
    low, high = answer.mass_g_interval.low, answer.mass_g_interval.high
    assert mass == (
        "Mass", "100.0 g", "101.0 g", f"{answer.mass_g:.1f} g", f"{low:.1f} to {high:.1f} g",
        f"{answer.mean_mass_g_interval.low:.1f} to {answer.mean_mass_g_interval.high:.1f} g",
    )  # fmt: skip
    assert length[3] == f"{answer.length_m:.1f} m"
    assert found.expected.columns[4:] == ("95 of 100 balls", "Run's mean, 95 % sure")


def test_each_winder_is_set_in_its_own_counts(content: Contents, card: Cards) -> None:
    rows, settings = content().winders.rows, card("Querl 100", "SL-207").settings
    assert [row[2] for row in rows] == [str(setting.counts) for setting in settings]
    assert [row[3] for row in rows] == [setting.counter_words for setting in settings]
    assert [row[5] for row in rows] == [f"{setting.mass_g:.1f} g" for setting in settings]
    whole, part = rows[0][4], rows[5][4]
    assert whole == str(round(settings[0].turns)) and part == f"{settings[5].turns:.1f}"


def test_the_binding_target_is_said_in_whole_turns(content: Contents, card: Cards) -> None:
    mass, length = content().why[0], content("Dunnow 50", "SA-340").why[0]
    by_mass, by_length = (card("Querl 100", "SL-207").answer, card("Dunnow 50", "SA-340").answer)
    assert by_mass.binding == "mass" and by_length.binding == "length"
    assert mass.startswith(
        f"Mass binds: {by_mass.turns - 1} turns would fall just short of the 101.0 g target; "
        f"{by_mass.turns} reach it. Length alone would need {math.ceil(by_mass.turns_length)}."
    )
    assert length.startswith(
        f"Length binds: {by_length.turns - 1} turns would fall just short of the 205.0 m target; "
        f"{by_length.turns} reach it. Mass alone would need {math.ceil(by_length.turns_mass)}."
    )
    assert f"{by_mass.over_mass_g:.1f} g above the declared mass" in mass


def test_a_mean_below_or_on_its_declaration_is_said_so(card: Cards, demo_mill: Mill) -> None:
    before = card("Querl 100", "SL-207")
    short = dataclasses.replace(
        before, answer=dataclasses.replace(before.answer, over_mass_g=-1.23, over_length_m=0.02)
    )
    why = card_content(short, demo_mill.safety, demo_mill.line[0], fingerprint="0" * 8).why[0]
    assert "1.2 g below the declared mass and on the declared length" in why


@pytest.mark.parametrize(
    ("mass", "length", "said"),
    [
        (0.0, 0.025, ""),
        (0.148, 0.0, "About 1 run in 7 would average under the declared mass: "),
        (0.01, 0.45, "About 1 run in 2 would average under the declared length: "),
        (0.13, 0.41, "under the declared length, about 1 run in 8 under the declared mass: "),
        (0.71, 0.0, "About 7 runs in 10 would"),
        (0.99, 0.0, "Nearly every run would"),
    ],
)
def test_a_run_that_may_be_short_is_said_with_what_to_do(
    card: Cards, mass: float, length: float, said: str
) -> None:
    answer = dataclasses.replace(
        card("Querl 100", "SL-207").answer, mass_short_frac=mass, length_short_frac=length
    )
    words = short_words(answer)
    assert said in words
    assert bool(said) == ("raise the target in the mill file, or measure more cones" in words)


def test_a_count_nobody_measured_is_said_where_the_lot_stands(card: Cards) -> None:
    measured, not_measured, none = (card("Querl 100", lot) for lot in ("SL-207", "SL-211", ""))
    notes = [count_note(one.lot_name, one.terms.strand) for one in (measured, not_measured, none)]
    assert notes == ["", "count not measured: nominal", "NO DYE LOT: nominal count"]


def test_tried_values_stand_in_title_and_box(card: Cards, demo_mill: Mill) -> None:
    line = demo_mill.line[0]
    tried = card_content(
        card("Querl 100", "SL-207"), demo_mill.safety, line, fingerprint="0" * 8, tried=("Tried.",)
    )
    assert tried.tried == ("TRIED VALUES: NOT FOR THE RUN", "Tried.")
    assert tried.title.startswith("TRIED VALUES: NOT FOR THE RUN – Run card")


def test_a_scale_that_reads_under_the_declaration_is_said_plainly(
    content: Contents, card: Cards
) -> None:
    scale_g = card("Dunnow 50", "SA-340").answer.as_weighed_g
    under, usual = content("Dunnow 50", "SA-340").basis, content().basis
    assert under == (
        f"On the scale the mean ball reads {scale_g:.1f} g, under the 50.0 g declared: the "
        "declaration is taken at the agreed regain. Ask your inspectorate whether it allows that "
        "at packing."
    )
    assert usual == ""
    before = card("Dunnow 50", "SA-340")
    over = dataclasses.replace(before, answer=dataclasses.replace(before.answer, as_weighed_g=51.0))
    words = basis_words(over, "metric")
    assert words.startswith("On the scale the mean ball reads 51.0 g; ")
    assert "inspectorate" not in words


def test_commercial_masses_are_printed_as_the_scale_shows_them(
    content: Contents, card: Cards
) -> None:
    found, worked = content("Dunnow 50", "SA-340"), card("Dunnow 50", "SA-340")
    answer = worked.answer
    assert answer.as_weighed_g < 0.97 * answer.mass_g
    assert found.winders.rows[0][5] == f"{answer.as_weighed_g:.1f} g"
    low, high = (float(part) for part in found.call_out[0].removesuffix(" g").split(" to "))
    assert low < answer.as_weighed_g < high < worked.call_out_mass_g.high
    assert found.call_out_words == "Call the lead when one ball on the scale is outside"
    assert found.expected.rows[0][3] == f"{answer.mass_g:.1f} g"
    assert any("agreed regain" in line for line in found.why)


def test_masses_as_weighed_are_left_as_they_are(content: Contents, card: Cards) -> None:
    found, worked = content(), card("Querl 100", "SL-207")
    assert (
        found.call_out[0]
        == f"{worked.call_out_mass_g.low:.1f} to {worked.call_out_mass_g.high:.1f} g"
    )
    assert not any("regain" in line for line in found.why)


def test_what_dominates_the_doubt_is_said_with_its_share(content: Contents, card: Cards) -> None:
    first, second = card("Querl 100", "SL-207").answer.contributions[:2]
    line = content().why[-1]
    assert (
        f"{first.words} ({100 * first.mass_share:.0f} % of the variance), then {second.words}"
        in line
    )
    assert "Of 1000 balls 997" in line and "not a legal limit" in line


def test_no_stated_spread_is_not_taken_for_certainty(card: Cards, demo_mill: Mill) -> None:
    before = card("Querl 100", "SL-207")
    bare = dataclasses.replace(before, answer=dataclasses.replace(before.answer, contributions=()))
    why = card_content(bare, demo_mill.safety, demo_mill.line[0], fingerprint="0" * 8).why[-1]
    assert "cannot be said" in why


def test_belt_and_winder_settings_are_there(content: Contents, card: Cards) -> None:
    worked = card("Querl 100", "SL-207")
    belt, wind, _ = content().groups
    said = {row.head: row.text for row in (*belt.rows, *wind.rows)}
    assert (
        said["Feed"] == "300 m/min"
        and said["Belt"] == "1.1 m/min"
        and said["Take-off"] == "240 m/min"
    )
    assert said["Overfeed"] == "25.0 %" and said["Steam"] == "100 °C" and said["Dryer"] == "95 °C"
    assert worked.belt.dwell_s is not None
    assert (
        said["Time in steam"] == f"{worked.belt.dwell_s:.0f} s"
        and said["Longest in steam"] == "150 s"
    )
    assert said["Wind ratio"] == f"{worked.terms.winding.setting.wind_ratio:g}"
    assert said["Tension"] == "40 cN" and said["Winding speed"] == "330 m/min"


def test_a_long_tilt_schedule_is_named_by_its_ends(card: Cards, demo_mill: Mill) -> None:
    before = card("Querl 100", "SL-207")
    turns, tilts = tuple(float(n * 10) for n in range(40)), tuple(20.0 + n for n in range(40))
    setting = dataclasses.replace(
        before.terms.winding.setting, tilt_turns=turns, tilt_deg=tilts, tilt_repeats=False
    )
    terms = dataclasses.replace(
        before.terms, winding=dataclasses.replace(before.terms.winding, setting=setting)
    )
    found = wind_rows(dataclasses.replace(before, terms=terms), demo_mill.line[0], "metric")
    rows = {row.head: row.text for row in found.rows}
    assert rows["Tilt"] == "20° to 59° by 40 points of the mill file"


def test_sizes_without_measured_constants_are_ranges_called_a_trend(card: Cards) -> None:
    worked = card("Querl 100", "SL-207")
    assert not worked.shape.measured
    rows = {row.head: row.text for row in ball_rows(worked, "metric").rows}
    assert rows["Sizes"].startswith("trend only")
    size = worked.shape.relaxed.diameter_mm
    assert rows["At rest"].startswith(f"across {size.low:.0f} to {size.high:.0f}, wide ")


def test_measured_sizes_have_their_middle_and_their_bounds(card: Cards) -> None:
    before = card("Querl 100", "SL-207")
    relaxed = dataclasses.replace(before.shape.relaxed, diameter_mm=Range(98.0, 104.0, 101.0))
    shape = dataclasses.replace(before.shape, relaxed=relaxed, measured=True)
    rows = {
        row.head: row.text
        for row in ball_rows(dataclasses.replace(before, shape=shape), "metric").rows
    }
    assert rows["At rest"].startswith("across 101 (98 to 104), ")
    assert rows["Sizes"].startswith("from measured balls")


def test_a_ribbon_is_said_loudly_with_the_way_out(card: Cards) -> None:
    before = card("Querl 100", "SL-207")
    for nearest, advice in (
        (20.38, "the nearest ratio that covers evenly is 20.38"),
        (None, "no ratio within 0.5 of it"),
    ):
        found = dataclasses.replace(
            before.coverage,
            ribbon=True,
            wind_ratio=20.5,
            simple_ratio=(41, 2),
            nearest_safe_ratio=nearest,
            searched_range=0.5,
        )
        rows = {
            row.head: row.text
            for row in ball_rows(dataclasses.replace(before, coverage=found), "metric").rows
        }
        assert rows["Ribbons"].startswith("RIBBONS at wind ratio 20.5: close to 20.5 (41/2), ")
        assert advice in rows["Ribbons"] and "strands stack up at " in rows["Ribbons"]


def test_a_simple_ratio_is_kept_away_from_only_where_it_would_show(card: Cards) -> None:
    even = card("Querl 100", "SL-207").coverage
    assert not even.ribbon and even.closes_to_diameter_mm > max(even.diameters_mm)
    fine = cover_words(even, "metric")
    assert fine == (
        "none at 20.38 from 48 to 100 mm across; nearest simple ratio 20.375 (163/8), too fine to "
        "show at this size"
    )
    coarse = dataclasses.replace(even, simple_ratio=(41, 2), closes_to_diameter_mm=59.0)
    assert cover_words(coarse, "yard").endswith(
        "3.93 in across; keep away from simple ratio 20.5 (41/2)"
    )


def test_knots_rules_and_band_are_there(content: Contents, card: Cards) -> None:
    found = content()
    rows = {row.head: row.text for row in found.groups[2].rows}
    assert rows["Knots"] == "2 at most in a first-quality ball"
    assert rows["Declared under"] == RULE_WORDS["eu-average"]
    assert found.band_text == card("Querl 100", "SL-207").band_text
    none = dataclasses.replace(card("Querl 100", "SL-207"), knot_limit=0)
    assert any(row.text == "none in a first-quality ball" for row in ball_rows(none, "metric").rows)


def test_the_footer_matches_a_card_to_its_inputs(content: Contents, demo_mill: Mill) -> None:
    assert (
        content().footer
        == f"Inputs {inputs_fingerprint(demo_mill, 'Querl 100', 'SL-207')} · Clew {__version__}"
    )


def test_the_yard_system_leaves_no_metric_unit(content: Contents) -> None:
    found = content("Sallowe 100", "OA-019", units="yard")
    texts = [*found.call_out, *(row.text for group in found.groups for row in group.rows)]
    texts += [
        text for table in (found.winders, found.expected) for row in table.rows for text in row
    ]
    texts += [caution.text for caution in found.cautions]
    for text in texts:
        words = set(text.replace(",", " ").replace(";", " ").replace(".", " ").split())
        assert not words & {"g", "m", "mm", "kg", "m/min", "°C", "kPa", "cN"}, text
