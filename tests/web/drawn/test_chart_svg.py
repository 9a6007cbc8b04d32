"""What a chart puts into a page: the server's drawing, or none where the browser draws it."""

from __future__ import annotations

import html
import json
import re

from starlette.testclient import TestClient

from clew.web.assets import DRAWS, draws_digest
from clew.web.drawn.chart_svg import DRAWS_HEADER, Table, drawn
from clew.web.drawn.charts import filled, line_spec

ROWS = [{"x": 1.0, "y": 0.123456789}, {"x": 2.0, "y": 3.0}]


def test_a_definition_stands_beside_the_drawing_and_says_the_same_numbers() -> None:
    chart = drawn("one", "It's <b> & more", line_spec("x", "y"), {"rows": ROWS}, Table((), ()))
    found = re.search(r"data-definition='([^']*)'", chart.shown)
    assert found
    spec = json.loads(html.unescape(found[1]))
    assert spec["datasets"]["rows"] == [{"x": 1.0, "y": 0.123457}, {"x": 2.0, "y": 3.0}]
    assert "http" not in found[1]
    assert str(chart.svg) in chart.shown


def test_a_browser_that_draws_is_spared_the_drawings_and_keeps_their_names(
    client: TestClient,
) -> None:
    path = "/creel?shrink=21+%25&part=answer"
    drawn_here, drawn_there = client.get(path), client.get(path, headers={DRAWS_HEADER: "charts"})
    for said in (drawn_here, drawn_there):
        assert said.status_code == 200
    count = drawn_here.text.count("data-chart=")
    assert count == drawn_there.text.count("data-chart=") > 0
    assert drawn_there.text.count("<svg hidden><title id=") == count
    assert "<svg hidden>" not in drawn_here.text
    without = [
        re.sub(r"<svg.*?</svg>", "", one.text, flags=re.S) for one in (drawn_here, drawn_there)
    ]
    assert without[0] == without[1]


def test_the_means_to_draw_are_served_for_a_year_under_their_own_digest(client: TestClient) -> None:
    page = client.get("/who")
    address = f"/static/{draws_digest()}/{DRAWS}"
    assert f'data-draws="{address}"' in page.text
    script = client.get(address)
    assert script.status_code == 200
    assert "immutable" in script.headers["cache-control"]
    assert "vegaEmbed" in script.text
    assert client.get(f"/static/000000000000/{DRAWS}").status_code == 404


def test_pages_travel_compressed_where_a_browser_takes_them_so(client: TestClient) -> None:
    assert client.get("/who").headers["content-encoding"] == "gzip"
    plain = client.get("/who", headers={"Accept-Encoding": "identity"})
    assert "content-encoding" not in plain.headers


def test_numbers_are_put_in_the_place_of_their_names() -> None:
    spec = {"domain": ["@x"], "title": "@x of it", "label": "@label", "layer": [{"v": ["@x", 1]}]}
    assert filled(spec, {"@x": [0, 2.5], "@label": "so"}) == {
        "domain": [0, 2.5], "title": "@x of it", "label": "so", "layer": [{"v": [[0, 2.5], 1]}],
    }  # fmt: skip
