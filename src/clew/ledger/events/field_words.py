"""What a field of an event is called where a person reads it."""

from __future__ import annotations

from clew.languages import figure, say
from clew.ledger.events.kinds import KINDS

WITHOUT_UNIT = {
    "target_g": say("mass aimed at"),
    "call_low_g": say("call the lead below this"),
    "call_high_g": say("call the lead above this"),
    "feed_m_per_s": say("feed speed"),
    "belt_m_per_s": say("belt speed"),
    "steam_c": say("steam"),
    "dryer_c": say("dryer"),
}
"""What a setting is called where its unit stands beside its value."""


def setting_words(name: str, value: str) -> tuple[str, str]:
    """Write a setting of a run as people say it.

    Parameters
    ----------
    name : str
        Field of a run's start or of a changed setting, such as ``target_g``.
    value : str
        Its value, without the unit.

    Returns
    -------
    (str, str)
        What it is, and its value with the unit: ``("mass aimed at", "101.1 g")``.
    """
    field = KINDS["run set"].field(name) or KINDS["run start"].field(name)
    if field is None:
        return name, value
    if name not in WITHOUT_UNIT:
        return field.words, figure(value) if field.type in ("whole", "number") else value
    _, _, unit = field.words.partition(" [")
    return WITHOUT_UNIT[name], figure(f"{value} {unit.rstrip(']')}")
