"""Sound inputs made unsound: by bytes, by numbers, by words, by lines and by cells."""

from __future__ import annotations

import re
from collections.abc import Sequence
from random import Random

_NUMBER = re.compile(rb"[+-]?\d+(?:\.\d*)?(?:[eE][+-]?\d+)?")
_WORD = re.compile(rb"[A-Za-z_][A-Za-z_-]*")
_CELL = re.compile(rb"[^,;\t\n\r|&=]*")
_QUOTED = re.compile(rb'"[^"\n]*"')
_NASTY_NUMBERS = (
    b"0", b"-0", b"-1", b"1", b"1e308", b"1e309", b"-1e309", b"1e-320", b"9" * 20, b"9" * 400,
    b"9" * 5000, b"NaN", b"nan", b"inf", b"-Infinity", b"0.1", b"1.", b".5", b"1,5", b"1_000",
    b"0x1F", b"1e5", b"2147483648", b"9223372036854775808", b"18446744073709551616", b"007",
    "\u0663".encode(), "\u00b2".encode(), "\uff11".encode(), b"1.7976931348623157e308", b"4.9e-324",
    b"+5", b"--5", b"5-", b"1e", b"1e+", b"10**9", b"253402300800", b"-62135596801", b"true",
    "\u0665\u0666".encode(), "\u2460".encode(), "\u096a".encode(),
)  # fmt: skip
_NASTY_TEXTS = (
    b"", b" ", b"\0", b"\x1b[31m", b"\r", b"\n", b"\r\n", b"\t", b"\x85", b"\x7f", b"\xff", b"\xc3",
    b"\xed\xa0\x80", b"\xef\xbb\xbf", "\u202e".encode(), "\u2028".encode(), "\u00a0".encode(),
    "\u200b".encode(), "\u0130".encode(), "\u00df".encode(), "\ufb01".encode(), b'"', b"'", b'""',
    b"\\", b"\\u0000", b"\\ud800", b"\\x00", b"%", b"%00", b"%ff", b"%ED%A0%80", b"+", b"&", b"=",
    b";", b",", b"{", b"}", b"[", b"]", b"[" * 2500, b'{"a":' * 500, b"(" * 300, b"a" * 3000,
    b"null", b"true", b"false", b"None", b"{}", b"[]", b"__class__", b"{0}", b"%s", b"$", b"..",
    b"../../etc/passwd", b"/", b"\x1d", b"]C1", b"<b>", "\U0001f9f6".encode(), b"=1+1", b"#", b"-",
    b"--", b"2026-02-30", b"0000-00-00", b"9999-12-31", b"0001-01-01T00:00:00", b"24:00",
    b"23:59:60",
    b"2026-10-25T02:30:00", b"2026-03-29T01:30", b"+14:00", b"-23:59", b"Z", b"1/0", b"0/0", b"%%",
    b"Line 1", b"1 g", b"1 m", b"0 %", b"100 %", b"-1 %", b"1 s", b"0 g", b"1 Ne", b"0 tex",
)  # fmt: skip


def mutate(
    chance: Random, data: bytes, others: Sequence[bytes], words: Sequence[bytes], most_bytes: int
) -> bytes:
    """Change an input in one to several places.

    Parameters
    ----------
    chance : Random
        Where chance comes from.
    data : bytes
        The input.
    others : sequence of bytes
        Inputs to splice with.
    words : sequence of bytes
        Words of the grammar.
    most_bytes : int
        The longest result.
    """
    for _ in range(chance.choice((1, 1, 1, 2, 2, 3, 5))):
        data = chance.choice(_WAYS)(chance, data, others, words)
    return data[:most_bytes]


def _at(chance: Random, data: bytes) -> int:
    return chance.randint(0, len(data))


def _bytes(chance: Random, data: bytes, others: Sequence[bytes], words: Sequence[bytes]) -> bytes:
    at = _at(chance, data)
    if chance.randint(0, 1):
        return data[:at] + bytes((chance.randint(0, 255),)) + data[at + chance.randint(0, 1) :]
    return data[:at] + data[at + chance.randint(1, 8) :]


def _number(chance: Random, data: bytes, others: Sequence[bytes], words: Sequence[bytes]) -> bytes:
    return _replaced(chance, data, _NUMBER, chance.choice(_NASTY_NUMBERS))


def _word(chance: Random, data: bytes, others: Sequence[bytes], words: Sequence[bytes]) -> bytes:
    return _replaced(chance, data, _WORD, _any_word(chance, words))


def _cell(chance: Random, data: bytes, others: Sequence[bytes], words: Sequence[bytes]) -> bytes:
    return _replaced(chance, data, _CELL, _any_word(chance, words))


def _quoted(chance: Random, data: bytes, others: Sequence[bytes], words: Sequence[bytes]) -> bytes:
    return _replaced(chance, data, _QUOTED, b'"' + _any_word(chance, words) + b'"')


def _any_word(chance: Random, words: Sequence[bytes]) -> bytes:
    kind = chance.randint(0, 3)
    if words and kind < 2:
        return chance.choice(words)
    return chance.choice(_NASTY_NUMBERS if kind == 2 else _NASTY_TEXTS)


def _replaced(chance: Random, data: bytes, form: re.Pattern[bytes], by: bytes) -> bytes:
    found = [match.span() for match in form.finditer(data)]
    if not found:
        return data + by
    begin, end = chance.choice(found)
    return data[:begin] + by + data[end:]


def _insert(chance: Random, data: bytes, others: Sequence[bytes], words: Sequence[bytes]) -> bytes:
    at = _at(chance, data)
    return data[:at] + _any_word(chance, words) + data[at:]


def _lines(chance: Random, data: bytes, others: Sequence[bytes], words: Sequence[bytes]) -> bytes:
    lines = data.split(b"\n")
    one, two = chance.randrange(len(lines)), chance.randrange(len(lines))
    way = chance.randint(0, 3)
    if way == 0:
        del lines[one]
    elif way == 1:
        lines.insert(two, lines[one])
    elif way == 2:
        lines[one], lines[two] = lines[two], lines[one]
    else:
        lines[one] = chance.choice(chance.choice(others).split(b"\n"))
    return b"\n".join(lines)


def _splice(chance: Random, data: bytes, others: Sequence[bytes], words: Sequence[bytes]) -> bytes:
    other = chance.choice(others)
    return data[: _at(chance, data)] + other[_at(chance, other) :]


def _cut(chance: Random, data: bytes, others: Sequence[bytes], words: Sequence[bytes]) -> bytes:
    one, two = sorted((_at(chance, data), _at(chance, data)))
    return data[:one] + data[two:]


def _double(chance: Random, data: bytes, others: Sequence[bytes], words: Sequence[bytes]) -> bytes:
    one, two = sorted((_at(chance, data), _at(chance, data)))
    return data[:two] + data[one:two] * chance.choice((1, 1, 2, 10)) + data[two:]


_WAYS = (
    _bytes, _bytes, _number, _number, _word, _word, _cell, _cell, _quoted, _insert, _insert, _lines,
    _splice, _cut, _double,
)  # fmt: skip
