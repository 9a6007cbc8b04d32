"""Finding everything that is wrong with a mill file that could be read as TOML.

The model refuses a section at its first fault inside; here each field is read on its own, and what
could be read is looked over for what does not go together, so that one reading names every fault.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from functools import cache
from typing import Annotated, Any, get_args, get_origin

from annotated_types import MaxLen, MinLen
from pydantic import ConfigDict, TypeAdapter, ValidationError
from pydantic.fields import FieldInfo

from clew.languages import say
from clew.mill.fields import WRITTEN_AS_LIST, WRITTEN_INLINE, Clash, KeyPath, Section
from clew.mill.model import Mill
from clew.mill.places import one_of
from clew.mill.wording import expected_of, what_is_wrong

Check = Callable[[Any], Iterable[Clash]]
"""A further check of what could be read of a mill; paths start at the top of the file."""

_SUGGESTIONS = 200
"""So many unknown keys are compared with the known ones; beyond that it only costs time."""
_NO_MODEL = ConfigDict(allow_inf_nan=False, str_strip_whitespace=True)


class Partial:
    """A section as far as it could be read; what could not be, and what is not there, is None."""

    def __init__(self, values: Mapping[str, Any]) -> None:
        self.__dict__.update(values)

    def __getattr__(self, name: str) -> Any:
        """Answer for a value that could not be read."""
        if name.startswith("__"):
            raise AttributeError(name)
        return None


def find_faults(raw: dict[str, Any], checks: Iterable[Check] = ()) -> list[Clash]:
    """Find everything that is wrong with a mill file.

    Parameters
    ----------
    raw : dict
        The file as `tomllib` read it.
    checks : iterable of Check
        Further checks of what could be read.

    Returns
    -------
    list of Clash
        The faults, at most one for a key; paths start at the top of the file, and values are None
        where what stands there is meant.
    """
    search = _Search()
    have = search.section(Mill, raw, ())
    for check in checks:
        search.note_all((), check(have))
    return list(search.found.values())


class _Search:
    def __init__(self) -> None:
        self.found: dict[KeyPath, Clash] = {}
        self.unknown = 0
        self.misspelt: dict[KeyPath, str] = {}
        """Keys as they are written, by the path of the key that was meant."""

    def note(self, path: KeyPath, what: str, expected: str, value: object = None) -> None:
        if self.misspelt:
            path = tuple(
                self.misspelt.get(path[: place + 1], part) if isinstance(part, str) else part
                for place, part in enumerate(path)
            )
        self.found.setdefault(path, Clash(path, what, expected, value))

    def note_all(self, above: KeyPath, clashes: Iterable[Clash]) -> None:
        for clash in clashes:
            self.note((*above, *clash.path), clash.what, clash.expected, clash.value)

    def section(self, sort: type[Section], raw: Any, path: KeyPath) -> Partial:
        """Read one section field by field, then look at what does not go together in it."""
        if not isinstance(raw, dict):
            self.note(path, say("not a table"), _written(sort, path))
            return Partial({})
        values: dict[str, Any] = {}
        keys = {str(field.alias): name for name, field in sort.model_fields.items()}
        meant = self._unknown_keys(raw, keys, path)
        for key, name in keys.items():
            field = sort.model_fields[name]
            if key in raw or key in meant:
                values[name] = self._field(sort, name, raw[meant.get(key, key)], (*path, key))
            elif not field.is_required():
                values[name] = field.default
            else:
                self._missing(field, (*path, key))
        have = Partial(values)
        self.note_all(path, sort.clashes(have))
        return have

    def _field(self, sort: type[Section], name: str, raw: Any, path: KeyPath) -> Any:
        inner = _section_in(sort.model_fields[name].annotation)
        if inner is None:
            return self._value(sort, name, raw, path)
        inner_sort, many = inner
        if not many:
            if isinstance(raw, list) and len(raw) == 1 and isinstance(raw[0], dict):
                self.note(
                    path,
                    say("a list of tables; write {written}", written=f"[{path[-1]}]"),
                    f"[{path[-1]}]",
                )
                return self.section(inner_sort, raw[0], (*path, 0))
            return self.section(inner_sort, raw, path)
        if isinstance(raw, dict):
            written = _written(inner_sort, path, many=True)
            self.note(
                path,
                say("one table in place of a list of them; write {written}", written=written),
                written,
            )
            raw = [raw]
        if not isinstance(raw, list):
            self.note(path, say("not a list of tables"), _written(inner_sort, path, many=True))
            return None
        least, most = _how_many(sort.model_fields[name])
        if len(raw) > most:
            self.note(path, say("too long a list"), say("at most {limit}", limit=most))
            return None
        if len(raw) < least:
            self.note(path, say("nothing in the list"), _written(inner_sort, path, many=True))
        return tuple(self.section(inner_sort, one, (*path, place)) for place, one in enumerate(raw))

    def _value(self, sort: type[Section], name: str, raw: Any, path: KeyPath) -> Any:
        try:
            return _adapter(sort, name).validate_python(raw)
        except ValidationError as error:
            field = sort.model_fields[name]
            for one in error.errors(include_url=False):
                place = tuple(part for part in one["loc"] if isinstance(part, int))
                wrong = raw[place[0]] if place and isinstance(raw, list) else raw
                what, expected = what_is_wrong(
                    field, one["type"], one.get("ctx", {}), wrong, element=bool(place)
                )
                self.note((*path, *place), what, expected)
            return None

    def _missing(self, field: FieldInfo, path: KeyPath) -> None:
        inner = _section_in(field.annotation)
        if inner is None:
            self.note(path, say("a key that is missing"), expected_of(field))
        else:
            inline = path[-1] in WRITTEN_INLINE
            what = say("a key that is missing") if inline else say("a section that is missing")
            self.note(path, what, _written(inner[0], path, inner[1]))

    def _unknown_keys(
        self, raw: dict[str, Any], keys: dict[str, str], path: KeyPath
    ) -> dict[str, str]:
        """Note the keys that are none, and say which was written for which that is missing."""
        meant: dict[str, str] = {}
        left = [key for key in keys if key not in raw]
        for key in raw:
            if key in keys:
                continue
            expected = one_of(left or keys)
            close = self._closest(key, keys)
            if close:
                expected = say("{name}, perhaps", name=close)
                if close in left and close not in meant:
                    meant[close] = self.misspelt[(*path, close)] = key
            self.note(
                (*path, key), say("no such key") if path else say("no such section"), expected
            )
        return meant

    def _closest(self, key: str, keys: dict[str, str]) -> str:
        self.unknown += 1
        if self.unknown > _SUGGESTIONS:
            return ""
        from difflib import get_close_matches

        by_word = {word: known for known, name in keys.items() for word in (name, known)}
        close = get_close_matches(key.casefold(), by_word, n=1, cutoff=0.75)
        return by_word[close[0]] if close else ""


def _section_in(annotation: Any) -> tuple[type[Section], bool] | None:
    """Which section a field holds, and whether a list of them; None for a plain value."""
    if isinstance(annotation, type) and issubclass(annotation, Section):
        return annotation, False
    if get_origin(annotation) is tuple:
        inner = get_args(annotation)[0]
        if isinstance(inner, type) and issubclass(inner, Section):
            return inner, True
    return None


def _how_many(field: FieldInfo) -> tuple[int, float]:
    """Fewest and most entries of a list of tables."""
    fewest = [rule.min_length for rule in field.metadata if isinstance(rule, MinLen)]
    most = [rule.max_length for rule in field.metadata if isinstance(rule, MaxLen)]
    return max(fewest, default=0), min(most, default=math.inf)


def _written(sort: type[Section], path: KeyPath, many: bool = False) -> str:
    """Say how a section is written: ``[[line.winder]]``, ``[prices]``, ``lab = { a = … }``."""
    names = [part for part in path if isinstance(part, str)]
    if not names:
        return say("sections")
    if names[-1] not in WRITTEN_INLINE:
        name = ".".join(names)
        return f"[[{name}]]" if names[-1] in WRITTEN_AS_LIST else f"[{name}]"
    needed = [str(field.alias) for field in sort.model_fields.values() if field.is_required()]
    braces = "{ " + ", ".join(f"{key} = …" for key in needed) + " }"
    if isinstance(path[-1], int):
        return braces
    return f"{names[-1]} = [{braces}, …]" if many else f"{names[-1]} = {braces}"


@cache
def _adapter(sort: type[Section], name: str) -> TypeAdapter[Any]:
    field = sort.model_fields[name]
    meant: Any = field.annotation
    if field.metadata:
        meant = Annotated[(meant, *field.metadata)]
    return TypeAdapter(meant, config=_NO_MODEL)
