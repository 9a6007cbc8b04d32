"""One thing a band was looked at for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Mark = Literal["READ", "READ-2", "MEMORY", "DERIVED", "common practice"]


@dataclass(frozen=True, slots=True)
class BandFinding:
    """One thing a band was looked at for.

    Attributes
    ----------
    key : str
        Short name, stable.
    title : str
        What was looked at.
    passed : bool or None
        Whether it is as it should be; None where it was not judged.
    law : bool
        Whether the law of a chosen market asks for it; else buyers do.
    words : str
        What was found, in a sentence.
    source : str
        Who asks for it.
    mark : str
        How far that source was seen.
    """

    key: str
    title: str
    passed: bool | None
    law: bool
    words: str
    source: str
    mark: Mark

    @property
    def breaks_law(self) -> bool:
        """Whether the band may not be printed so."""
        return self.law and self.passed is False
