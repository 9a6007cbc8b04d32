"""No paper writes past the catalogues: what a template gets is messages, names and figures."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from pseudo import Bracketed, unsaid
from unsaid import names_of

from clew.ball.run_card import run_card_of
from clew.languages import speaking
from clew.mill import write_demo
from clew.mill.model import Mill
from clew.papers.card_content import card_content
from clew.papers.paper_data import typst_inputs

KEYS = {"paper", "language", "source"}
"""What a template reads and nobody sees."""


def texts(part: Any) -> Iterator[str]:
    if isinstance(part, str):
        yield part
    elif isinstance(part, dict):
        for key, one in part.items():
            if key not in KEYS:
                yield from texts(one)
    elif isinstance(part, list):
        for one in part:
            yield from texts(one)


def test_everything_on_a_run_card_is_said(demo_mill: Mill, tmp_path: Path) -> None:
    write_demo(tmp_path / "mill")
    card = run_card_of(demo_mill, "Querl 100", "SL-207")
    content = card_content(card, demo_mill.safety, demo_mill.line[0], fingerprint="0a1b")
    with speaking(Bracketed()):
        given = typst_inputs(content, content.footer, datetime(2026, 11, 26, tzinfo=UTC))
    found = list(texts(json.loads(given["data"])))
    assert len(found) > 100
    assert unsaid(found, names_of(tmp_path / "mill")) == []
