"""How well a class suggested from count agrees with the class that sellers state."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from clew.faults import BadInput, Fault
from clew.strand.weight_class import CLASS_WORDS

CLASSES = len(CLASS_WORDS)
MEDIUM = 4
"""The class called medium, which the baseline always answers."""


@dataclass(frozen=True, slots=True)
class ClassReport:
    """A table of stated against suggested classes and the shares read from it.

    Attributes
    ----------
    balls : int
        How many were compared.
    confusion : tuple of tuple of int, shape (8, 8)
        Balls by stated class (row) and suggested class (column).
    exact_frac : float
        Share whose suggested class is the stated one [1].
    within_one_frac : float
        Share whose suggested class is the stated one or its neighbour [1].
    recall_frac : tuple of (float or None), shape (8,)
        Share found again of each stated class [1]; None where no ball states it.
    baseline_exact_frac, baseline_within_one_frac : float
        The same two shares when the answer is always class 4, medium [1].
    """

    balls: int
    confusion: tuple[tuple[int, ...], ...]
    exact_frac: float
    within_one_frac: float
    recall_frac: tuple[float | None, ...]
    baseline_exact_frac: float
    baseline_within_one_frac: float

    def text(self) -> str:
        """Write the table and the shares as plain text, one line a stated class."""
        head = "stated \\ suggested" + "".join(f"{column:5d}" for column in range(CLASSES))
        lines = [head + "   found again"]
        for row, (counts, recall) in enumerate(zip(self.confusion, self.recall_frac, strict=True)):
            cells = "".join(f"{count:5d}" if count else "    ." for count in counts)
            found = "no ball" if recall is None else f"{100 * recall:.0f} %"
            lines.append(f"{row} {CLASS_WORDS[row]:<16}{cells}   {found}")
        lines.append(
            f"{self.balls} balls: exact {100 * self.exact_frac:.1f} %, "
            f"within one class {100 * self.within_one_frac:.1f} %"
        )
        lines.append(
            f"always class {MEDIUM}: exact {100 * self.baseline_exact_frac:.1f} %, "
            f"within one class {100 * self.baseline_within_one_frac:.1f} %"
        )
        return "\n".join(lines)


def report_classes(stated: Sequence[int], suggested: Sequence[int]) -> ClassReport:
    """Compare stated classes with suggested ones.

    Count alone cannot do much better than it does. The words describe how a yarn knits, which
    follows its thickness; count is its mass in a metre. Thickness also depends on fibre density and
    on loft (air held by crimp and bulk), so a bulked acrylic and a smooth cotton of one count
    belong to different classes, and the published ranges of neighbouring words overlap or touch. A
    ball near a boundary may be sold under either word.

    Parameters
    ----------
    stated, suggested : sequence of int, shape (n,)
        Classes 0 to 7, ball by ball.

    Returns
    -------
    ClassReport
        The table, the shares, and the baseline of always answering class 4.

    Raises
    ------
    BadInput
        When there is no ball, the two differ in length, or a class is not 0 to 7.

    Notes
    -----
    The baseline answers class 4 because the guideline itself calls that one medium; of eight
    classes none is the middle one by number. COMPUTED from what is given.
    """
    if not stated or len(stated) != len(suggested):
        shown = f"{len(stated)} stated, {len(suggested)} suggested"
        expected = "one of each for every ball, and a ball at least"
        raise BadInput(Fault("nothing to compare", expected=expected, value=shown))
    pairs = list(zip(stated, suggested, strict=True))
    for pair in pairs:
        if not all(0 <= category < CLASSES for category in pair):
            raise BadInput(Fault("no such weight class", expected="0 to 7", value=str(pair)))
    confusion = [[0] * CLASSES for _ in range(CLASSES)]
    for row, column in pairs:
        confusion[row][column] += 1
    balls = len(pairs)
    recalls: list[float | None] = []
    for row, counts in enumerate(confusion):
        in_class = sum(counts)
        recalls.append(counts[row] / in_class if in_class else None)
    return ClassReport(
        balls=balls,
        confusion=tuple(tuple(counts) for counts in confusion),
        exact_frac=sum(row == column for row, column in pairs) / balls,
        within_one_frac=sum(abs(row - column) <= 1 for row, column in pairs) / balls,
        recall_frac=tuple(recalls),
        baseline_exact_frac=sum(row == MEDIUM for row in stated) / balls,
        baseline_within_one_frac=sum(abs(row - MEDIUM) <= 1 for row in stated) / balls,
    )
