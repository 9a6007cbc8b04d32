"""The weight class of a craft yarn, 0 to 7, suggested from its count.

The classes are a voluntary guideline of the craft trade: numbers and plain words, no rule of law
and no measurement. Every boundary below was fixed from published ranges before any list of real
balls was looked at, and none has been moved since.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.strand.given import more_than_zero

GUIDELINE_NOTE = say("a voluntary guideline")
"""What stands beside every class that Clew prints."""

CLASS_WORDS = (
    say("lace"), say("super fine"), say("fine"), say("light"),
    say("medium"), say("bulky"), say("super bulky"), say("jumbo"),
)  # fmt: skip
"""The plain word of each class, 0 to 7.

Source: the Craft Yarn Council guideline (READ; class 7 MEMORY).
"""

NEAR_BOUNDARY_FRAC = 0.05
"""How near a boundary, as a part of its length, a yarn is called near it [1].

Our choice, no published source: twice the count spread of 2.5 % that a good worsted or acrylic
yarn shows from bobbin to bobbin (MEMORY), so that two cones of one lot may land on either side.
"""


@dataclass(frozen=True, slots=True)
class Boundary:
    """Where one class ends and the next, coarser one begins.

    Attributes
    ----------
    finer, coarser : int
        The two classes.
    length_m : float
        Length in 100 g at the boundary [m]; a yarn exactly on it belongs to the finer class.
    why : str
        The cited ranges and the rule that gave the number.
    """

    finer: int
    coarser: int
    length_m: float
    why: str


def _meeting(finer: int, coarser: int, low_m: float, high_m: float) -> Boundary:
    """Put a boundary between the low end of the finer range and the high end of the coarser."""
    how = "they meet" if low_m == high_m else "geometric middle"
    ranges = f"class {finer} from {low_m:g} m, class {coarser} up to {high_m:g} m in 100 g"
    return Boundary(finer, coarser, math.sqrt(low_m * high_m), f"{ranges}: {how} (READ)")


_WRAPS_5_6 = 6.0
_WRAPS_6_7 = math.sqrt(5.0 * 4.0)
_LENGTH_5_6_M = 100.0

BOUNDARIES: tuple[Boundary, ...] = (
    _meeting(0, 1, 600.0, 480.0),
    _meeting(1, 2, 400.0, 400.0),
    _meeting(2, 3, 300.0, 300.0),
    _meeting(3, 4, 240.0, 240.0),
    _meeting(4, 5, 120.0, 130.0),
    _meeting(5, 6, _LENGTH_5_6_M, 100.0),
    Boundary(
        6,
        7,
        _LENGTH_5_6_M * (_WRAPS_6_7 / _WRAPS_5_6) ** 2,
        "no length is published for class 7: wraps per inch are 6-9, 5-6 and 1-4 for classes 5, 6 "
        "and 7 (READ, LOW), so 6 wraps part 5 from 6 and the middle of 5 and 4 parts 6 from 7; at "
        "equal packing a yarn's diameter goes as the root of its count, so length per mass goes as "
        "wraps squared (DERIVED)",
    ),
)
"""The seven boundaries, finest first.

Source: ranges of length in 100 g for lace 600-800, super fine 400-480, fine 300-400, light
240-300, medium 120-240, bulky 100-130, super bulky below 100 m, Wikipedia's table of yarn weights
(READ); wraps per inch from a craft page (READ, LOW). Where neighbouring ranges leave a gap or
overlap the boundary is the geometric middle, because classes follow ratios of length.
"""


@dataclass(frozen=True, slots=True)
class WeightClass:
    """A class suggested for a yarn.

    Attributes
    ----------
    category : int
        The class, 0 to 7.
    words : str
        Its plain word.
    count_tex : float
        The count it was suggested from [tex].
    length_m_per_100g : float
        Length in 100 g of yarn [m].
    low_m, high_m : float or None
        Length in 100 g at the coarse and at the fine end of the class [m]; None where it is open.
    near_boundary : bool
        Whether the yarn lies within 5 % of a boundary.
    neighbour : int or None
        The class on the other side of that boundary.
    note : str
        What a class is: a voluntary guideline.
    """

    category: int
    words: str
    count_tex: float
    length_m_per_100g: float
    low_m: float | None
    high_m: float | None
    near_boundary: bool
    neighbour: int | None
    note: str = GUIDELINE_NOTE


def suggest_class(count_tex: float) -> WeightClass:
    """Suggest the weight class of a yarn from its count alone.

    Parameters
    ----------
    count_tex : float
        Count of the yarn as sold [tex].

    Returns
    -------
    WeightClass
        The class, its bounds, and whether the yarn lies near one of them.

    Raises
    ------
    BadInput
        When the count is not more than 0.

    Notes
    -----
    Validity: yarns of ordinary bulk. Count says how much fibre lies in a metre, not how thick the
    yarn looks: a lofty yarn knits like the next class up. Source: `BOUNDARIES`.
    """
    count = more_than_zero(count_tex, "count", "tex")
    length_m = 1.0e5 / count
    category = sum(length_m < boundary.length_m for boundary in BOUNDARIES)
    low_m = BOUNDARIES[category].length_m if category < len(BOUNDARIES) else None
    high_m = BOUNDARIES[category - 1].length_m if category > 0 else None
    neighbour = None
    if low_m is not None and length_m < low_m * (1.0 + NEAR_BOUNDARY_FRAC):
        neighbour = category + 1
    elif high_m is not None and length_m > high_m * (1.0 - NEAR_BOUNDARY_FRAC):
        neighbour = category - 1
    return WeightClass(
        category=category,
        words=CLASS_WORDS[category],
        count_tex=count,
        length_m_per_100g=length_m,
        low_m=low_m,
        high_m=high_m,
        near_boundary=neighbour is not None,
        neighbour=neighbour,
    )


SELLER_WORDS: tuple[tuple[str, int, str], ...] = (
    ("lace", 0, "the guideline's own word (READ)"),
    ("cobweb", 0, "finer than lace; the guideline has no finer class (MEMORY)"),
    ("thread", 0, "finer than lace; the guideline has no finer class (MEMORY)"),
    ("2 ply", 0, "British and Australian ply word (MEMORY)"),
    ("super fine", 1, "the guideline's own word (READ)"),
    ("light fingering", 1, "32 stitches in 4 in, inside the 27-32 of class 1 (MEMORY; range READ)"),
    ("fingering", 1, "28 stitches in 4 in, inside the 27-32 of class 1 (MEMORY; range READ)"),
    ("sock", 1, "common practice, no published source"),
    ("3 ply", 1, "British and Australian ply word (MEMORY)"),
    ("4 ply", 1, "British and Australian ply word (MEMORY)"),
    ("fine", 2, "the guideline's own word (READ)"),
    ("sport", 2, "24 stitches in 4 in, inside the 23-26 of class 2 (MEMORY; range READ)"),
    ("5 ply", 2, "British and Australian ply word (MEMORY)"),
    ("light", 3, "the guideline's own word (READ)"),
    ("dk", 3, "22 stitches in 4 in, inside the 21-24 of class 3 (MEMORY; range READ)"),
    ("double knitting", 3, "dk written out"),
    ("light worsted", 3, "common practice, no published source"),
    ("8 ply", 3, "British and Australian ply word (MEMORY)"),
    ("medium", 4, "the guideline's own word (READ)"),
    ("worsted", 4, "20 stitches in 4 in, inside the 16-20 of class 4 (MEMORY; range READ)"),
    ("aran", 4, "18 stitches in 4 in, inside the 16-20 of class 4 (MEMORY; range READ)"),
    ("10 ply", 4, "British and Australian ply word (MEMORY)"),
    ("bulky", 5, "the guideline's own word (READ)"),
    ("chunky", 5, "British word for bulky (MEMORY)"),
    ("12 ply", 5, "British and Australian ply word (MEMORY)"),
    ("super bulky", 6, "the guideline's own word (READ)"),
    ("super chunky", 6, "British word for super bulky (MEMORY)"),
    ("jumbo", 7, "the guideline's own word (MEMORY; added to the guideline in 2015)"),
)
"""Words that sellers use, the class each means, and why: word, class, reason with its mark."""

_CLASS_OF_WORD = {word: category for word, category, _ in SELLER_WORDS}


def class_of_word(word: str) -> int:
    """Find the class that a seller's word means.

    Parameters
    ----------
    word : str
        A word such as ``DK`` or ``super bulky``; capitals, hyphens and underscores do not matter.

    Returns
    -------
    int
        The class, 0 to 7.

    Raises
    ------
    BadInput
        When the word is not in `SELLER_WORDS`.
    """
    plain = " ".join(word.replace("-", " ").replace("_", " ").casefold().split())
    found = _CLASS_OF_WORD.get(plain)
    if found is None:
        known = ", ".join(name for name, _, _ in SELLER_WORDS)
        raise BadInput(Fault("no such weight word", expected=f"one of {known}", value=repr(word)))
    return found
