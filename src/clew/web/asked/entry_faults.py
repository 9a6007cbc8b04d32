"""What is wrong with a typed text: the mill file's own words, with the field's own example."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from pydantic import ValidationError

from clew.faults import Fault
from clew.languages import Told, figure, say
from clew.mill.fields import Reads

_OF_REGAIN = {
    "an addition cannot be negative": say("a regain cannot be negative"),
    "an addition above 150 %": say("a regain above 150 %"),
    "no such unit of addition": say("no such unit of regain"),
}
_LIMITS: dict[str, Callable[[str], str]] = {
    "ge": lambda limit: say("at least {limit}", limit=limit),
    "gt": lambda limit: say("more than {limit}", limit=limit),
    "le": lambda limit: say("at most {limit}", limit=limit),
    "lt": lambda limit: say("less than {limit}", limit=limit),
}


def entry_fault(error: ValidationError, said: Reads | None, fault: Fault, own: str) -> Fault:
    """Say why a field of the mill file refuses a text.

    Parameters
    ----------
    error : ValidationError
        What the field's reading raised.
    said : Reads or None
        How the field's quantity is spoken of.
    fault : Fault
        Where it is, and the value found; its words are replaced.
    own : str
        The field's own value, which becomes the example.

    Returns
    -------
    Fault
        What is wrong with the text.
    """
    what, expected = _words_of(error, said)
    if said is not None:
        expected = _with_example(expected, said.example, own)
    return replace(fault, what=what, expected=expected)


def regain_fault(fault: Fault, own: str) -> Fault:
    """Call what is added to a dry mass by its name: all that pages ask of that kind is a regain.

    Parameters
    ----------
    fault : Fault
        A fault of an addition.
    own : str
        The field's own value, as an example.

    Returns
    -------
    Fault
        The same of a regain.
    """
    what, expected = fault.what, fault.expected
    if "addition" in what:
        plain = what.replace("an addition", "a regain").replace("addition", "regain")
        what = _OF_REGAIN.get(what, plain)
    if expected.startswith("an addition such as"):
        expected = say("a regain such as {example}", example=own)
    return replace(fault, what=what, expected=expected)


def _words_of(error: ValidationError, said: Reads | None) -> tuple[str, str]:
    found = error.errors()[0]
    parts = found.get("ctx", {})
    if found["type"] == "clew":
        return parts["what"], parts["expected"]
    for name, words in _LIMITS.items():
        if name in parts:
            per_unit, unit = (said.per_unit, said.unit) if said else (1.0, "")
            limit = figure(f"{parts[name] / per_unit:g} {unit}".strip())
            return say("out of reach"), words(limit)
    return str(found["msg"]), ""


def _with_example(expected: str, example: str, own: str) -> str:
    """Put the field's own value in the place of the example."""
    told = _swapped(expected, example, own)
    english = expected.replace(f"such as {example}", f"such as {own}")
    return told if told == english else english


def _swapped(text: str, old: str, new: str) -> str:
    if text == old:
        return new
    return text.each(lambda part: _swapped(part, old, new)) if isinstance(text, Told) else text
