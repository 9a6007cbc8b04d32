"""How many more first balls are worth weighing, and from which cone.

What a further ball will teach is known before it is wound: in this model the narrowing of the
belief depends on which balls are weighed, not on what they weigh.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from clew.ball.first.belief import Belief, ball_rows, with_cones
from clew.ball.first.conditioning import Floats, narrowed, settled
from clew.ball.first.next_balls import Z95, variance_of
from clew.ball.first.weighed import scatter
from clew.ball.first.winder_setting import Binding
from clew.faults import BadInput, Fault
from clew.languages import figure, joined, say

Source = Literal["present", "new"]


@dataclass(frozen=True, slots=True)
class ConeFloor:
    """How far balls of one cone can narrow the mean of the balls to come.

    Attributes
    ----------
    winder, cone : str
        The winder, and the cone that stands on it.
    half_width_now_frac : float
        Half of the 95 % interval of the mean of the balls to come, before any further ball [-].
    half_width_floor_frac : float
        The same after endless further balls of this cone [-].
    half_width_new_cone_frac : float
        The same after one ball of a cone not yet met, and none of this one [-].
    second_cone_pays : bool
        Whether that one ball brings more than any number of balls of this cone.
    words : str
        The same for people, with the reason.
    """

    winder: str
    cone: str
    half_width_now_frac: float
    half_width_floor_frac: float
    half_width_new_cone_frac: float
    second_cone_pays: bool
    words: str


@dataclass(frozen=True, slots=True)
class MoreStep:
    """What some further balls would bring.

    Attributes
    ----------
    more : int
        How many further balls.
    source : {"present", "new"}
        All from the cone on the winder now, or each from a cone not yet met.
    half_width_frac : float
        Half of the 95 % interval of the mean of the balls to come on this winder, after them [-].
    giveaway_g : float
        Yarn that a ball of the lot then holds above its target so that the mean does not fall
        short, averaged over the winders [g].
    net_saving : float
        Yarn saved over the lot less the cost of weighing, against weighing none; in the money of
        the prices [money].
    """

    more: int
    source: Source
    half_width_frac: float
    giveaway_g: float
    net_saving: float


@dataclass(frozen=True, slots=True)
class WorthWeighing:
    """How many more first balls to weigh on a winder.

    Attributes
    ----------
    winder : str
        The winder.
    more : int
        How many further balls are worth weighing; 0 for none.
    source : {"present", "new"}
        From the cone on the winder now, or each from a cone not yet met.
    net_saving : float
        What they save over the lot, cost taken off, in the money of the prices.
    now : MoreStep
        Where things stand without any further ball.
    steps : tuple of MoreStep
        1, 2, ... further balls of the present cone, then the same of new cones.
    floor : ConeFloor
        How far the present cone alone can lead.
    words : str
        The advice and its reason, in one sentence.
    """

    winder: str
    more: int
    source: Source
    net_saving: float
    now: MoreStep
    steps: tuple[MoreStep, ...]
    floor: ConeFloor
    words: str


def cone_floor(
    belief: Belief,
    winder: str,
    cone: str,
    *,
    expected_mass_g: float,
    binding: Binding = "mass",
    with_length: bool = True,
) -> ConeFloor:
    """Find where endless balls of one cone would lead, and whether a second cone beats that.

    Parameters
    ----------
    belief : Belief
        The belief.
    winder, cone : str
        The winder and the cone on it; the cone may be new.
    expected_mass_g : float
        Expected mass of a ball [g].
    binding : {"mass", "length"}
        Which declaration binds, and so whose interval matters.
    with_length : bool
        Whether the further balls are measured for length besides being weighed.

    Returns
    -------
    ConeFloor
        Half widths now, at the floor, and after one ball of a new cone.

    Raises
    ------
    BadInput
        If the belief does not know the winder, or the mass is not above nil.

    Notes
    -----
    Endless balls of a cone make known, exactly, what one of them shows without its own scatter:
    ω + a (τ + γ) and ω + b (τ + γ), or the second alone, a and b the elasticities of length and
    mass. What is left of the variance of ω + b τ is the floor. From the prior and with lengths it
    is b² V(τ) V(γ) / (V(τ) + V(γ)): nil only if cones do not differ. Source: DERIVED.
    """
    _check_numbers(expected_mass_g=expected_mass_g)
    belief, fresh = _ready(belief, cone, 1)
    target = ball_rows(belief, winder, (), with_length=True)[1 if binding == "mass" else 0]
    here = ball_rows(belief, winder, ((cone, 1.0),), with_length=with_length)
    there = ball_rows(belief, winder, ((fresh[0], 1.0),), with_length=with_length)
    noise = scatter(belief.spreads, expected_mass_g, with_length=with_length)
    now = _half_width(belief.covariance, target)
    floor = _half_width(settled(belief.covariance, here), target)
    new = _half_width(narrowed(belief.covariance, there, noise)[0], target)
    pays = new < floor
    words = _floor_words(
        cone,
        (now, floor, new),
        lengths_missing=binding == "length" and not with_length,
        cones_differ=belief.spreads.cone_cv > 0.0,
    )
    return ConeFloor(winder, cone, now, floor, new, pays, words)


def worth_weighing(
    belief: Belief,
    winder: str,
    *,
    present_cone: str,
    expected_mass_g: float,
    lot_balls: int,
    price_per_kg: float,
    weighing_cost: float,
    new_cone_cost: float = 0.0,
    binding: Binding = "mass",
    with_length: bool = True,
    most_more: int = 10,
    confidence: float = 0.95,
) -> WorthWeighing:
    """Say how many more first balls of a winder are worth weighing, and from which cone.

    Parameters
    ----------
    belief : Belief
        The belief after the balls weighed so far.
    winder : str
        The winder on which further balls would be wound.
    present_cone : str
        The cone on it now.
    expected_mass_g : float
        Expected mass of a ball [g].
    lot_balls : int
        Balls of the lot still to be wound, over all winders of the belief in equal shares.
    price_per_kg : float
        Price of the yarn [money/kg]; any money, the same throughout.
    weighing_cost : float
        Cost of weighing one more ball [money], of measuring it, and of the ball if it is lost.
    new_cone_cost : float
        Cost besides of bringing a new cone to the winder for it [money].
    binding : {"mass", "length"}
        Which declaration binds.
    with_length : bool
        Whether the further balls are measured for length.
    most_more : int
        Most further balls to consider, 1 to 100.
    confidence : float
        One-sided confidence with which the mean must not fall below its target [-].

    Returns
    -------
    WorthWeighing
        The number, the source, what each number would bring, and the reason.

    Raises
    ------
    BadInput
        If the belief does not know the winder or a number cannot be used.

    Notes
    -----
    A mill that must not fall short on average sets each winder above its target by z standard
    deviations of what is unknown of its mean; that yarn is given away. Weighing narrows the
    unknown part, on this winder and, through the lot's count, on the others. Mixed plans (some of
    this cone, some of others) are not considered. Source: DERIVED.
    """
    from statistics import NormalDist

    _check_numbers(
        expected_mass_g=expected_mass_g,
        lot_balls=lot_balls,
        price_per_kg=price_per_kg,
        weighing_cost=weighing_cost,
        new_cone_cost=new_cone_cost,
    )
    if not 1 <= most_more <= 100 or not 0.5 < confidence < 1.0:
        raise BadInput(
            Fault(
                say("not usable"), say("1 to 100 further balls, and a confidence between 0.5 and 1")
            )
        )
    belief, fresh = _ready(belief, present_cone, most_more)
    which = 1 if binding == "mass" else 0
    targets = {
        name: ball_rows(belief, name, (), with_length=True)[which] for name in belief.winders
    }
    one_sided = NormalDist().inv_cdf(confidence)
    noise = scatter(belief.spreads, expected_mass_g, with_length=with_length)

    def giveaway_g(covariance: Floats) -> float:
        """Yarn above target in a mean ball [g], averaged over the winders."""
        sds = [math.sqrt(variance_of(covariance, row)) for row in targets.values()]
        return one_sided * expected_mass_g * math.fsum(sds) / len(sds)

    at_first = giveaway_g(belief.covariance)

    def step(more: int, source: Source, covariance: Floats) -> MoreStep:
        """What that many further balls bring, from the covariance after them."""
        given = giveaway_g(covariance)
        cost = more * (weighing_cost + (new_cone_cost if source == "new" else 0.0))
        saving = (at_first - given) / 1000.0 * price_per_kg * lot_balls - cost
        return MoreStep(more, source, _half_width(covariance, targets[winder]), given, saving)

    steps: list[MoreStep] = []
    sources: tuple[Source, ...] = ("present", "new")
    for source in sources:
        covariance = belief.covariance
        for more in range(1, most_more + 1):
            cone = present_cone if source == "present" else fresh[more - 1]
            rows = ball_rows(belief, winder, ((cone, 1.0),), with_length=with_length)
            covariance, _ = narrowed(covariance, rows, noise)
            steps.append(step(more, source, covariance))
    now = step(0, "present", belief.covariance)
    best = max([now, *steps], key=lambda item: (item.net_saving, -item.more))
    return WorthWeighing(
        winder=winder,
        more=best.more,
        source=best.source,
        net_saving=best.net_saving,
        now=now,
        steps=tuple(steps),
        floor=cone_floor(
            belief,
            winder,
            present_cone,
            expected_mass_g=expected_mass_g,
            binding=binding,
            with_length=with_length,
        ),
        words=_advice(winder, now, best, most_more),
    )


def _ready(belief: Belief, cone: str, fresh: int) -> tuple[Belief, list[str]]:
    """Add the cone on the winder, and as many cones that nobody has met yet."""
    taken = {*belief.cones, cone}
    names = [name for i in range(fresh + len(taken)) if (name := f"new {i + 1}") not in taken]
    return with_cones(belief, [cone, *names[:fresh]]), names[:fresh]


def _half_width(covariance: Floats, row: Floats) -> float:
    return Z95 * math.sqrt(variance_of(covariance, row))


def _check_numbers(expected_mass_g: float, **others: float) -> None:
    faults = []
    if not (math.isfinite(expected_mass_g) and expected_mass_g > 0.0):
        shown = str(expected_mass_g)
        faults.append(
            Fault(say("not an amount"), say("a number above 0"), key="expected_mass_g", value=shown)
        )
    for key, value in others.items():
        if not (math.isfinite(value) and value >= 0.0):
            faults.append(
                Fault(say("not an amount"), say("a number of 0 or more"), key=key, value=str(value))
            )
    if faults:
        raise BadInput(faults)


def _floor_words(
    cone: str,
    widths: tuple[float, float, float],
    *,
    lengths_missing: bool,
    cones_differ: bool,
) -> str:
    now, floor, new = (figure(f"±{100.0 * width:.2f} %") for width in widths)
    reasons = []
    if cones_differ:
        reasons.append(
            say("they all share what is peculiar to that cone, which later cones do not have")
        )
    if lengths_missing:
        reasons.append(say("a mass does not show a length"))
    if reasons:
        text = say(
            "The mean of the balls to come is known to {now}; endless balls of cone "
            "{cone} would bring it to {floor} and no further, because {reasons}.",
            now=now,
            cone=cone,
            floor=floor,
            reasons=joined(say(" and "), reasons),
        )
    else:
        text = say(
            "The mean of the balls to come is known to {now}; endless balls of cone "
            "{cone} would bring it to {floor} and no further.",
            now=now,
            cone=cone,
            floor=floor,
        )
    if widths[2] < widths[1]:
        more = say(
            "One ball of a second cone brings it to {new}, more than any number of "
            "this one: weigh one from a second cone.",
            new=new,
        )
    else:
        more = say("One ball of a second cone brings it to {new}.", new=new)
    return joined(" ", (text, more))


def _advice(winder: str, now: MoreStep, best: MoreStep, most_more: int) -> str:
    known = figure(f"±{100.0 * now.half_width_frac:.2f} %")
    if best.more == 0:
        return say(
            "Winder {winder}: weigh no more; its mean is known to {known}, and a "
            "further ball would cost more than the yarn it saves.",
            winder=winder,
            known=known,
        )
    if best.source == "present":
        place = say("from the cone on it now")
    else:
        place = say("from another cone") if best.more == 1 else say("each from a different cone")
    then = figure(f"±{100.0 * best.half_width_frac:.2f} %")
    end = (
        say("the most considered")
        if best.more == most_more
        else say("one more would cost more than it saves")
    )
    return say(
        "Winder {winder}: weigh {more} more, {place}; that narrows its mean from "
        "{known} to {then} and saves more yarn than it costs ({end}).",
        winder=winder,
        more=best.more,
        place=place,
        known=known,
        then=then,
        end=end,
    )
