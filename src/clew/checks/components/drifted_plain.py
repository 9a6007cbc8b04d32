"""The answer of `who_drifted` as plain values, and in words."""

from __future__ import annotations

from typing import Any

from clew.checks.components.corrections import Correction
from clew.checks.components.drifted import Drifted
from clew.checks.components.signature import Signature
from clew.languages import first_lower, first_upper, joined, say, say_many


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
    name = say("Winder {winder}", winder=one.standing.winder)
    return joined("", (name, words_after_name(one, cause, currency)))


def words_after_name(one: Correction, cause: Signature | None, currency: str) -> str:
    """Say what to do with a winder in the words that follow its name, as `correction_words`."""
    deed = deed_words(one, cause, currency)
    if not one.make:
        return say(": {deed}", deed=first_lower(deed))
    deed = first_lower(deed)
    if one.counts > 0 and one.why:
        return say(": {cause}; {deed}", cause=_cause_of(one, cause), deed=deed)
    off = _off_words(one)
    if cause is not None and cause.cause != "none":
        return say(" runs {off}: {cause}; {deed}", off=off, cause=cause.words, deed=deed)
    return say(" runs {off}; {deed}", off=off, deed=deed)


def deed_words(one: Correction, cause: Signature | None, currency: str) -> str:
    """Say what to do with a winder, and no more of where it stands than that needs.

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
        One or two sentences, such as ``Take off 13 turns (13 counts).``
    """
    if not one.make:
        return _leave_words(one, cause)
    turns = say(
        "{turns} ({counts})",
        turns=say_many("{n:.4g} turn", "{n:.4g} turns", float(f"{abs(one.turns):.4g}")),
        counts=say_many("{n} count", "{n} counts", abs(one.counts)),
    )
    if one.counts < 0:
        return joined(" ", (say("Take off {turns}.", turns=turns), _saved_words(one, currency)))
    if one.why and _cause_of(one, cause) != one.why:
        return say("Add {turns}: {why}.", turns=turns, why=one.why)
    add = say("Add {turns}.", turns=turns)
    if one.why or one.short_chance is None or one.short_chance_then is None:
        return add
    risk = say(
        "Chance that its mean is under the declared mass {now:.0f} %, {then:.0f} % after it.",
        now=100 * one.short_chance,
        then=100 * one.short_chance_then,
    )
    return joined(" ", (add, risk))


def _leave_words(one: Correction, cause: Signature | None) -> str:
    reason = left_words(one, cause)
    if one.counts and not _within_a_count(one):
        return say("Leave it. {reason}", reason=first_upper(reason))
    return say("Leave it; {reason}", reason=reason)


def left_words(one: Correction, cause: Signature | None, *, each: bool = False) -> str:
    """Say why a winder is left alone.

    Parameters
    ----------
    one : Correction
        What was found.
    cause : Signature or None
        What is behind it.
    each : bool
        Whether it is said of several winders.

    Returns
    -------
    str
        A sentence, its first letter small.
    """
    why = one.why
    if _within_a_count(one):
        why = (
            say("each stands within one count of its target")
            if each
            else say("it stands within one count of its target")
        )
    elif one.counts:
        off = _off_words(one)
        why = (
            say("each seems to run {off}, but {why}", off=off, why=why)
            if each
            else say("it seems to run {off}, but {why}", off=off, why=why)
        )
    elif each and why == "it stands on its target":
        why = say("each stands on its target")
    elif each and why.startswith("it "):
        why = say("each of them: {why}", why=why)
    if cause is not None and _worth_saying(cause):
        return say("{reason}. Besides, {cause}.", reason=why, cause=cause.words)
    return say("{reason}.", reason=why)


def _within_a_count(one: Correction) -> bool:
    return abs(one.counts) == 1 and one.better_chance < 0.9


def _off_words(one: Correction) -> str:
    off = abs(one.offset_g)
    if one.offset_g > 0:
        return say("{mass:.1f} g heavy", mass=off)
    return say("{mass:.1f} g light", mass=off)


def _cause_of(one: Correction, cause: Signature | None) -> str:
    return cause.words if cause is not None and _worth_saying(cause) else one.why


def _saved_words(one: Correction, currency: str) -> str:
    if not currency:
        return say("That saves {mass:.2g} g a ball.", mass=one.gain_g)
    return say(
        "That saves {mass:.2g} g a ball, {money:.2f} {currency} over its next {balls} balls.",
        mass=one.gain_g,
        money=one.gain,
        currency=currency,
        balls=one.balls_ahead,
    )


def _worth_saying(cause: Signature) -> bool:
    return cause.cause not in ("none", "unknown", "winds")


def funnel_words(found: Drifted) -> str:
    """Say what correcting after every ball would cost here."""
    one = found.funnel
    spread = say(
        "Moving a winder by the full deviation of every ball would spread its balls by "
        "{spread:.2g} g and its turns, so its lengths, by {wander:.2g} %; corrected once from "
        "{balls} balls they spread by {once:.2g} g, left alone by {left:.2g} g.",
        spread=one.every_ball_sd_g,
        wander=100.0 * one.every_ball_turns_sd_g / found.components.mean,
        balls=one.balls,
        once=one.right_sd_g,
        left=one.left_sd_g,
    )
    costs = (
        say("Chasing every ball would cost {mass:.2g} g a ball in target.", mass=one.lost_g)
        if one.lost_g > 0.0
        else say(
            "Chasing every ball would follow each cone's count in mass, but pay for it in length."
        )
    )
    return joined(" ", (spread, costs))


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
