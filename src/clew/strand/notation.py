"""Reading how plied yarns are written: "2/28 Nm", "20/2 Ne", "R 40 tex/2", "20 tex x 2".

The rule for a slash in an indirect system. One of the two numbers is how many ends were plied and
the other is a count; trades write them in either order (2/20s in worsted and cotton, 20/2 in the
metric trade). A whole number from 1 to 8 can be the ends. If only one of the two can be, that one
is; if both can be and the two readings differ, the writing is ambiguous and is refused until the
order is said. In spun silk the number is the count of the *folded* yarn; what the number counts is
therefore an argument, and silk is refused until it is said.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from clew.faults import BadInput, Fault
from clew.quantities import CountSystem, count_system
from clew.strand.given import fraction

Order = Literal["ends-first", "count-first"]
Counts = Literal["single", "resultant"]

MOST_ENDS = 8
"""The most ends a slash is read as without being told the order [1].

Our rule, no published source."""

_NUM = r"(\d{1,9}(?:\.\d{1,9})?)"
_DIRECT_RESULTANT = re.compile(rf"^R\s*{_NUM}\s*([a-z]+)\s*/\s*(\d{{1,3}})$", re.IGNORECASE)
_DIRECT_SINGLES = re.compile(rf"^{_NUM}\s*([a-z]+)\s*[x×]\s*(\d{{1,3}})$", re.IGNORECASE)
_SLASH = re.compile(rf"^{_NUM}\s*/\s*{_NUM}\s*s?(?:\s+(.+))?$", re.IGNORECASE)
_SYSTEM_FIRST = re.compile(rf"^([a-z]+)\s+({_NUM}(?:\s*/\s*{_NUM})?\s*s?)$", re.IGNORECASE)
_PLAIN = re.compile(rf"^{_NUM}\s*s?\s+(.+)$", re.IGNORECASE)
_SILK = {"silk", "spun silk"}
_EXAMPLE = "such as 2/28 Nm, 20/2 Ne, R 40 tex/2 or 20 tex x 2"


@dataclass(frozen=True, slots=True)
class PliedCount:
    """A plied yarn as written.

    Attributes
    ----------
    resultant_tex : float
        Count of the plied yarn [tex].
    plies : int
        How many ends are plied together [1].
    single_tex : float
        Count of one end before plying [tex].
    """

    resultant_tex: float
    plies: int
    single_tex: float


def _refuse(what: str, text: str, expected: str = _EXAMPLE) -> BadInput:
    return BadInput(Fault(what, expected=expected, key="count", value=repr(text)))


def _built(count_tex: float, plies: int, left: float, counts: Counts) -> PliedCount:
    """Complete a plied count from the count of one end or of the plied yarn."""
    if counts == "resultant":
        return PliedCount(count_tex, plies, count_tex * left / plies)
    return PliedCount(count_tex * plies / left, plies, count_tex)


def _direct_system(name: str, text: str) -> CountSystem:
    system = count_system(name)
    if not system.direct:
        raise _refuse(f"{system.name} is written with a slash and without R or x", text)
    return system


def _in_tex(system: CountSystem, number: str, text: str) -> float:
    value = float(number)
    if value == 0.0:
        raise _refuse("a count is more than 0", text)
    return system.to_tex(value)


def _may_be_ends(number: str) -> bool:
    return float(number).is_integer() and 1 <= float(number) <= MOST_ENDS


def _ends_and_count(first: str, second: str, order: Order | None, text: str) -> tuple[int, str]:
    """Say which number is the ends and which the count, by the rule at the top of this file."""
    if order is not None:
        ends, count = (first, second) if order == "ends-first" else (second, first)
        if not float(ends).is_integer() or float(ends) < 1:
            raise _refuse(f"{ends} cannot be a number of ends", text)
        return int(float(ends)), count
    can_first, can_second = _may_be_ends(first), _may_be_ends(second)
    if can_first and can_second and float(first) != float(second):
        raise _refuse(
            "ambiguous: either number may be the ends",
            text,
            f"the order, ends first ({first} ends of {second}) or count first "
            f"({second} ends of {first}); or written in tex, such as 20 tex x 2",
        )
    if can_first:
        return int(float(first)), second
    if can_second:
        return int(float(second)), first
    raise _refuse(f"neither number is a whole number of ends up to {MOST_ENDS}", text)


def _slash_system(name: str, text: str, counts: Counts | None) -> CountSystem:
    """Find the indirect system that a slash is written in, or say why it cannot be read."""
    if name.casefold() in _SILK:
        if counts is None:
            raise _refuse(
                "spun silk: does the number count the single or the folded yarn?",
                text,
                "the convention said; the silk trade counts the folded yarn",
            )
        return count_system("Ne")
    system = count_system(name)
    if system.direct:
        raise _refuse(
            f"a slash with {system.name} does not say which count is meant",
            text,
            f"R 40 {system.name}/2 for the plied yarn or 20 {system.name} x 2 for its ends",
        )
    return system


def read_plied(
    text: str,
    *,
    take_up_frac: float = 0.0,
    order: Order | None = None,
    counts: Counts | None = None,
) -> PliedCount:
    """Read the count of a plied yarn as the trade writes it.

    Parameters
    ----------
    text : str
        Such as ``2/28 Nm``, ``Nm 28/2``, ``2/20s Ne``, ``R 40 tex/2``, ``20 tex x 2`` or, for one
        end, ``400 tex``.
    take_up_frac : float
        Length lost to the plying twist as a fraction of the untwisted length [1].
    order : {"ends-first", "count-first"}, optional
        Which number stands first at a slash; needed only when both could be the ends.
    counts : {"single", "resultant"}, optional
        Whether the number at a slash counts one end or the folded yarn; the single when not said,
        except for spun silk, which is refused until it is said.

    Returns
    -------
    PliedCount
        Resultant count, ends, and count of one end [tex].

    Raises
    ------
    BadInput
        When it cannot be read, has no count system, or is ambiguous.

    Notes
    -----
    Validity: one plying step; cabled yarns (a second slash) are not read. Source: Brooks, Cotton
    Manufacturing, for 2/20s, 20/2 and spun silk (READ); R 40 tex/2 and 20 tex x 2 after ISO 1139
    (MEMORY); the rule for ambiguous slashes is ours.
    """
    left = 1.0 - fraction(take_up_frac, "take-up")
    plain = " ".join(text.split())
    direct: tuple[tuple[re.Pattern[str], Counts], ...] = (
        (_DIRECT_RESULTANT, "resultant"),
        (_DIRECT_SINGLES, "single"),
    )
    for pattern, written in direct:
        if match := pattern.match(plain):
            number, name, ends = match.groups()
            count_tex = _in_tex(_direct_system(name, text), number, text)
            if int(ends) == 0:
                raise _refuse("a yarn has one end or more", text)
            return _built(count_tex, int(ends), left, written)
    if match := _SYSTEM_FIRST.match(plain):
        plain = f"{match.group(2)} {match.group(1)}"
    if match := _SLASH.match(plain):
        first, second, name = match.groups()
        if name is None:
            raise _refuse("a plied count without its count system", text)
        system = _slash_system(name, text, counts)
        plies, number = _ends_and_count(first, second, order, text)
        return _built(_in_tex(system, number, text), plies, left, counts or "single")
    if match := _PLAIN.match(plain):
        number, name = match.groups()
        return _built(_in_tex(count_system(name), number, text), 1, 1.0, "single")
    raise _refuse("not a plied count", text)
