"""The mill's own rules for judging: risks it takes, shade it lets pass, false alarms."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any

from pydantic import Field

from clew.languages import say
from clew.mill.fields import Clash, Frac, Number, Section, TimeS, Whole

_DELTA_E = Annotated[Number, Field(gt=0, le=20)]
_A_WEEK = Annotated[Number, Field(gt=0, le=1000)]


class CheckRules(Section):
    """How this mill judges its lots.

    ``inspection_risk`` is the share of inspections that may fail a lot made at the least lawful
    target. Shades are CIEDE2000 differences: from the standard (``shade_limit``), and between two
    dye lots in one case (``shade_between_lots``). A lot with ``fault_good`` of its balls at fault
    should pass, one with ``fault_bad`` should not. ``first_balls`` are weighed at the start of each
    lot to set its winders by.
    """

    inspection_risk_frac: Frac = 0.01
    shade_limit: _DELTA_E = 1.0
    shade_between_lots: _DELTA_E = 0.8
    fault_good_frac: Frac = 0.01
    fault_bad_frac: Frac = 0.06
    false_alarms_per_week: _A_WEEK = 1.0
    reel_time_s: TimeS = 180.0
    first_balls: Annotated[Whole, Field(le=1000)] = 0

    @classmethod
    def clashes(cls, have: Any) -> Iterator[Clash]:
        """A risk lies between none and half; a good share of faults lies below a bad one."""
        risk = have.inspection_risk_frac
        if risk is not None and not 0 < risk <= 0.5:
            yield Clash(
                ("inspection_risk",),
                say("not a risk to plan with"),
                say("above 0 and at most 50 %"),
            )
        good, bad = have.fault_good_frac, have.fault_bad_frac
        if good is not None and bad is not None and not 0 < good < bad:
            yield Clash(
                ("fault_bad",),
                say("a bad share of faults that is not above the good one"),
                say("more than {share:g} %, and both above 0", share=100 * good),
            )
