"""The manual's page of the card names every part of it, and the standing of every caution."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from clew.mill.model import Mill
from clew.papers import DEFERRAL, CardContent, cautions


@pytest.fixture(scope="module")
def manual() -> str:
    text = (Path(__file__).parents[2] / "docs" / "run_card.md").read_text(encoding="utf-8")
    return " ".join(text.replace("\n> ", " ").split())


def test_every_row_and_column_of_the_card_is_explained(
    content: Callable[..., CardContent], manual: str
) -> None:
    found = content()
    columns = [*found.winders.columns, *found.expected.columns, *found.blanks]
    heads = [row.head for group in found.groups for row in group.rows]
    titles = [group.title for group in found.groups]
    for word in (*columns, *heads, *titles, *found.signatures, found.winders.title):
        assert word in manual, word


def test_every_caution_stands_there_with_what_it_rests_on(demo_mill: Mill, manual: str) -> None:
    for caution in cautions(demo_mill.safety, demo_mill.line[0]):
        assert f"| {caution.title} | {caution.source} |" in manual


def test_the_closing_line_stands_there_word_for_word(manual: str) -> None:
    assert DEFERRAL in manual
