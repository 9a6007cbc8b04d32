"""What is to be done to a winder after its first balls, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from clew.ball.first.next_balls import Z95
from clew.languages import say, say_many

if TYPE_CHECKING:
    from clew.ball.first.winder_setting import WinderSetting


def setting_words(setting: WinderSetting, clear: bool) -> str:
    """Say what is to be done to one winder.

    Parameters
    ----------
    setting : WinderSetting
        What it is set to, and what that would change.
    clear : bool
        Whether its gap stands clear of the doubt in it.

    Returns
    -------
    str
        One sentence or two.
    """
    winder, change = setting.winder, setting.change_counts
    if setting.odd_ball:
        return say(
            "Winder {winder}: leave it; {odd_ball} does not fit and no second ball of "
            "that winder agrees with it: weigh it again first.",
            winder=winder,
            odd_ball=setting.odd_ball,
        )
    if change == 0:
        return say(
            "Winder {winder}: leave it; it stands at the fewest counts that reach the targets.",
            winder=winder,
        )
    return _change_words(setting, clear) if setting.worth_it else _leave_words(setting, clear)


def _change_words(setting: WinderSetting, clear: bool) -> str:
    """Say that a winder's counts are to be changed."""
    winder, off, chance = setting.winder, _off(setting), _chance(setting)
    counts = _counts(setting)
    if chance:
        places = {
            "winder": winder,
            "off": off,
            "counts": counts,
            "chance": chance,
            "then": 100.0 * (setting.short_chance_then or 0.0),
        }
        if clear:
            return say(
                "Winder {winder} runs {off}: add {counts}; {chance}, {then:.0f} % after it.",
                **places,
            )
        return say(
            "Winder {winder} seems to run {off}: add {counts}; {chance}, {then:.0f} % after it.",
            **places,
        )
    if setting.change_counts > 0:
        return say(
            "Winder {winder} runs {off}: add {counts}.", winder=winder, off=off, counts=counts
        )
    return say(
        "Winder {winder} runs {off}: take off {counts}.", winder=winder, off=off, counts=counts
    )


def _leave_words(setting: WinderSetting, clear: bool) -> str:
    """Say why a winder is left as it is, although its mean stands off its target."""
    winder, off, chance = setting.winder, _off(setting), _chance(setting)
    counts = _counts(setting)
    if clear:  # nothing but its cost keeps a clear gap open
        return say(
            "Winder {winder}: leave it. It runs {off}, but {counts} fewer would save "
            "less yarn than weighing the ball after the change costs.",
            winder=winder,
            off=off,
            counts=counts,
        )
    known = say("its mean is known to ±{gap:.1f} %", gap=100.0 * Z95 * setting.gap_sd)
    if not chance:
        return say(
            "Winder {winder}: leave it. It seems to run {off}, but {known}: the change "
            "may be noise.",
            winder=winder,
            off=off,
            known=known,
        )
    return say(
        "Winder {winder}: leave it. It seems to run {off}, but {known}: the change "
        "may be noise, and there is a {chance}, {on:.0f} % on its target.",
        winder=winder,
        off=off,
        known=known,
        chance=chance,
        on=100.0 * (setting.short_chance_on_target or 0.0),
    )


def _counts(setting: WinderSetting) -> str:
    return say_many("{n} count", "{n} counts", abs(setting.change_counts))


def _off(setting: WinderSetting) -> str:
    """Say how far a winder's mean stands off its target."""
    what = say("mass") if setting.binding == "mass" else say("length")
    above, percent = setting.gap_frac > 0.0, 100.0 * abs(setting.gap_frac)
    if percent < 0.05:
        return (
            say("just above target in {what}", what=what)
            if above
            else say("just below target in {what}", what=what)
        )
    return (
        say("{percent:.1f} % above target in {what}", percent=percent, what=what)
        if above
        else say("{percent:.1f} % below target in {what}", percent=percent, what=what)
    )


def _chance(setting: WinderSetting) -> str:
    """Say how likely the mean is under its declaration; empty where more turns are not asked."""
    if setting.change_counts <= 0 or setting.short_chance is None:
        return ""
    chance = 100.0 * setting.short_chance
    if setting.binding == "mass":
        return say("{chance:.0f} % chance that its mean is under the declared mass", chance=chance)
    return say("{chance:.0f} % chance that its mean is under the declared length", chance=chance)
