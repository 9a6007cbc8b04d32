"""The sentences of Knots: what a hundred balls hold, where it comes from, what a limit does."""

from __future__ import annotations

from dataclasses import replace

from clew.faults import BadInput
from clew.knots.from_mill import KnotTerms
from clew.knots.law import KnotLaw, knot_law
from clew.knots.pieces import within_limit
from clew.knots.price import Band, LimitAnswer
from clew.knots.sources import SOURCE_WORDS
from clew.quantities import LENGTH, show
from clew.web.figures import Figures
from clew.web.knots_money import small_sum

_OF = (100, 1000, 10_000)
_OUT_OF = (100, 1000, 10_000, 100_000, 1_000_000)
_FEWEST = 5.0


def grouped(count: int) -> str:
    """Write a large whole number with narrow gaps, that it can be read."""
    if count == 1_000_000:
        return "a million"
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
        return "fewer than 1 ball in a million" if chance > 0.0 else "no ball"
    return f"{count} {'ball' if count == 1 else 'balls'} in\u00a0{grouped(of)}"


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
    said = [
        f"{grouped(count)}\u00a0{'holds' if count == 1 else 'hold'} {what}"
        for count, what in zip(counts, (f"no {joint}", "one", "more"), strict=True)
    ]
    return grouped(of), tuple(said)


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
    return ", ".join(
        f"{SOURCE_WORDS[name]} "
        + (figures.percent(share, 0 if share >= 0.01 else 1) if share >= 5e-4 else "under 0.1 %")
        for share, name in parts
    )


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
        return "no ball is over it, for a splice counts nothing", ""
    over = law.more_than(allowed)
    count, of = out_of(over)
    said = f"{chance_words(over)} {'is' if count <= 1 else 'are'} over it"
    if terms.breaks_band == (1.0, 1.0) or over == 0.0:
        return said, ""
    try:
        low, high = (_over_at(terms, factor, allowed) for factor in terms.breaks_band)
    except BadInput:  # at the upper end a ball may hold more joins than the law is made for
        return said, ""
    if round(high * of) == round(low * of):
        return said, ""
    return said, f"{round(low * of)} to {round(high * of)} in\u00a0{grouped(of)}"


def _over_at(terms: KnotTerms, factor: float, allowed: int) -> float:
    rate = terms.sources.breaks_per_m * factor
    sources = replace(terms.sources, breaks_per_m=rate)
    return knot_law(sources, terms.rule.ball_length_m).more_than(allowed)


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
    return f"Within it, {said} {'holds' if one else 'hold'} a piece shorter than {least}."


def cost_words(band: Band, currency: str) -> str:
    """Say a cost with its band: ``1.5p (0.9p to 2.2p)``."""
    said = small_sum(band.value, currency)
    low, high = (small_sum(end, currency) for end in (band.low, band.high))
    return said if low == high else f"{said} ({low} to {high})"


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
            f"A limit of 0 costs at least {cost_words(row.cost_per_ball, currency)} a ball.",
            f"With half the breaks: {_at(half, 0, currency)}.",
        )
    return (
        f"A limit of {step.stricter} would cost at least "
        f"{cost_words(step.cost_per_ball, currency)} a ball more.",
        f"Against no rule at all, the limit of {limit} costs "
        f"{small_sum(row.cost_per_ball.value, currency)}{_of_pieces(today, currency)}; a limit of "
        f"{step.stricter} costs {_at(today, step.stricter, currency)}, or "
        f"{_at(half, step.stricter, currency)} with half the breaks.",
    )


def _of_pieces(answer: LimitAnswer, currency: str) -> str:
    """Say how much of a cost is the shortest piece's, which no limit changes."""
    if answer.piece_rule is None or answer.question.rule.min_piece_m == 0.0:
        return ""
    cost = small_sum(answer.piece_rule.cost_per_ball.value, currency)
    return f", {cost} of it for the shortest piece alone"


def _at(answer: LimitAnswer, limit: int, currency: str) -> str:
    row = next(one for one in answer.rows if one.limit == limit)
    return small_sum(row.cost_per_ball.value, currency)


def straight_words(straight: LimitAnswer, currency: str) -> str:
    """Say what the stricter limit costs a mill that winds straight through."""
    limit = straight.question.rule.limit
    step = next((one for one in straight.steps if one.looser == limit), None)
    if step is None:
        row = next((one for one in straight.rows if one.limit == limit), None)
        cost = "" if row is None else cost_words(row.cost_per_ball, currency)
        return f"Wound straight through: {cost} a ball." if cost else ""
    return (
        f"Wound straight through, without parting for a knot: "
        f"{cost_words(step.cost_per_ball, currency)} a ball more."
    )
