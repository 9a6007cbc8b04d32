"""Lots' chart of the plan for faults: how often it lets a lot go."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from clew.languages import figure, say
from clew.mill.model import Mill
from clew.quantities import number
from clew.web.drawn.chart_svg import Chart, Table, drawn
from clew.web.lots.charts import chance_spec
from clew.web.lots.view import POINTS

if TYPE_CHECKING:
    from clew.checks.attributes.plans import AttributePlan


def plan_chart(plan: AttributePlan, mill: Mill, lot_size: int) -> Chart | None:
    """Draw how often the plan for faults lets a lot go, over the share at fault in it."""
    from clew.checks.attributes.curves import chance_accepted

    rules = mill.checks
    if plan.most_n >= lot_size:
        return None
    most = min(1.0, 2.0 * rules.fault_bad_frac)
    shares = np.unique(np.round(np.linspace(0.0, most, POINTS) * lot_size)) / lot_size
    chances = chance_accepted(plan, shares, lot_size)
    rows = [
        {"x": 100 * float(share), "low": 100 * float(one), "high": 100 * float(one),
         "y": 100 * float(one)}
        for share, one in zip(shares, chances, strict=True)
    ]  # fmt: skip
    ends = [rules.fault_good_frac, rules.fault_bad_frac]
    # whole balls, to the side on which the plan was made
    whole = [math.floor(ends[0] * lot_size + 1e-9), math.ceil(ends[1] * lot_size - 1e-9)]
    held = [balls / lot_size for balls in whole]
    marks = [
        {"x": 100 * float(share), "y": 100 * float(one),
         "words": say("{share} % at fault:\n{lots:.0f} of 100 go", share=number(100 * end, 3),
                      lots=100 * float(one))}
        for share, end, one in zip(held, ends, chance_accepted(plan, held, lot_size), strict=True)
    ]  # fmt: skip
    step = max(1, len(rows) // 10)
    table = Table(
        (say("At fault in the lot"), say("Lots that go, of 100")),
        tuple(
            (figure(f"{row['x']:.2f}\u00a0%"), figure(f"{row['y']:.1f}")) for row in rows[::step]
        ),
    )
    title = say("How many of 100 lots go by the plan for faults, over the share of balls at fault")
    spec = chance_spec(
        say("balls at fault in the lot, %"), say("lots that go, %"), 0.0, 100 * most, True
    )
    return drawn("fault-plan", title, spec, {"rows": rows, "marks": marks, "rules": []}, table)
