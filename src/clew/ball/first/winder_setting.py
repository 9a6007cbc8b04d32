"""What to set each winder to after the first balls, on its own counter, and whether to touch it."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from clew.ball.bounds import short_frac
from clew.ball.counter import Counter
from clew.ball.first.belief import Belief, ball_rows
from clew.ball.first.next_balls import NextBalls, Wind, next_balls
from clew.ball.first.odd_balls import held_back
from clew.ball.first.setting_words import setting_words
from clew.faults import BadInput, Fault
from clew.languages import say

Binding = Literal["mass", "length"]

MOST_TURNS = 1_000_000
MOST_SHORT_CHANCE = 0.05
"""Chance that a winder's mean is under its declaration above which it is set higher at once ..."""

LEAST_ADDED_CHANCE = 0.02
"""... provided that standing below the target adds so much to what the target itself leaves."""

_ROUNDING = 1e-12


@dataclass(frozen=True, slots=True)
class Stakes:
    """What it costs to leave a winder as it is.

    Attributes
    ----------
    declared_mass_g, declared_length_m : float or None
        The declarations, mass as weighed [g], [m]; none where nothing is declared.
    winder_balls : float
        Balls of the lot that one winder makes.
    price_per_kg, check_cost : float
        Price of the yarn [money/kg], and cost of the ball weighed after a change [money].
    """

    declared_mass_g: float | None = None
    declared_length_m: float | None = None
    winder_balls: float = 0.0
    price_per_kg: float = 0.0
    check_cost: float = 0.0


@dataclass(frozen=True, slots=True)
class PresentSetting:
    """What a winder is set to now.

    Attributes
    ----------
    winder : str
        The winder.
    counter : Counter
        Its counter.
    counts : int
        Counts it is set to.
    """

    winder: str
    counter: Counter
    counts: int


@dataclass(frozen=True, slots=True)
class WinderSetting:
    """What to set a winder to, and whether it is worth touching.

    Attributes
    ----------
    winder : str
        The winder.
    binding : {"mass", "length"}
        Which target asks for more turns.
    turns_needed : int
        Fewest whole turns at which expected mass and length both reach their targets.
    counts, turns : int, float
        Fewest counts of its own counter that do so, and the turns they really give.
    present_counts, present_turns : int, float
        What it is set to now.
    change_counts, change_turns : int, float
        The change, above zero for more.
    gap_frac : float
        How far the binding value at the present setting stands above its target [-].
    gap_sd : float
        Standard deviation of that gap [-].
    wrong_way_chance : float
        Chance that the truth asks for a change in the other direction [-].
    giveaway_g : float
        Yarn in a mean ball that the change would take off [g]; 0 when nothing is to be taken off.
    saving : float
        What that comes to over the balls of this winder [money].
    short_chance, short_chance_on_target, short_chance_then : float or None
        Chance that the mean of this winder is under the declaration of what binds [-]: as it is,
        as it would be exactly on the target, and with the change; none where nothing is declared.
    odd_ball : str
        A ball to weigh again before this change is made, with its winder; empty when there is none.
    worth_it : bool
        Whether to make the change.
    present, proposed : NextBalls
        The balls to come without and with the change.
    words : str
        The same for people.
    """

    winder: str
    binding: Binding
    turns_needed: int
    counts: int
    turns: float
    present_counts: int
    present_turns: float
    change_counts: int
    change_turns: float
    gap_frac: float
    gap_sd: float
    wrong_way_chance: float
    giveaway_g: float
    saving: float
    short_chance: float | None
    short_chance_on_target: float | None
    short_chance_then: float | None
    odd_ball: str
    worth_it: bool
    present: NextBalls
    proposed: NextBalls
    words: str


def winder_settings(
    belief: Belief,
    wind: Wind,
    present: Sequence[PresentSetting],
    *,
    target_mass_g: float | None = None,
    target_length_m: float | None = None,
    stakes: Stakes | None = None,
    clear_sd: float = 1.0,
) -> tuple[WinderSetting, ...]:
    """Find the setting of each winder that brings the lot's balls on both targets.

    Parameters
    ----------
    belief : Belief
        The belief after the balls weighed so far.
    wind : Wind
        What was expected before any ball was weighed.
    present : sequence of PresentSetting
        What each winder is set to now.
    target_mass_g, target_length_m : float, optional
        What the mean ball must reach [g], [m]; at least one of them.
    stakes : Stakes, optional
        What leaving a winder as it is costs; left out, only `clear_sd` decides.
    clear_sd : float
        A gap is clear of noise when it is at least this many of its own standard deviations [-]; 1
        leaves a chance of at most 16 % that the change goes the wrong way.

    Returns
    -------
    tuple of WinderSetting
        One for each present setting, in their order.

    Raises
    ------
    BadInput
        If there is no target, a number cannot be used, or no number of turns reaches a target.

    Notes
    -----
    The belief already weighs a ball against what winders, lots and cones are known to do, so a
    setting follows the balls only as far as they deserve. Above its target a winder gives yarn
    away: counts are taken off when the gap is clear of noise and the yarn saved pays for the ball
    weighed after the change. Below its target it may fall short of what is declared: counts are
    added when the gap is clear, or as soon as the chance that its mean is under the declaration is
    above 5 % and two points or more above what it would be on the target: what a target close to
    the declaration leaves by itself is the mill's own choice. A winder whose advice rests on an odd
    ball is left alone until that ball is weighed again; and as that ball moves what is believed of
    the yarn, no counts are taken off any other winder until then. Source: fewest whole turns
    DERIVED; the rule of action common practice, no published source.
    """
    _check(target_mass_g, target_length_m, clear_sd)
    held = held_back(belief)
    return tuple(
        _setting(
            belief,
            wind,
            now,
            target_mass_g=target_mass_g,
            target_length_m=target_length_m,
            stakes=stakes or Stakes(),
            clear_sd=clear_sd,
            held=held,
        )
        for now in present
    )


def _setting(
    belief: Belief,
    wind: Wind,
    now: PresentSetting,
    *,
    target_mass_g: float | None,
    target_length_m: float | None,
    stakes: Stakes,
    clear_sd: float,
    held: Mapping[str, str],
) -> WinderSetting:
    longer, heavier = np.exp(ball_rows(belief, now.winder, (), with_length=True) @ belief.mean)
    needs: list[tuple[float, Binding]] = []  # expected length before the belief, and what asks it
    if target_mass_g is not None:
        needs.append((target_mass_g / wind.mass_g_per_m / float(heavier), "mass"))
    if target_length_m is not None:
        needs.append((target_length_m / float(longer), "length"))
    needed_m, binding = max(needs)

    def reaches(turns: float) -> bool:
        """Whether these turns are expected to meet both targets."""
        return wind.at(turns)[0] >= needed_m * (1.0 - _ROUNDING)

    turns_of = now.counter.turns_of_counts
    present_turns = turns_of(now.counts)
    before = next_balls(belief, now.winder, wind, present_turns)
    counts = _fewest(lambda counts: reaches(turns_of(counts)), now.counts)
    gap = math.log(wind.at(present_turns)[0] / needed_m)
    gap_sd = before.mass_mean_sd if binding == "mass" else before.length_mean_sd
    after = next_balls(belief, now.winder, wind, turns_of(counts))
    spared_g = max(0.0, before.mass_mean_g.middle - after.mass_mean_g.middle)
    saving = spared_g / 1000.0 * stakes.winder_balls * stakes.price_per_kg
    short = _short_chance(before, binding, stakes)
    on_target = _short_chance(before, binding, stakes, math.exp(-gap))
    at_risk = (
        short is not None
        and on_target is not None
        and short > MOST_SHORT_CHANCE
        and short - on_target >= LEAST_ADDED_CHANCE
    )
    clear = abs(gap) >= clear_sd * gap_sd
    if counts < now.counts:
        wanted = clear and saving >= stakes.check_cost
    else:
        wanted = counts > now.counts and (clear or at_risk)
    doubted = now.winder if now.winder in held else next(iter(held), "")
    if doubted != now.winder and counts >= now.counts:
        doubted = ""
    odd_ball = (
        say("ball {ball} of winder {winder}", ball=held[doubted], winder=doubted) if doubted else ""
    )
    setting = WinderSetting(
        winder=now.winder,
        binding=binding,
        turns_needed=_fewest(reaches, math.ceil(present_turns)),
        counts=counts,
        turns=turns_of(counts),
        present_counts=now.counts,
        present_turns=present_turns,
        change_counts=counts - now.counts,
        change_turns=turns_of(counts) - present_turns,
        gap_frac=math.expm1(gap),
        gap_sd=gap_sd,
        wrong_way_chance=0.5 * math.erfc(abs(gap) / gap_sd / math.sqrt(2)) if gap_sd > 0 else 0.0,
        giveaway_g=spared_g,
        saving=saving,
        short_chance=short,
        short_chance_on_target=on_target,
        short_chance_then=_short_chance(after, binding, stakes),
        odd_ball=odd_ball,
        worth_it=wanted and not odd_ball,
        present=before,
        proposed=after,
        words="",
    )
    return replace(setting, words=setting_words(setting, clear))


def _short_chance(
    ahead: NextBalls, binding: Binding, stakes: Stakes, moved: float = 1.0
) -> float | None:
    """Chance that a winder's mean, times a factor, is under the declaration of what binds [-]."""
    if binding == "mass":
        mean, sd, declared = ahead.mass_mean_g, ahead.mass_mean_sd, stakes.declared_mass_g
    else:
        mean, sd, declared = ahead.length_mean_m, ahead.length_mean_sd, stakes.declared_length_m
    return None if declared is None else short_frac(mean.middle * moved, declared, sd)


def _fewest(reaches: Callable[[int], bool], start: int) -> int:
    """Fewest, 1 or more, that reaches; what reaches once does so for all larger numbers."""
    enough = max(1, start)
    step = 1
    if reaches(enough):
        short = enough - 1
        while short > 0 and reaches(short):
            enough, step = short, 2 * step
            short = max(0, enough - step)
    else:
        short, enough = enough, enough + step
        while not reaches(enough):
            short, step = enough, 2 * step
            enough = short + step
            if enough > MOST_TURNS:
                raise BadInput(
                    Fault(
                        say("a target that cannot be reached"),
                        expected=say("one within {most_turns} turns", most_turns=MOST_TURNS),
                    )
                )
    while enough - short > 1:
        middle = (enough + short) // 2
        if reaches(middle):
            enough = middle
        else:
            short = middle
    return enough


def _check(target_mass_g: float | None, target_length_m: float | None, clear_sd: float) -> None:
    faults = []
    if target_mass_g is None and target_length_m is None:
        faults.append(
            Fault(say("nothing to aim at"), say("a target for mass, for length, or both"))
        )
    for key, value in (("target_mass_g", target_mass_g), ("target_length_m", target_length_m)):
        if value is not None and not (math.isfinite(value) and value > 0.0):
            faults.append(
                Fault(say("not an amount"), say("a number above 0"), key=key, value=str(value))
            )
    if not (math.isfinite(clear_sd) and clear_sd >= 0.0):
        faults.append(
            Fault(say("not a usable number"), say("0 or more"), key="clear_sd", value=str(clear_sd))
        )
    if faults:
        raise BadInput(faults)
