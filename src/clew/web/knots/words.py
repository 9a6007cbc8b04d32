"""The sentences of Knots: what a hundred balls hold, where it comes from, what a limit does."""

from __future__ import annotations

from dataclasses import replace

from clew.faults import BadInput
from clew.knots.from_mill import KnotTerms
from clew.knots.law import KnotLaw
from clew.knots.pieces import within_limit
from clew.knots.price import Band, LimitAnswer
from clew.knots.sources import SOURCE_WORDS
from clew.languages import joined, say, say_many
from clew.quantities import LENGTH, show
from clew.web.drawn.figures import Figures
from clew.web.knots.money import small_sum
from clew.web.knots.page import law_at

_OF = (100, 1000, 10_000)
_OUT_OF = (100, 1000, 10_000, 100_000, 1_000_000)
_FEWEST = 5.0


def grouped(count: int) -> str:
    """Write a large whole number with narrow gaps, that it can be read."""
    if count == 1_000_000:
        return say("a million")
    return f"{count:,}".replace(",", "\u00a0") if count >= 10_000 else str(count)


def out_of(chance: float) -> tuple[int, int]:
    """Say a chance as whole balls out of a round number of them.

    Parameters
    ----------
    chance : float
        The chance [1].

    Returns
    -------
    (int, int)
        So many of so many: the least round number that gives five or more.
    """
    of = next((of for of in _OUT_OF if chance * of >= _FEWEST), _OUT_OF[-1])
    return round(chance * of), of


def chance_words(chance: float) -> str:
    """Say a chance [1] as ``8 balls in 10 000``."""
    count, of = out_of(chance)
    if not count:
        return say("fewer than 1 ball in a million") if chance > 0.0 else say("no ball")
    return say_many("{n} ball in\u00a0{of}", "{n} balls in\u00a0{of}", count, of=grouped(of))


def held_words(law: KnotLaw, joint: str) -> tuple[str, tuple[str, ...]]:
    """Say what balls hold.

    Parameters
    ----------
    law : KnotLaw
        The law.
    joint : str
        ``knot`` or ``splice``.

    Returns
    -------
    str
        How many balls are looked at: 100, or more where otherwise none would hold several.
    tuple of str
        What they hold: ``86 hold no knot``, and so on.
    """
    none, one = float(law.pmf[0]), float(law.pmf[1]) if law.pmf.size > 1 else 0.0
    more = max(law.more_than(1), 0.0)
    of = next((of for of in _OF if more * of >= 0.5), _OF[0])
    counts = _shared(of, (none, one, more))
    no_join, one_join, several = counts
    balls = grouped(no_join)
    return grouped(of), (
        say_many(
            "{balls}\u00a0holds no splice", "{balls}\u00a0hold no splice", no_join, balls=balls
        )
        if joint == "splice"
        else say_many(
            "{balls}\u00a0holds no knot", "{balls}\u00a0hold no knot", no_join, balls=balls
        ),
        say_many(
            "{balls}\u00a0holds one", "{balls}\u00a0hold one", one_join, balls=grouped(one_join)
        ),
        say_many(
            "{balls}\u00a0holds more", "{balls}\u00a0hold more", several, balls=grouped(several)
        ),
    )


def _shared(of: int, shares: tuple[float, ...]) -> list[int]:
    """Whole numbers that sum up: what rounding down leaves goes to the largest remainders."""
    exact = [of * share for share in shares]
    counts = [int(one) for one in exact]
    order = sorted(range(len(exact)), key=lambda at: counts[at] - exact[at])
    for at in order[: of - sum(counts)]:
        counts[at] += 1
    return counts


def source_words(law: KnotLaw, figures: Figures) -> str:
    """Say where the joins come from, most first; in a mill some do, for every cone ends."""
    means = law.mean_by_source
    total = sum(means.values())
    parts = sorted(((mean / total, name) for name, mean in means.items() if mean), reverse=True)
    return joined(
        ", ",
        (joined(" ", (SOURCE_WORDS[name], _share_words(share, figures))) for share, name in parts),
    )


def _share_words(share: float, figures: Figures) -> str:
    if share < 5e-4:
        return say("under {share:.1f} %", share=0.1)
    return figures.percent(share, 0 if share >= 0.01 else 1)


def over_words(terms: KnotTerms, law: KnotLaw, allowed: int | None) -> tuple[str, str]:
    """Say how many balls are over the limit, wound straight through.

    Parameters
    ----------
    terms : KnotTerms
        What decides the knots.
    law : KnotLaw
        The law.
    allowed : int or None
        Most joins in a first-quality ball; None where they do not count.

    Returns
    -------
    str
        How many are over it.
    str
        Between what and what, as the break rate was counted; empty where nothing is said of that.
    """
    if allowed is None:
        return say("no ball is over it, for a splice counts nothing"), ""
    over = law.more_than(allowed)
    count, of = out_of(over)
    said = say_many(
        "{balls} is over it",
        "{balls} are over it",
        1 if count <= 1 else 2,
        balls=chance_words(over),
    )
    if terms.breaks_band == (1.0, 1.0) or over == 0.0:
        return said, ""
    try:
        low, high = (_over_at(terms, factor, allowed) for factor in terms.breaks_band)
    except BadInput:  # at the upper end a ball may hold more joins than the law is made for
        return said, ""
    if round(high * of) == round(low * of):
        return said, ""
    band = {"low": round(low * of), "high": round(high * of), "of": grouped(of)}
    return said, say("{low} to {high} in\u00a0{of}", **band)


def _over_at(terms: KnotTerms, factor: float, allowed: int) -> float:
    rate = terms.sources.breaks_per_m * factor
    sources = replace(terms.sources, breaks_per_m=rate)
    return law_at(sources, terms.rule.ball_length_m).more_than(allowed)


def short_share(terms: KnotTerms, law: KnotLaw, allowed: int | None) -> float:
    """Share of balls within the limit that hold a piece too short, wound straight through [1]."""
    rule = terms.rule
    most = law.pmf.size if allowed is None else allowed
    within = within_limit(law.pmf, rule.ball_length_m, most, rule.min_piece_m)
    return max(1.0 - law.more_than(most) - within, 0.0)


def short_words(terms: KnotTerms, law: KnotLaw, allowed: int | None, figures: Figures) -> str:
    """Say how many balls within the limit hold a piece too short; empty where none can be cut."""
    if allowed == 0 or terms.rule.min_piece_m == 0.0:
        return ""
    share = short_share(terms, law, allowed)
    least = show(terms.rule.min_piece_m, LENGTH, "metric" if figures.metric else "yard", digits=3)
    said = chance_words(share)
    one = said.startswith(("1 ", "no ", "fewer"))
    return say_many(
        "Within it, {balls} holds a piece shorter than {least}.",
        "Within it, {balls} hold a piece shorter than {least}.",
        1 if one else 2,
        balls=said,
        least=least,
    )


def cost_words(band: Band, currency: str) -> str:
    """Say a cost with its band: ``1.5p (0.9p to 2.2p)``."""
    said = small_sum(band.value, currency)
    low, high = (small_sum(end, currency) for end in (band.low, band.high))
    if low == high:
        return said
    return say("{cost} ({low} to {high})", cost=said, low=low, high=high)


def stricter_words(today: LimitAnswer, half: LimitAnswer, currency: str) -> tuple[str, ...]:
    """Say what a stricter limit costs, and what half the breaks would make of it.

    Parameters
    ----------
    today, half : LimitAnswer
        At today's and at half the breaks.
    currency : str
        Currency of the prices.

    Returns
    -------
    tuple of str
        Sentences; none where today's limit is too loose to be priced.
    """
    limit = today.question.rule.limit
    row = next((one for one in today.rows if one.limit == limit), None)
    if row is None:
        return ()
    step = next((one for one in today.steps if one.looser == limit), None)
    if step is None:
        return (
            say(
                "A limit of 0 costs at least {cost} a ball.",
                cost=cost_words(row.cost_per_ball, currency),
            ),
            say("With half the breaks: {cost}.", cost=_at(half, 0, currency)),
        )
    return (
        say(
            "A limit of {limit} would cost at least {cost} a ball more.",
            limit=step.stricter,
            cost=cost_words(step.cost_per_ball, currency),
        ),
        _against_none(today, half, row.cost_per_ball.value, step.stricter, currency),
    )


def _against_none(
    today: LimitAnswer, half: LimitAnswer, cost: float, stricter: int, currency: str
) -> str:
    """Say what today's limit and a stricter one cost, and how much the shortest piece alone."""
    said = {
        "limit": today.question.rule.limit,
        "cost": small_sum(cost, currency),
        "stricter": stricter,
        "stricter_cost": _at(today, stricter, currency),
        "half": _at(half, stricter, currency),
    }
    if today.piece_rule is None or today.question.rule.min_piece_m == 0.0:
        return say(
            "Against no rule at all, the limit of {limit} costs {cost}; a limit of {stricter} "
            "costs {stricter_cost}, or {half} with half the breaks.",
            **said,
        )
    return say(
        "Against no rule at all, the limit of {limit} costs {cost}, {piece} of it for the shortest "
        "piece alone; a limit of {stricter} costs {stricter_cost}, or {half} with half the breaks.",
        piece=small_sum(today.piece_rule.cost_per_ball.value, currency),
        **said,
    )


def _at(answer: LimitAnswer, limit: int, currency: str) -> str:
    row = next(one for one in answer.rows if one.limit == limit)
    return small_sum(row.cost_per_ball.value, currency)


def straight_words(straight: LimitAnswer, currency: str) -> str:
    """Say what the stricter limit costs a mill that winds straight through."""
    limit = straight.question.rule.limit
    step = next((one for one in straight.steps if one.looser == limit), None)
    if step is None:
        row = next((one for one in straight.rows if one.limit == limit), None)
        if row is None:
            return ""
        cost = cost_words(row.cost_per_ball, currency)
        return say("Wound straight through: {cost} a ball.", cost=cost)
    return say(
        "Wound straight through, without parting for a knot: {cost} a ball more.",
        cost=cost_words(step.cost_per_ball, currency),
    )
