"""The mill's own rules for joins: when a ball is first-quality, what is seen, what buyers say."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from typing import Annotated, Any, Literal

from pydantic import Field

from clew.languages import figure, say
from clew.mill.fields import Clash, Frac, LengthM, Number, RatePerKm, Section, TimeS

_PER_10_000 = Annotated[Number, Field(ge=0, le=10_000)]


class KnotRules(Section):
    """How this mill joins, looks at joins and grades balls by them.

    A join takes ``join_length`` along the strand; no piece of a first-quality ball, end pieces
    included, is shorter than ``shortest_piece``. ``line_breaks`` are all breaks of a line, at the
    feed and at the winder, which the line's own keys may tell apart. ``complaints_per_10000`` is
    the mill's own estimate: complaints per 10 000 balls with 0, 1, 2, ... knots.
    """

    made_as: Literal["knot", "splice"] = "knot"
    splice_counts: Annotated[Number, Field(ge=0, le=1)] = 1.0
    strength_kept_frac: Frac | None = None
    shortest_piece_m: LengthM = 5.0
    join_length_m: LengthM = 0.1
    line_breaks_per_km: RatePerKm = 0.0
    colour_ties_per_km: RatePerKm = 0.0
    parting_time_s: TimeS = 0.0
    look_ahead_m: LengthM | None = None
    finds_frac: Frac = 1.0
    false_alarms_per_km: RatePerKm = 0.0
    complaints_per_10000: Annotated[tuple[_PER_10_000, ...], Field(max_length=20)] = ()

    @classmethod
    def clashes(cls, have: Any) -> Iterator[Clash]:
        """More knots bring no fewer complaints; a splice is nothing, half a knot or a whole one."""
        counts = have.splice_counts
        if counts is not None and counts not in (0.0, 0.5, 1.0):
            yield Clash(
                ("splice_counts",),
                say("a part of a knot that no limit knows"),
                say("0.0, 0.5 or 1.0"),
            )
        said = have.complaints_per_10000 or ()
        for place, (fewer, more) in enumerate(itertools.pairwise(said), 1):
            if fewer is not None and more is not None and more < fewer:
                yield Clash(
                    ("complaints_per_10000", place),
                    say("fewer complaints with more knots"),
                    say("{limit} or more", limit=figure(f"{fewer:g}")),
                )
