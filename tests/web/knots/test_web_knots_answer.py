"""The page and the address for programs of a ball that came back."""

from __future__ import annotations

import pytest
from starlette.testclient import TestClient

PAGE = "/knots/answer"
TWO = {"ball": "Querl 100", "lot": "SL-207", "at": "12 m, 17.5 m"}


def test_nothing_asked_shows_the_form_alone(client: TestClient) -> None:
    page = client.get(PAGE)
    assert page.status_code == 200
    assert "Knots in it" in page.text
    assert "DRAFT" not in page.text


def test_two_placed_knots_get_a_grade_and_a_draft(client: TestClient) -> None:
    page = client.get(PAGE, params=TWO)
    assert page.status_code == 200
    assert "Within the limit of 2, and no piece shorter than 5 m" in page.text
    assert "DRAFT - to be read, mended and signed by a person" in page.text
    assert "dye lot SL-207" in page.text
    assert "Each of them, by its place" in page.text
    assert "GBP" not in page.text
    assert "at the very least 1." in page.text


def test_three_knots_are_over_the_limit(client: TestClient) -> None:
    page = client.get(PAGE, params={"ball": "Querl 100", "lot": "SL-207", "joins": "3"})
    assert "Over the limit of 2: not a first-quality ball." in page.text
    assert "Each of them, by its place" not in page.text


def test_the_page_says_what_the_command_says(client: TestClient) -> None:
    found = client.get("/api/knots/answer", params=TWO).json()
    assert found["joins"] == 2
    assert found["positions_m"] == [12.0, 17.5]
    assert found["p_exactly"]["low"] < found["p_exactly"]["value"] < found["p_exactly"]["high"]
    assert found["letter"][0].startswith("DRAFT")


def test_lengths_are_in_the_readers_units(client: TestClient) -> None:
    client.cookies.set("clew_units", "yard")
    page = client.get(PAGE, params={**TWO, "at": "13 yd; 19 yd"})
    assert "ball of 219" in page.text.replace("\u00a0", " ")
    assert " yd" in page.text.replace("\u00a0", " ")


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ({"joins": "many"}, "not a whole number"),
        ({"joins": "1000"}, "out of reach"),
        ({"joins": "0"}, "needs no answer"),
        ({"at": "12"}, "a number without a unit"),
        ({"at": "12 m, 300 m"}, "beyond the ball"),
        ({"at": "12 m 50 m"}, "no comma between places"),
        ({"joins": "1", "at": "12 m, 20 m"}, "fewer joins than"),
        ({"at": "1 m," * 200}, "too long a list"),
    ],
)
def test_what_cannot_be_meant_is_said_beside_its_input(
    client: TestClient, asked: dict[str, str], words: str
) -> None:
    page = client.get(PAGE, params=asked)
    assert page.status_code == 422
    assert words in page.text
    assert 'aria-invalid="true"' in page.text
    plain = client.get("/api/knots/answer", params=asked)
    assert plain.status_code == 422
    assert words in plain.json()["faults"][0]["what"]


def test_a_key_that_is_none_is_refused(client: TestClient) -> None:
    assert client.get(PAGE, params={"knots": "3"}).status_code == 422
    assert client.get("/api/knots/answer", params={"knots": "3"}).status_code == 422
    assert client.get("/api/knots/answer").status_code == 422


def test_the_rule_of_thumb_stands_on_knots(client: TestClient) -> None:
    page = client.get("/knots", params={"ball": "Querl 100", "part": "price"})
    assert "Nothing ahead seen: when join 3" in page.text
    client.cookies.set("clew_units", "yard")
    yards = client.get("/knots", params={"ball": "Querl 100", "part": "price"})
    assert "part if less than 11" in yards.text  # 103 m are 113 yards


def test_a_lot_that_nobody_named_is_not_in_the_letter(client: TestClient) -> None:
    page = client.get(PAGE, params={"ball": "Querl 100", "joins": "2"})
    assert "DRAFT" in page.text
    assert "dye lot SL-207" not in page.text
    assert "the place of purchase helps" in page.text
