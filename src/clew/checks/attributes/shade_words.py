"""What is to be known of a dye lot's shade, in a line."""

from __future__ import annotations

from collections.abc import Sequence

from clew.checks.attributes.shade_of_lot import LotPair, LotShade, ShadeLimits
from clew.languages import figure, joined, say

_MOST_NAMED = 5


def shade_words(lot: LotShade, pairs: Sequence[LotPair], limits: ShadeLimits) -> str:
    """Say what is to be known of a lot's shade in a line.

    Parameters
    ----------
    lot : LotShade
        The lot.
    pairs : sequence of LotPair
        Its pairs with others, and others' pairs.
    limits : ShadeLimits
        What is let through.

    Returns
    -------
    str
        Such as "SL-211 is 0.9 from the standard, darker and redder; within 1.0. Do not mix with
        SL-207: 1.1 apart."
    """
    said = [_from_standard(lot, limits)]
    if lot.decision == "sort":
        far = max(one.from_lot for one in lot.cones)
        said.append(
            say("Sort out {cones}: up to {far:.1f} from the rest.", cones=_cones(lot.off), far=far)
        )
    if len(lot.cones) < 2:
        said.append(say("Seen on one cone only: read more."))
    elif not lot.sure and lot.interval is not None:
        said.append(
            say(
                "Not sure: {low:.1f} to {high:.1f}; read more cones.",
                low=lot.interval[0],
                high=lot.interval[1],
            )
        )
    others = [
        (pair.apart, pair.second if pair.first == lot.lot else pair.first)
        for pair in pairs
        if not pair.may_mix and lot.lot in (pair.first, pair.second)
    ]
    for far, other in others[:_MOST_NAMED]:
        places = 1 if far - limits.between_lots >= 0.05 else 3
        said.append(
            say(
                "Do not mix with {other}: {far} apart.",
                other=other,
                far=figure(f"{far:.{places}f}"),
            )
        )
    if len(others) > _MOST_NAMED:
        said.append(say("Nor with {n} more.", n=len(others) - _MOST_NAMED))
    return joined(" ", said)


def _from_standard(lot: LotShade, limits: ShadeLimits) -> str:
    apart = lot.difference.de00
    # A figure that rounds to the limit is written out, lest it read as its own contrary.
    places = 1 if abs(apart - limits.from_standard) >= 0.05 else 3
    fields = {
        "lot": lot.lot,
        "apart": figure(f"{apart:.{places}f}"),
        "seen": _seen(lot.difference.words),
        "limit": _limit(limits.from_standard),
    }
    if lot.decision == "fail":
        return say("{lot} is {apart} from the standard, {seen}; above {limit}.", **fields)
    return say("{lot} is {apart} from the standard, {seen}; within {limit}.", **fields)


def _seen(words: Sequence[str]) -> str:
    if not words:
        return say("no difference to be seen")
    if len(words) == 1:
        return words[0]
    return say("{names} and {last}", names=joined(", ", words[:-1]), last=words[-1])


def _limit(value: float) -> str:
    short = f"{value:.1f}"
    return figure(short if float(short) == value else f"{value:g}")


def _cones(names: Sequence[str]) -> str:
    shown, more = ", ".join(names[:_MOST_NAMED]), len(names) - _MOST_NAMED
    if more > 0:
        return say("cones {names} and {n} more", names=shown, n=more)
    if len(names) > 1:
        return say("cones {names}", names=shown)
    return say("cone {name}", name=shown)
