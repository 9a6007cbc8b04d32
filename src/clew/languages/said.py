"""Sentences with places to fill, counted where they count something."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from clew.languages.marks import NumbersIn
from clew.languages.told import Cased, Run, Told

if TYPE_CHECKING:
    from clew.languages.tongues import Tongue

_ENGLISH = NumbersIn(None)


class Said(Told):
    """One message of the catalogues with what fills its places."""

    __slots__ = ()

    def tell(self, tongue: Tongue) -> str:
        """Say it in a language; what has no translation yet stays English."""
        one, many, count, fields = self._made_of
        pattern = tongue.message(one) if many is None else tongue.plural(one, many, count)
        return tongue.fill(pattern, fields)

    def each(self, change: Any) -> Said:
        """Change every text that fills a place."""
        one, many, count, fields = self._made_of
        changed = {k: change(v) if isinstance(v, str) else v for k, v in fields.items()}
        return _said(one, many, count, changed)


def _said(one: str, many: str | None, count: float, fields: Mapping[str, Any]) -> Said:
    pattern = one if many is None or count == 1 else many
    return Said(_ENGLISH.vformat(pattern, (), fields), one, many, count, fields)


def say(message: str, /, **fields: Any) -> str:
    """Say a sentence so that it can be said again in another language.

    Parameters
    ----------
    message : str
        The English sentence, a literal, its places written ``{name}`` as for `str.format`: whole
        sentences, so that a translator may turn them round. Numbers are given as numbers and
        formatted here (``{share:.1f} %``), so that the decimal mark can follow the language.
    **fields : Any
        What fills the places; texts made by this room are said again too.

    Returns
    -------
    str
        English text that `spoken` says in the reader's language.
    """
    return _said(message, None, 1, fields)


def say_many(one: str, many: str, count: float, /, **fields: Any) -> str:
    """Say a sentence about a number of things.

    Parameters
    ----------
    one, many : str
        The English sentence for 1 and for any other number, literals; ``{n}`` is the number.
    count : float
        How many there are [1].
    **fields : Any
        What fills the other places.

    Returns
    -------
    str
        As `say`.
    """
    return _said(one, many, count, {"n": count, **fields})


def joined(between: str, parts: Iterable[str]) -> str:
    """Put texts one after another with something between, as ``between.join(parts)`` does."""
    return Run.of(between, tuple(parts))


def first_upper(text: str) -> str:
    """Write the first letter large."""
    return Cased.of(text, True)


def first_lower(text: str) -> str:
    """Write the first letter small, where the language would."""
    return Cased.of(text, False)


def told_again(text: str, change: Any) -> str:
    """Change the plain pieces of a text, however it was put together.

    Parameters
    ----------
    text : str
        The text.
    change : callable
        Takes a plain text and gives a text; messages themselves are not changed, only what
        fills them.

    Returns
    -------
    str
        The text of changed pieces.
    """
    if isinstance(text, Told):
        return text.each(lambda part: told_again(part, change))
    changed: str = change(text)  # perhaps a message itself
    return changed
