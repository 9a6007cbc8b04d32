"""Run cards of the demo mill, worked out once for all tests of the papers."""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Callable
from datetime import UTC, datetime

import pytest

from clew.ball.run_card import RunCard, run_card_of
from clew.mill.model import Mill
from clew.papers import CardContent, Caution, card_content, cautions, inputs_fingerprint
from clew.papers.ball_words import NOT_MEASURED

LONGEST_NAME = ("a name as long as the mill file takes, with wide words in it " * 2)[:80]
LONGEST_LINE = (
    "Hands who wind and walk along the belt with warm cones measure many metres more. " * 3
)[:200]


@pytest.fixture(scope="session")
def made() -> datetime:
    """A time for printing."""
    return datetime(2026, 11, 25, 7, 46, tzinfo=UTC)


@pytest.fixture(scope="session")
def card(demo_mill: Mill) -> Callable[[str, str], RunCard]:
    """Work out the card of a ball and a dye lot of the demo mill, once each."""

    @functools.cache
    def of(ball: str, lot: str) -> RunCard:
        return run_card_of(demo_mill, ball, lot)

    return of


@pytest.fixture(scope="session")
def content(demo_mill: Mill, card: Callable[[str, str], RunCard]) -> Callable[..., CardContent]:
    """Arrange the card of a ball and a dye lot of the demo mill."""

    def of(ball: str = "Querl 100", lot: str = "SL-207", **choices: str) -> CardContent:
        fingerprint = inputs_fingerprint(demo_mill, ball, lot)
        line = demo_mill.line[0]
        return card_content(
            card(ball, lot), demo_mill.safety, line, fingerprint=fingerprint, **choices
        )

    return of


@pytest.fixture(scope="session")
def fullest(demo_mill: Mill, content: Callable[..., CardContent]) -> Callable[..., CardContent]:
    """A card with every text as long as the mill file takes it, and twelve winders."""

    def of(**choices: str) -> CardContent:
        usual = content("Dunnow 50", "SA-340", **choices)
        rules = tuple(LONGEST_LINE for _ in range(8))
        safety = demo_mill.safety.model_copy(
            update={"local_rules": rules, "first_aid": LONGEST_LINE}
        )
        warnings: tuple[Caution, ...] = cautions(
            safety, demo_mill.line[0], choices.get("units", "metric")
        )
        rows = tuple((str(12 - n), str(12 - n), *usual.winders.rows[n % 6][2:]) for n in range(12))
        return dataclasses.replace(
            usual,
            **dict.fromkeys(
                ("mill_name", "line_name", "ball_name", "colour_name", "lot_name"), LONGEST_NAME
            ),
            count_note=NOT_MEASURED,
            yarn_words=f"{LONGEST_NAME}: {usual.yarn_words}",
            winders=dataclasses.replace(usual.winders, rows=rows),
            band_text=(LONGEST_LINE,) * 12,
            cautions=warnings,
        )

    return of


def all_texts(value: object) -> list[str]:
    """Every text inside an arranged card, however deep; the sources of cautions are not printed."""
    if isinstance(value, str):
        return [value]
    if isinstance(value, Caution):
        return [value.title, value.text]
    if isinstance(value, tuple):
        return [text for part in value for text in all_texts(part)]
    if dataclasses.is_dataclass(value):
        names = [
            field.name
            for field in dataclasses.fields(value)
            if field.name not in {"paper", "title"}
        ]
        return [text for name in names for text in all_texts(getattr(value, name))]
    raise TypeError(type(value))


@pytest.fixture(scope="session")
def printed_texts() -> Callable[[CardContent], list[str]]:
    """Every text of a card that must stand on paper and page."""

    def of(content: CardContent) -> list[str]:
        heads = [
            content.winders.title,
            content.expected.title,
            *(group.title for group in content.groups),
        ]
        return [*all_texts(content), *heads]

    return of
