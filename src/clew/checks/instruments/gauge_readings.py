"""Readings of a study of the scale or the reel, laid out by part, hand and trial.

A part is a ball on the scale, read again and again by every hand: a crossed study. A reel takes a
ball apart, so each hand reels balls of his own off one cone: a nested study, in which no part was
seen by two hands.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from clew.faults import BadInput, Fault

Array = NDArray[np.float64]
Design = Literal["crossed", "nested"]


@dataclass(frozen=True, slots=True)
class GaugeReadings:
    """Readings of a balanced study.

    Attributes
    ----------
    design : {"crossed", "nested"}
        Whether every hand read the same parts, or parts of his own.
    parts : tuple of str
        Names of the parts; of a nested study hand by hand, as many for each.
    hands : tuple of str
        Names of the hands.
    values : array of float, shape (parts, hands, trials), or nested (hands, parts of each, trials)
        Readings [g or m].
    """

    design: Design
    parts: tuple[str, ...]
    hands: tuple[str, ...]
    values: Array

    @property
    def trials(self) -> int:
        """How often each hand read each part."""
        return int(self.values.shape[2])


def lay_out(
    parts: Sequence[str], hands: Sequence[str], values: Sequence[float], trials: Sequence[str]
) -> GaugeReadings:
    """Lay out a study's readings, and see that it is balanced.

    Parameters
    ----------
    parts, hands, trials : sequence of str
        Part, hand and trial of each reading.
    values : sequence of float
        The readings [g or m].

    Returns
    -------
    GaugeReadings
        The readings in their places; nested where no part was read by two of several hands.

    Raises
    ------
    BadInput
        For a reading given twice, one that is no number, fewer than two parts, hands that read
        different parts, or parts read more often than others: the sums of squares of such a study
        do not part cleanly, so the missing readings are named instead.
    """
    if not len(parts) == len(hands) == len(values) == len(trials):
        raise BadInput(Fault("columns of different length", "a part, hand and trial a reading"))
    cells: dict[tuple[str, str], dict[str, float]] = {}
    faults: list[Fault] = []
    for part, hand, trial, value in zip(parts, hands, trials, values, strict=True):
        if not np.isfinite(value):
            faults.append(Fault("a reading that is no number", key=_cell(part, hand, trial)))
        trials_of = cells.setdefault((part, hand), {})
        if trial in trials_of:
            faults.append(Fault("a reading given twice", "once", key=_cell(part, hand, trial)))
        trials_of[trial] = value
    if faults:
        raise BadInput(faults)
    part_names, hand_names = tuple(dict.fromkeys(parts)), tuple(dict.fromkeys(hands))
    if len(part_names) < 2:
        raise BadInput(
            Fault("a study of too few parts", "two or more, best ten", value=str(len(part_names)))
        )
    most = max(len(found) for found in cells.values())
    short = [key for key, found in cells.items() if len(found) < most]
    if short:
        part, hand = short[0]
        raise BadInput(
            Fault(
                f"hand {hand} read part {part} {_times(len(cells[short[0]]))}, others "
                f"{_times(most)}: the study is not balanced",
                "every part as often by every hand; read what is missing or leave that part out",
            )
        )
    if len(hand_names) > 1 and len(cells) == len(part_names):
        return _nested(hand_names, cells)
    missing = [(p, h) for p in part_names for h in hand_names if (p, h) not in cells]
    if missing:
        part, hand = missing[0]
        raise BadInput(
            Fault(
                f"hand {hand} did not read part {part}: the study is not balanced",
                "every part by every hand, or parts of his own for each hand",
            )
        )
    table = [[list(cells[p, h].values()) for h in hand_names] for p in part_names]
    return GaugeReadings("crossed", part_names, hand_names, np.array(table, dtype=np.float64))


def _nested(
    hands: tuple[str, ...],
    cells: dict[tuple[str, str], dict[str, float]],
) -> GaugeReadings:
    by_hand = {hand: [part for part, whose in cells if whose == hand] for hand in hands}
    counts = {len(found) for found in by_hand.values()}
    if len(counts) > 1:
        told = ", ".join(f"{hand} {len(found)}" for hand, found in by_hand.items())
        raise BadInput(
            Fault(
                f"hands read different numbers of balls ({told}): the study is not balanced",
                "as many balls for each hand",
            )
        )
    if counts == {1}:
        raise BadInput(
            Fault("one ball a hand", "two balls or more of one cone for each hand, best ten")
        )
    table = [[list(cells[part, hand].values()) for part in by_hand[hand]] for hand in hands]
    names = tuple(part for hand in hands for part in by_hand[hand])
    return GaugeReadings("nested", names, hands, np.array(table, dtype=np.float64))


def _cell(part: str, hand: str, trial: str) -> str:
    return f"part {part}, hand {hand}, trial {trial}"


def _times(number: int) -> str:
    return {1: "once", 2: "twice"}.get(number, f"{number} times")
