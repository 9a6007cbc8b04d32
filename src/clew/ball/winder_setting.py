"""What to set each winder to after the first balls, on its own counter, and whether to touch it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from clew.ball.belief import Belief, ball_rows
from clew.ball.counter import Counter
from clew.ball.first_balls import Z95, NextBalls, Wind, next_balls
from clew.faults import BadInput, Fault

Binding = Literal["mass", "length"]

MOST_TURNS = 1_000_000
_ROUNDING = 1e-12


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
    clear_sd : float
        A change is worth making when the gap it closes is at least this many of its own standard
        deviations [-]; 1 leaves a chance of at most 16 % that it goes the wrong way.

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
    setting follows the balls only as far as they deserve; `clear_sd` keeps hands off besides.
    Source: fewest whole turns DERIVED; `clear_sd` common practice, no published source.
    """
    _check(target_mass_g, target_length_m, clear_sd)
    return tuple(
        _setting(
            belief,
            wind,
            now,
            target_mass_g=target_mass_g,
            target_length_m=target_length_m,
            clear_sd=clear_sd,
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
    clear_sd: float,
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
        worth_it=counts != now.counts and abs(gap) >= clear_sd * gap_sd,
        present=before,
        proposed=next_balls(belief, now.winder, wind, turns_of(counts)),
        words="",
    )
    return replace(setting, words=_words(setting))


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
                        "a target that cannot be reached", expected=f"one within {MOST_TURNS} turns"
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
        faults.append(Fault("nothing to aim at", "a target for mass, for length, or both"))
    for key, value in (("target_mass_g", target_mass_g), ("target_length_m", target_length_m)):
        if value is not None and not (math.isfinite(value) and value > 0.0):
            faults.append(Fault("not an amount", "a number above 0", key=key, value=str(value)))
    if not (math.isfinite(clear_sd) and clear_sd >= 0.0):
        faults.append(
            Fault("not a usable number", "0 or more", key="clear_sd", value=str(clear_sd))
        )
    if faults:
        raise BadInput(faults)


def _words(setting: WinderSetting) -> str:
    winder, change = setting.winder, setting.change_counts
    if change == 0:
        return f"Winder {winder}: leave it; it stands at the fewest counts that reach the targets."
    side = "above" if setting.gap_frac > 0.0 else "below"
    runs = f"{100.0 * abs(setting.gap_frac):.1f} % {side} target in {setting.binding}"
    counts = f"{abs(change)} count{'' if abs(change) == 1 else 's'}"
    if setting.worth_it:
        return f"Winder {winder} runs {runs}: {'add' if change > 0 else 'take off'} {counts}."
    meanwhile = "" if setting.gap_frac > 0.0 else " If it is not, balls may come out short."
    return (
        f"Winder {winder}: leave it for now. It seems to run {runs}, which would be {counts} "
        f"{'more' if change > 0 else 'fewer'}, but its mean is only known to "
        f"±{100.0 * Z95 * setting.gap_sd:.1f} %: the change may be noise."
        f"{meanwhile}"
    )
