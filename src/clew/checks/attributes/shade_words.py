"""What is to be known of a dye lot's shade, in a line."""

from __future__ import annotations

from collections.abc import Sequence

from clew.checks.attributes.shade_of_lot import LotPair, LotShade, ShadeLimits

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
    apart = lot.difference.de00
    words = list(lot.difference.words)
    seen = " and ".join([", ".join(words[:-1]), *words[-1:]] if words[1:] else words)
    seen = seen or "no difference to be seen"
    side = "above" if lot.decision == "fail" else "within"
    # A figure that rounds to the limit is written out, lest it read as its own contrary.
    places = 1 if abs(apart - limits.from_standard) >= 0.05 else 3
    text = (
        f"{lot.lot} is {apart:.{places}f} from the standard, {seen}; "
        f"{side} {_limit(limits.from_standard)}."
    )
    if lot.decision == "sort":
        far = max(one.from_lot for one in lot.cones)
        text += f" Sort out {_named('cone', lot.off)}: up to {far:.1f} from the rest."
    if len(lot.cones) < 2:
        text += " Seen on one cone only: read more."
    elif not lot.sure and lot.interval is not None:
        text += f" Not sure: {lot.interval[0]:.1f} to {lot.interval[1]:.1f}; read more cones."
    others = [
        (pair.apart, pair.second if pair.first == lot.lot else pair.first)
        for pair in pairs
        if not pair.may_mix and lot.lot in (pair.first, pair.second)
    ]
    for far, other in others[:_MOST_NAMED]:
        places = 1 if far - limits.between_lots >= 0.05 else 3
        text += f" Do not mix with {other}: {far:.{places}f} apart."
    if len(others) > _MOST_NAMED:
        text += f" Nor with {len(others) - _MOST_NAMED} more."
    return text


def _limit(value: float) -> str:
    short = f"{value:.1f}"
    return short if float(short) == value else f"{value:g}"


def _named(noun: str, names: Sequence[str]) -> str:
    shown = list(names[:_MOST_NAMED])
    more = f" and {len(names) - _MOST_NAMED} more" if len(names) > _MOST_NAMED else ""
    return f"{noun}{'s' if len(names) > 1 else ''} {', '.join(shown)}{more}"
