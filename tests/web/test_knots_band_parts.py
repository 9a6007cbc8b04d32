"""Knots and Band in parts: together they are the whole page, whatever was asked before."""

from __future__ import annotations

import pytest
from starlette.testclient import TestClient
from tests.web.live_parts import live_parts

from clew.web.band import control as band_control

DRAWS = {"Clew-Draws": "charts"}
TARGETS = ("", "target_mass=102.3+g", "target_mass=108+g", "yarn_per_kg=99", "weigh_each=x")


def together(client: TestClient, address: str, *parts: str) -> dict[str, str]:
    """The live parts of a page as a slider and its rest fetch them."""
    found: dict[str, str] = {}
    for part in parts:
        more = live_parts(client.get(f"{address}&part={part}", headers=DRAWS).text)
        assert not found.keys() & more.keys()
        found |= more
    return found


@pytest.mark.parametrize("language", ["en", "de"])
@pytest.mark.parametrize(
    "query", ["knot_limit=1", "ball=Dunnow+50&seed=7", "shortest_piece=x", "breaks=0"]
)
def test_the_parts_of_knots_together_are_the_page(
    client: TestClient, query: str, language: str
) -> None:
    client.cookies.set("clew_language", language)
    whole = live_parts(client.get(f"/knots?{query}", headers=DRAWS).text)
    parts = together(client, f"/knots?{query}", "answer", "price")
    assert {name: one.split() for name, one in parts.items()} == {
        name: one.split() for name, one in whole.items()
    }


@pytest.mark.parametrize("language", ["en", "de"])
def test_the_parts_of_band_together_are_the_page(client: TestClient, language: str) -> None:
    client.cookies.set("clew_language", language)
    for query in TARGETS:
        whole = live_parts(client.get(f"/band?{query}", headers=DRAWS).text)
        waits = whole.pop("law")  # the page has a link in its place
        assert ("data-wanting" in waits) == (query != "weigh_each=x")
        parts = together(client, f"/band?{query}", "answer")
        assert {name: one.split() for name, one in parts.items()} == {
            name: one.split() for name, one in whole.items()
        }


def test_what_the_law_needs_is_the_same_at_rest_and_at_once(client: TestClient) -> None:
    whole = live_parts(client.get("/band?law=yes", headers=DRAWS).text)
    assert together(client, "/band?", "price")["law"].split() == whole["law"].split()


@pytest.mark.parametrize("units", ["metric", "yard"])
def test_what_band_keeps_is_what_it_would_draw_anew(
    client: TestClient, monkeypatch: pytest.MonkeyPatch, units: str
) -> None:
    client.cookies.set("clew_units", units)
    asked = [*TARGETS[:3], "winder=2"]

    def answers() -> list[dict[str, str]]:
        found = []
        for language in ("en", "fr"):
            client.cookies.set("clew_language", language)
            found += [together(client, f"/band?{one}", "answer") for one in asked]
        return found

    answers()
    kept = answers()
    for one in (band_control._tables, band_control._drawings, band_control._written):
        monkeypatch.setattr(one, "of", lambda _, work_out: work_out())
    assert answers() == kept
