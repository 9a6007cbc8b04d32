"""The ball band, as the mill file describes it: where it is sold, what it says, how large it is."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from clew.mill.fields import LengthMm, Line, Section

BandMarket = Literal["eu", "uk", "us"]
"""Whose law of fibre names and net content the band is laid out for."""


class Band(Section):
    """What stands on a ball band beside the declarations.

    ``care`` is care in words, one line each: care symbols are trade-marked in some countries, so
    none are drawn. ``weight_class`` is the trade's word for the yarn, worked out from the count
    where left out; ``gauge`` the maker's knitted gauge, ``needles`` what it was knitted on.
    ``width`` runs round the ball, ``height`` along it: the band laid flat. Where a ball has
    ``band_text``, that is what is printed; else the text is made.
    """

    markets: Annotated[tuple[BandMarket, ...], Field(min_length=1, max_length=3)] = ("eu",)
    care: Annotated[tuple[Line, ...], Field(max_length=8)] = ()
    weight_class: Line | None = None
    gauge: Line | None = None
    needles: Line | None = None
    width_mm: LengthMm = 180.0
    height_mm: LengthMm = 60.0
