"""The README shows what the program really prints, and names commands that exist."""

from __future__ import annotations

import re
from pathlib import Path

from clew.ball.run_card import run_card_of
from clew.cli.demo import BALL, DYE_LOT, summary
from clew.cli.main import NOUNS
from clew.mill.model import Mill

README = (Path(__file__).parent.parent / "README.md").read_text(encoding="utf-8")


def test_the_readme_shows_the_demos_real_output(demo_mill: Mill) -> None:
    for line in summary(run_card_of(demo_mill, BALL, DYE_LOT)):
        assert line in README


def test_the_readme_names_only_commands_there_are() -> None:
    named = set(re.findall(r"bin/clew (\w+)", README))
    assert named
    assert named <= set(NOUNS)


def test_every_picture_of_the_readme_is_there() -> None:
    pictures = re.findall(r"!\[[^\]]*\]\((docs/[^)]+)\)", README)
    assert pictures
    for picture in pictures:
        assert (Path(__file__).parent.parent / picture).stat().st_size > 10_000
