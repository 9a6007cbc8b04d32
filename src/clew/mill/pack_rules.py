"""Bags, cases and pallets a mill can pack into, and how a case is lifted."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Annotated, Any, Literal

from pydantic import Field

from clew.languages import figure, say
from clew.mill.fields import (
    AngleDeg,
    Clash,
    Frac,
    LengthMm,
    MassG,
    Money,
    Name,
    Number,
    Section,
    Several,
    TimeS,
)


class CaseSize(Section):
    """A case the mill can buy: its room inside, its board, what it weighs and costs."""

    name: Name
    inner_length_mm: LengthMm
    inner_width_mm: LengthMm
    inner_height_mm: LengthMm
    board_mm: LengthMm = 4.0
    tare_mass_g: MassG = 400.0
    price: Money = 0.0
    most_mass_g: MassG | None = None


class Pallet(Section):
    """A pallet: its deck, how high and heavy it may be with what stands on it."""

    length_mm: LengthMm = 1200.0
    width_mm: LengthMm = 800.0
    deck_mm: LengthMm = 144.0
    most_height_mm: LengthMm = 1800.0
    most_mass_g: MassG = 700_000.0
    tare_mass_g: MassG = 25_000.0
    price: Money = 0.0
    freight: Money = 0.0


class Lift(Section):
    """How a case is lifted from the packing bench to the pallet, by one person, by hand.

    ``reach`` is how far the hands are in front of the ankles, ``from_height`` and ``to_height``
    where they hold the case, ``twist`` how far the body turns, ``hours`` how long a spell of it is.
    """

    reach_mm: LengthMm = 350.0
    from_height_mm: LengthMm = 900.0
    to_height_mm: LengthMm = 1200.0
    twist_deg: Annotated[AngleDeg, Field(ge=0, le=180)] = 30.0
    lifts_per_min: Annotated[Number, Field(gt=0, le=30)] = 0.5
    spell_s: Annotated[TimeS, Field(gt=0, le=8 * 3600)] = 8 * 3600.0
    grip: Literal["good", "fair", "poor"] = "fair"
    careful_at_end: bool = False


class PackRules(Section):
    """What balls are packed into.

    ``squeeze`` is the share of a ball's height, at rest or pressed, that a bag may press out of
    it. ``bag_film`` is what bag and slack add to a row of balls. ``bag_time`` and ``case_time`` are
    a hand's time to fill and close one. ``balls_per_bag_choices`` are counts a customer takes; the
    balls' own where left out.
    """

    squeeze_frac: Annotated[Frac, Field(le=0.5)] = 0.0
    bag_film_mm: LengthMm = 2.0
    bag_tare_g: MassG = 8.0
    bag_price: Money = 0.0
    bag_time_s: TimeS = 20.0
    case_time_s: TimeS = 60.0
    balls_per_bag_choices: Annotated[tuple[Several, ...], Field(max_length=12)] = ()
    case: Annotated[tuple[CaseSize, ...], Field(max_length=40)] = ()
    pallet: Pallet = Pallet()
    lift: Lift = Lift()

    @classmethod
    def clashes(cls, have: Any) -> Iterator[Clash]:
        """Each case has its own name, and a pallet is higher than its deck."""
        names = Counter(one.name.casefold() for one in have.case or () if one.name)
        for place, one in enumerate(have.case or ()):
            if one.name and names[one.name.casefold()] > 1:
                yield Clash(
                    ("case", place, "name"),
                    say("a second case of this name"),
                    say("each name once"),
                )
        pallet = have.pallet
        if pallet is not None and None not in (pallet.deck_mm, pallet.most_height_mm):
            deck, most = pallet.deck_mm, pallet.most_height_mm
            if most <= deck:
                yield Clash(
                    ("pallet", "most_height"),
                    say("no higher than its deck"),
                    say("more than {limit}", limit=figure(f"{deck:g} mm")),
                )
