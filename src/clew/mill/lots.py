"""Colours, their dye lots, and the orders that ask for them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any, Literal

from pydantic import Field

from clew.languages import say
from clew.mill.fields import (
    MOST_ENTRIES,
    Clash,
    CountTex,
    Date,
    Name,
    Number,
    RegainFrac,
    Section,
    Several,
    Whole,
)


class Cielab(Section):
    """A colour in CIELAB, D65 and the 10 degree observer."""

    lightness: Annotated[Number, Field(ge=0, le=100)]
    a: Annotated[Number, Field(ge=-150, le=150)]
    b: Annotated[Number, Field(ge=-150, le=150)]


class DyeLot(Section):
    """One dyeing of one yarn: cones in stock and what was measured on them.

    The measured count is as spun, before steam, at the measured regain. ``lab`` is the lot's own
    shade where it was measured: two lots may share a case only if their shades agree.
    """

    lot: Name
    yarn: Name
    cones: Whole
    count_measured_tex: CountTex | None = None
    cones_measured: Whole = 0
    regain_measured_frac: RegainFrac | None = None
    lab: Cielab | None = None

    @classmethod
    def clashes(cls, have: Any) -> Iterator[Clash]:
        """A measured count comes with the number of cones it was measured on."""
        if have.count_measured_tex is not None and have.cones_measured == 0:
            yield Clash(
                ("count_measured",),
                say("a measured count without the cones it was measured on"),
                say("cones_measured of 1 or more beside it"),
            )


class Colour(Section):
    """A colourway and its dye lots."""

    name: Name
    lab: Cielab
    dye_lot: Annotated[tuple[DyeLot, ...], Field(min_length=1, max_length=MOST_ENTRIES)]


class Order(Section):
    """What a customer asked for.

    ``dye_lots`` is the rule of lots: ``one`` for the whole order, one in each ``case``, or ``any``:
    lots whose shades agree may share a case. A ball is of one lot always. ``priority`` weighs a
    day late; ``lines`` are those that may make it, any where left out; ``ready`` is when its yarn
    is there.
    """

    number: Name
    customer: Name
    ball: Name
    colour: Name
    balls: Several
    due: Date
    dye_lots: Literal["one", "case", "any"] = "one"
    priority: Annotated[Number, Field(ge=0, le=1000)] = 1.0
    lines: Annotated[tuple[Name, ...], Field(max_length=MOST_ENTRIES)] = ()
    ready: Date | None = None
