"""The palette: text reads at 4.5 to 1 and lines at 3 to 1, by day and by night (WCAG 2.2)."""

from __future__ import annotations

import re

import pytest

from clew.web.assets import read_assets

COLOURS = re.findall(
    r"--([\w-]+): light-dark\((#\w{6}), (#\w{6})\)",
    read_assets().contents["colours.css"].decode(),
)
DAY = {name: day for name, day, _ in COLOURS}
NIGHT = {name: night for name, _, night in COLOURS}


def luminance(colour: str) -> float:
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("palette", [DAY, NIGHT], ids=["day", "night"])
@pytest.mark.parametrize("ground", ["ground", "sheet", "sunk"])
def test_text_and_lines_stand_out(palette: dict[str, str], ground: str) -> None:
    for text in ("ink", "quiet", "woad", "madder"):
        assert contrast(palette[text], palette[ground]) >= 4.5, text
    for line in ("edge", "weld"):
        assert contrast(palette[line], palette[ground]) >= 3.0, line


@pytest.mark.parametrize("palette", [DAY, NIGHT], ids=["day", "night"])
def test_text_on_colour_stands_out(palette: dict[str, str]) -> None:
    assert contrast(palette["on-woad"], palette["woad"]) >= 4.5
    assert contrast(palette["madder"], palette["madder-soft"]) >= 4.5
    assert contrast(palette["ink"], palette["madder-soft"]) >= 4.5
    assert contrast(palette["ink"], palette["weld-soft"]) >= 4.5


def test_every_colour_is_named_once_and_used() -> None:
    assert len(DAY) == len(COLOURS) >= 12
    sheets = "".join(
        content.decode()
        for name, content in read_assets().contents.items()
        if name.endswith(".css")
    )
    for name in DAY:
        assert f"var(--{name})" in sheets, name
