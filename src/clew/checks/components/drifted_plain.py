"""The answer of `who_drifted` as plain values, and in words."""

from __future__ import annotations

from typing import Any

from clew.checks.components.corrections import Correction
from clew.checks.components.drifted import Drifted
from clew.checks.components.signature import Signature


def signature_of(found: Drifted, winder: str) -> Signature | None:
    """Find a winder's signature; none where there is none."""
    return next((one for one in found.signatures if one.winder == winder), None)


def correction_words(one: Correction, cause: Signature | None, currency: str) -> str:
    """Say what to do with a winder.

    Parameters
    ----------
    one : Correction
        What was found.
    cause : Signature or None
        What is behind it.
    currency : str
        The mill's money; empty where there is none.

    Returns
    -------
    str
        One or two sentences.
    """
    winder = f"Winder {one.standing.winder}"
    side = "heavy" if one.offset_g > 0 else "light"
    off = f"{abs(one.offset_g):.1f} g {side}"
    because = ""
    if cause is not None and cause.cause not in ("none",):
        because = f": {cause.words}"
    if not one.make:
        runs = f"leave it; {one.why}"
        if abs(one.counts) == 1 and one.better_chance < 0.9:
            runs = "leave it; it stands within one count of its target"
        elif one.counts:
            runs = f"leave it. It seems to run {off}, but {one.why}"
        tail = f". Besides, {cause.words}" if cause is not None and _worth_saying(cause) else ""
        return f"{winder}: {runs}{tail}."
    turns = f"{abs(one.turns):.4g} turns ({abs(one.counts)} counts)"
    turns = turns.replace("(1 counts)", "(1 count)")
    if turns.startswith("1 turns"):
        turns = turns.replace("1 turns", "1 turn", 1)
    if one.counts < 0:
        saved = f"That saves {one.gain_g:.2g} g a ball"
        if currency:
            saved += f", {one.gain:.2f} {currency} over its next {one.balls_ahead} balls"
        return f"{winder} runs {off}{because}; take off {turns}. {saved}."
    if one.why:
        cause_words = cause.words if cause is not None and _worth_saying(cause) else one.why
        tail = "" if cause_words == one.why else f": {one.why}"
        return f"{winder}: {cause_words}; add {turns}{tail}."
    risk = ""
    if one.short_chance is not None and one.short_chance_then is not None:
        risk = (
            f" Chance that its mean is under the declared mass {100 * one.short_chance:.0f} %, "
            f"{100 * one.short_chance_then:.0f} % after it."
        )
    return f"{winder} runs {off}{because}; add {turns}.{risk}"


def _worth_saying(cause: Signature) -> bool:
    return cause.cause not in ("none", "unknown", "winds")


def funnel_words(found: Drifted) -> str:
    """Say what correcting after every ball would cost here."""
    one = found.funnel
    wander = 100.0 * one.every_ball_turns_sd_g / found.components.mean
    costs = (
        f"Chasing every ball would cost {one.lost_g:.2g} g a ball in target"
        if one.lost_g > 0.0
        else "Chasing every ball would follow each cone's count in mass, but pay for it in length"
    )
    return (
        f"Moving a winder by the full deviation of every ball would spread its balls by "
        f"{one.every_ball_sd_g:.2g} g and its turns, so its lengths, by {wander:.2g} %; corrected "
        f"once from {one.balls} balls they spread by {one.right_sd_g:.2g} g, left alone by "
        f"{one.left_sd_g:.2g} g. {costs}."
    )


def drifted_plain(found: Drifted, currency: str) -> dict[str, Any]:
    """Arrange the answer as plain values with stable keys.

    Parameters
    ----------
    found : Drifted
        The answer.
    currency : str
        The mill's money; empty where there is none.

    Returns
    -------
    dict
        Winders with their corrections and causes, and the funnel.
    """
    return {
        "lot": found.lot,
        "winders": [
            _winder(one, signature_of(found, one.standing.winder), currency)
            for one in found.corrections
        ],
        "variances": {one.source: one.variance for one in found.components.parts},
        "funnel": {
            "left_sd_g": found.funnel.left_sd_g,
            "every_ball_sd_g": found.funnel.every_ball_sd_g,
            "every_ball_turns_sd_g": found.funnel.every_ball_turns_sd_g,
            "right_sd_g": found.funnel.right_sd_g,
            "balls": found.funnel.balls,
            "gain": found.funnel.gain,
            "lost_g": found.funnel.lost_g,
        },
        "currency": currency or None,
        "cautions": list(found.cautions),
    }


def _winder(one: Correction, cause: Signature | None, currency: str) -> dict[str, Any]:
    standing = one.standing
    plain: dict[str, Any] = {
        "winder": standing.winder,
        "balls": standing.balls,
        "mean_g": standing.mass_g,
        "mean_se_g": standing.mass_se_g,
        "mean_m": standing.length_m,
        "mean_se_m": standing.length_se_m,
        "offset_g": one.offset_g,
        "counts": one.counts,
        "turns": one.turns,
        "make": one.make,
        "better_chance": one.better_chance,
        "short_chance": one.short_chance,
        "short_chance_then": one.short_chance_then,
        "gain_g": one.gain_g,
        "gain_money": one.gain,
        "balls_ahead": one.balls_ahead,
        "words": correction_words(one, cause, currency),
        "signature": None,
    }
    if cause is not None:
        plain["signature"] = {
            "mass_frac": cause.mass_frac,
            "mass_se_frac": cause.mass_se_frac,
            "length_frac": cause.length_frac,
            "length_se_frac": cause.length_se_frac,
            "lengths": cause.lengths,
            "cause": cause.cause,
            "chances": dict(cause.chances),
            "unreel_more": cause.unreel_more,
            "words": cause.words,
        }
    return plain
