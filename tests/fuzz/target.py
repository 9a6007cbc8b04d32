"""What is fuzzed: a parser, sound inputs to begin from, and what must hold of whatever it gets."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

from clew.faults import BadInput

LONGEST_LINE = 1500
"""Characters of a fault's line; one that repeats a whole file is of no use to anybody."""
_UNSEEN = frozenset({"Cc", "Cs", "Zl", "Zp"})
_TURNS = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


@dataclass(frozen=True)
class Target:
    """One parser and how it is fed.

    Attributes
    ----------
    name : str
        The family and the parser, such as ``mill/text``.
    sound : callable
        Gives sound inputs to begin from.
    run : callable
        Feeds one input; raises whatever must not happen.
    words : sequence of bytes, or callable
        Words of its grammar, put in by the mutations; or gives them.
    cases : int
        Inputs of the short form.
    limit_s : float
        Processor time that one input may take [s].
    most_bytes : int
        Longest input.
    share : float
        Of the time, against other targets.
    more : callable
        Gives more to begin from, which takes too long to gather for the short form.
    """

    name: str
    sound: Callable[[], Sequence[bytes]]
    run: Callable[[bytes], None]
    words: Sequence[bytes] | Callable[[], Sequence[bytes]] = ()
    cases: int = 150
    limit_s: float = 2.0
    most_bytes: int = 4096
    share: float = 1.0
    more: Callable[[], Sequence[bytes]] = tuple

    def grammar(self) -> Sequence[bytes]:
        """Give its words."""
        return self.words() if callable(self.words) else self.words


@contextmanager
def may_refuse() -> Iterator[list[BadInput]]:
    """Let an input be refused, as long as it is refused clearly; gives a list of refusals."""
    refused: list[BadInput] = []
    try:
        yield refused
    except BadInput as bad:
        check_refusal(bad)
        refused.append(bad)


def check_refusal(bad: BadInput) -> None:
    """See that every fault is one clear line that any screen and any file can hold."""
    assert bad.faults, "refused without a fault"
    for fault in bad.faults:
        assert fault.what, "a fault that does not say what"
        said = (fault.what, fault.expected, fault.file, fault.section, fault.key, fault.value)
        assert all(isinstance(one, str) for one in said), f"a fault of other things: {said}"
        check_line(str(fault))


def check_line(line: str) -> None:
    """See that a line can be printed as it is."""
    assert line, "an empty line"
    assert len(line) <= LONGEST_LINE, f"a line of {len(line)} characters: {line[:200]!r}"
    unseen = [sign for sign in line if sign in _TURNS or unicodedata.category(sign) in _UNSEEN]
    assert not unseen, f"an unseen character {unseen[0]!r} in the line {line[:300]!r}"


def text_of(data: bytes) -> str:
    """Make of bytes what the command line makes of them: a text, perhaps with half characters."""
    return data.decode("utf-8", "surrogateescape")
