"""Which dye lots may lie in one case: their shades were measured, and agree."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from clew.languages import say

if TYPE_CHECKING:
    from clew.mill.lots import DyeLot


def shade_between(one: DyeLot, other: DyeLot) -> float | None:
    """CIEDE2000 between two dye lots; None where one was not measured.

    Source: ISO/CIE 11664-6, by `clew.strand.shade.ciede2000`.
    """
    from clew.strand.shade import ciede2000

    if one.lab is None or other.lab is None:
        return None
    shades = [(lab.lightness, lab.a, lab.b) for lab in (one.lab, other.lab)]
    return float(ciede2000(shades[0], shades[1]))


def alike(lots: Sequence[DyeLot], limit_de00: float) -> tuple[tuple[bool, ...], ...]:
    """Say of each two lots whether they may lie in one case; not measured is not alike."""
    return tuple(
        tuple(
            one is other or ((apart := shade_between(one, other)) is not None
            and apart <= limit_de00)
            for other in lots
        )
        for one in lots
    )  # fmt: skip


def shade_words(lots: Sequence[DyeLot], limit_de00: float) -> tuple[str, ...]:
    """Say what keeps two lots out of one case."""
    words = []
    for place, one in enumerate(lots):
        for other in lots[:place]:
            apart = shade_between(other, one)
            if apart is None:
                bare = [lot.lot for lot in (other, one) if lot.lab is None]
                words.append(
                    say(
                        "{lot} and {other} share no case: the shade of {bare} is not measured",
                        lot=other.lot,
                        other=one.lot,
                        bare=bare[0]
                        if len(bare) == 1
                        else say("{one} and {other}", one=bare[0], other=bare[1]),
                    )
                )
            elif apart > limit_de00:
                words.append(
                    say(
                        "{lot} and {other} share no case: {apart:.2g} CIEDE2000 apart, above "
                        "{limit:g}",
                        lot=other.lot,
                        other=one.lot,
                        apart=apart,
                        limit=limit_de00,
                    )
                )
    return tuple(words)
