"""Text that remembers how it was made."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from clew.languages.tongues import Tongue


class Told(str):
    """English text that can be told again in another language.

    It is a `str` in every way; what is cut, searched or formatted out of it is plain text and
    stays English. Adding text before or after keeps it whole.
    """

    __slots__ = ("_made_of",)

    _made_of: tuple[Any, ...]

    def __new__(cls, english: str, *made_of: Any) -> Told:
        """Make the English text and keep what it is made of."""
        made = super().__new__(cls, english)
        made._made_of = made_of
        return made

    def tell(self, tongue: Tongue) -> str:
        """Say it in a language."""
        raise NotImplementedError

    def each(self, change: Any) -> Told:
        """Make the same of changed parts; `change` takes and gives a text."""
        raise NotImplementedError

    def __add__(self, other: str) -> str:
        return Run.of("", (self, other)) if isinstance(other, str) else NotImplemented

    def __radd__(self, other: str) -> str:
        return Run.of("", (other, self)) if isinstance(other, str) else NotImplemented

    def __reduce__(self) -> tuple[Any, ...]:
        return _again, (type(self), str(self), self._made_of)

    def __copy__(self) -> Told:
        return self

    def __deepcopy__(self, memo: Any) -> Told:
        return self


def _again(kind: type[Told], english: str, made_of: tuple[Any, ...]) -> Told:
    return kind(english, *made_of)


def tell(value: str, tongue: Tongue) -> str:
    """Say a text in a language; plain text stays as it is, and so does all text in English."""
    if not isinstance(value, Told):
        return value
    return str(value) if tongue.is_first else value.tell(tongue)


class Run(Told):
    """Texts one after another, with something between."""

    __slots__ = ()

    @classmethod
    def of(cls, between: str, parts: tuple[str, ...]) -> Run:
        """Put texts one after another."""
        return cls(str(between).join(str(part) for part in parts), between, parts)

    def tell(self, tongue: Tongue) -> str:
        """Say each in turn."""
        between, parts = self._made_of
        return tell(between, tongue).join(tell(part, tongue) for part in parts)

    def each(self, change: Any) -> Run:
        """Change every part, and what stands between."""
        between, parts = self._made_of
        return Run.of(change(between), tuple(change(part) for part in parts))


class Cased(Told):
    """A text whose first letter is written large or small."""

    __slots__ = ()

    @classmethod
    def of(cls, text: str, large: bool) -> Cased:
        """Write the first letter of a text large or small."""
        return cls(_cased(str(text), large), text, large)

    def tell(self, tongue: Tongue) -> str:
        """Say the text; a language that writes nouns large keeps its own small letters' rule."""
        text, large = self._made_of
        told = tell(text, tongue)
        return _cased(told, large) if large or tongue.lowers else told

    def each(self, change: Any) -> Cased:
        """Change the text."""
        text, large = self._made_of
        return Cased.of(change(text), large)


def _cased(text: str, large: bool) -> str:
    return (text[:1].upper() if large else text[:1].lower()) + text[1:]
