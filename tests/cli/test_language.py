"""Papers are printed in the language asked for; the terminal stays English."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from clew.cli.main import main
from clew.languages import say, speaking, spoken
from clew.mill import write_demo


@pytest.fixture
def mill(tmp_path: Path) -> Path:
    folder = tmp_path / "mill"
    write_demo(folder)
    return folder


Card = Callable[..., tuple[Result, str]]


@pytest.fixture
def card(mill: Path, tmp_path: Path) -> Card:
    def print_card(*before: str) -> tuple[Result, str]:
        out = tmp_path / "cards"
        asked = ["ball", "card", "Querl 100", "--dye-lot", "SL-207", "--mill", str(mill)]
        result = CliRunner().invoke(main, [*before, *asked, "--out", str(out)])
        assert result.exit_code == 0, result.output
        return result, next(out.glob("*.html")).read_text("utf-8")

    return print_card


def _german(english: str) -> str:
    with speaking("de"):
        return str(spoken(say(english)))


def test_a_card_speaks_the_language_asked_for(card: Card) -> None:
    english, plain = card()
    german, page = card("--language", "de")
    assert german.output == english.output.replace("wrote", "replaced")
    assert 'lang="de"' in page and 'lang="en"' in plain
    assert _german("Run card") != "Run card"
    assert _german("Run card") in page


def test_the_mills_own_language_is_the_default(card: Card, mill: Path) -> None:
    path = mill / "mill.toml"
    text = path.read_text("utf-8").replace('# language = "de"', 'language = "fr"')
    path.write_text(text, "utf-8")
    _, page = card()
    assert 'lang="fr"' in page
    _, page = card("--language", "en")
    assert 'lang="en"' in page


def test_a_language_nobody_speaks_is_refused() -> None:
    result = CliRunner().invoke(main, ["--language", "xx", "mill", "init", "x"])
    assert result.exit_code == 2
    assert "'en', 'de', 'fr', 'es'" in result.output
