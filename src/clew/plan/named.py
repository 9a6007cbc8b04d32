"""Names put together as they are spoken: a, b and c; a or b."""

from __future__ import annotations

from collections.abc import Sequence

from clew.languages import joined, say


def and_words(names: Sequence[str]) -> str:
    """Join names as they are spoken: a, b and c."""
    if len(names) < 2:
        return joined("", names)
    return say("{names} and {last}", names=joined(", ", names[:-1]), last=names[-1])


def or_words(names: Sequence[str]) -> str:
    """Join names of which one will do: a or b or c."""
    said = joined("", names[:1])
    for name in names[1:]:
        said = say("{name} or {other}", name=said, other=name)
    return said


def each_and(names: Sequence[str]) -> str:
    """Join names of which every one is meant: a and b and c."""
    said = joined("", names[:1])
    for name in names[1:]:
        said = say("{name} and {other}", name=said, other=name)
    return said
