"""What a field of an event is called where a person reads it."""

from __future__ import annotations

from clew.ledger.events.kinds import KINDS


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
    words, bracket, unit = field.words.partition(" [")
    return words, f"{value} {unit.rstrip(']')}" if bracket else value
