"""Charts and drawings: read aloud, in the page's colours, with the rooms' numbers."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from xml.etree import ElementTree

import numpy as np
import pytest

from clew.ball.run_card import RunCard, run_card_of
from clew.mill.lots import Cielab
from clew.mill.model import Mill
from clew.web.drawn.chart_svg import Chart
from clew.web.drawn.charts import line_spec
from clew.web.drawn.colour import screen_colour, strand_colours
from clew.web.drawn.drawing import cover_drawing, section_drawing
from clew.web.drawn.figures import Figures
from clew.web.wind import view
from clew.web.wind.ball_drawing import ball_drawing, held
from clew.web.wind.ball_path import path_of, plain_path

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def card(demo_mill: Mill) -> RunCard:
    return run_card_of(demo_mill, "Querl 100", "SL-207")


def every_chart(card: RunCard, figures: Figures) -> list[Chart]:
    return [
        view.interval_chart(card, figures, "mass"),
        view.interval_chart(card, figures, "length"),
        view.doubt_chart(card.answer, figures),
        view.angle_chart(card),
        view.turn_length_chart(card, figures),
    ]


@pytest.mark.parametrize("figures", [Figures("metric"), Figures("yard")])
def test_a_chart_has_a_title_a_description_a_table_and_the_pages_colours(
    card: RunCard, figures: Figures
) -> None:
    for chart in every_chart(card, figures):
        root = ElementTree.fromstring(str(chart.svg))
        assert root.attrib["role"] == "img"
        assert root.find(f"{SVG}title").text == chart.title
        assert root.find(f"{SVG}desc").text
        assert chart.table.rows
        assert {len(row) for row in chart.table.rows} == {len(chart.table.head)}
        fixed = re.findall(r'(?:fill|stroke)="(#[0-9a-fA-F]+|black|white|blue)"', str(chart.svg))
        assert not fixed
        assert len(str(chart.svg)) < 20_000


def test_the_interval_chart_is_drawn_at_the_rooms_numbers(card: RunCard) -> None:
    table = dict(view.interval_chart(card, Figures("metric"), "mass").table.rows)
    interval = card.answer.mass_g_interval
    assert table["mean ball"] == f"{card.answer.mass_g:.1f}\u00a0g"
    assert table["95 of 100 balls"] == f"{interval.low:.1f} to {interval.high:.1f}\u00a0g"


def test_lines_of_one_text_have_a_space_between_them(card: RunCard) -> None:
    chart = view.doubt_chart(card.answer, Figures("metric"))
    said = ["".join(one.itertext()) for one in ElementTree.fromstring(str(chart.svg)).iter()]
    for one in card.answer.contributions:
        assert any(one.words in " ".join(text.split()) for text in said), one.words


def test_definitions_made_at_once_are_those_made_one_by_one() -> None:
    """Altair mixes charts up that several threads define at once; each is made by itself."""
    alone = json.dumps(line_spec("alone", "y"))
    with ThreadPoolExecutor(8) as hands:
        made = list(hands.map(lambda place: line_spec(f"at once {place}", "y"), range(24)))
    for place, spec in enumerate(made):
        assert json.dumps(spec).replace(f"at once {place}", "alone") == alone


def test_the_ball_is_drawn_inside_its_frame_with_its_end_face(card: RunCard) -> None:
    path = path_of(card)
    build = card.answer.build
    ends = (build.latitude_deg[-30:], build.radius_mm[-30:], 30.0)
    drawing = str(
        ball_drawing(path.points_mm, path.steps, 1.8, ends, ("#1", "#2", "#3"), "a <ball>")
    )
    assert "a &lt;ball&gt;" in drawing
    left, _, width, _ = (
        float(side) for side in re.findall(r'viewBox="([^"]+)"', drawing)[0].split()
    )
    numbers = [float(x) for x in re.findall(r"[ML](-?[\d.]+) ", drawing)]
    assert left <= min(numbers)
    assert max(numbers) <= left + width
    assert drawing.count('fill="#3" stroke="#3"') == 1


def test_holding_a_ball_moves_it_and_does_not_change_it() -> None:
    points = np.random.default_rng(3).normal(size=(50, 3))
    turned = held(points, 40.0, 70.0)
    assert np.linalg.norm(turned, axis=1) == pytest.approx(np.linalg.norm(points, axis=1))
    assert np.linalg.det(held(np.eye(3), 40.0, 70.0)) == pytest.approx(1.0)


def test_a_packed_path_unpacks_to_the_path(card: RunCard) -> None:
    import base64

    plain = plain_path(card)
    packed = np.frombuffer(base64.b64decode(plain["points_base64"]), dtype="<i2").reshape(-1, 3)
    points = packed * plain["mm_per_unit"]
    assert points == pytest.approx(path_of(card).points_mm, abs=plain["mm_per_unit"])
    assert len(points) == card.answer.turns * plain["steps_per_turn"] + 1
    assert plain["radius_mm"][-1][0] == pytest.approx(card.coverage.diameters_mm[-1] / 2, abs=0.5)


def test_bare_places_are_hatched_and_covered_ones_shaded(card: RunCard) -> None:
    layers = np.ones((45, 90))
    layers[10, 20:30] = 0.0
    drawing = str(cover_drawing(replace(card.coverage, picture_layers=layers), "cover"))
    assert 'class="bare" d="M20 34h10v1h-10z"' in drawing
    assert drawing.count('class="layer"') == 1
    even = str(cover_drawing(replace(card.coverage, picture_layers=np.ones((45, 90))), "cover"))
    assert "hatch" not in even


def test_the_section_carries_its_two_sizes(card: RunCard) -> None:
    drawing = str(section_drawing(card.answer.build, (30.0, 96.0), ("117 mm", "89 mm"), "section"))
    root = ElementTree.fromstring(drawing)
    assert [text.text for text in root.iter("text")] == ["89 mm", "117 mm", "mandrel"]


@pytest.mark.parametrize(
    ("lab", "colour"),
    [
        ((100.0, 0.0, 0.0), (255, 255, 255)),
        ((0.0, 0.0, 0.0), (0, 0, 0)),
        ((53.585, 0.0, 0.0), (128, 128, 128)),
        ((53.241, 80.092, 67.203), (255, 0, 0)),
        ((87.735, -86.183, 83.179), (0, 255, 0)),
        ((32.297, 79.188, -107.860), (0, 0, 255)),
    ],
)
def test_colours_of_the_screen_itself(
    lab: tuple[float, float, float], colour: tuple[int, int, int]
) -> None:
    """CIELAB of the sRGB primaries under D65, as commonly tabulated (MEMORY)."""
    got = screen_colour(Cielab(lightness=lab[0], a=lab[1], b=lab[2]))
    assert [int(got[i : i + 2], 16) for i in (1, 3, 5)] == pytest.approx(colour, abs=1)


def test_a_strand_is_lighter_than_its_shade_and_its_gap(demo_mill: Mill) -> None:
    for colour in (*demo_mill.colour, None):
        light = [sum(int(one[i : i + 2], 16) for i in (1, 3, 5)) for one in strand_colours(colour)]
        assert light[0] > light[1] > light[2]


def test_figures_keep_a_number_with_its_unit() -> None:
    metric, yard = Figures("metric"), Figures("yard")
    assert metric.masses(97.94, 104.11) == "97.9 to 104.1\u00a0g"
    assert yard.mass(100.0) == "3.53\u00a0oz"
    assert metric.sizes(88.0, 88.2) == "88\u00a0mm"
    assert yard.sizes(88.0, 100.0) == "3.5 to 3.9\u00a0in"
    assert metric.own_counts(485.2, 518.4) == "485 to 518\u00a0tex"
    assert yard.own_counts(485.2, 518.4) == "957 to 1022\u00a0yd/lb"
    assert metric.change("0.0 g") == "0.0 g"
    assert metric.change("1.0 g") == "+1.0 g"
    assert metric.change("−1.0 g") == "−1.0 g"
    assert yard.put_up(400.0) == "77.5\u00a0yd in 1\u00a0oz"


def test_a_chart_is_made_while_another_thread_loads_pandas() -> None:
    """As when the solver's library is loaded at the start of the workbench."""
    said = subprocess.run(
        [sys.executable, "-c", _WHILE_LOADING], capture_output=True, text=True, timeout=120,
        check=False,
    )  # fmt: skip
    assert (said.returncode, said.stdout.strip()) == (0, "drawn"), said.stderr


_WHILE_LOADING = """
import sys, threading, time
import altair
from clew.web.case.charts import waterfall_spec
aside = threading.Thread(target=lambda: __import__("pandas"))
aside.start()
while "pandas" not in sys.modules:
    time.sleep(0.0001)
assert waterfall_spec(2.0)
aside.join()
print("drawn")
"""
