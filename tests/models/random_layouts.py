"""Legal lines of every sort, drawn so that what is rare on a good line is common here."""

from __future__ import annotations

import math

import numpy as np

from clew.line.layout import KINDS, RULES, Layout
from clew.line.layout_checks import layout_faults
from clew.line.simulate.shifts import Handful


def random_layout(rng: np.random.Generator) -> Layout:
    """Draw lines until one is legal."""
    while True:
        layout = _drawn(rng)
        if not layout_faults(layout):
            return layout


def _drawn(rng: np.random.Generator) -> Layout:
    def span(low: float, high: float) -> float:
        return float(np.exp(rng.uniform(math.log(low), math.log(high))))

    def perhaps(value: float, share: float) -> float:
        return value if rng.random() < share else 0.0

    shift_s = span(60.0, 1500.0)
    feed = span(0.3, 10.0)
    wind = feed * span(0.7, 3.0)
    passage_s = span(2.0, min(300.0, 0.9 * shift_s))
    from_s, to_s, on_s, out_s = np.sort(rng.uniform(0.0, passage_s, 4))
    buffer_m = feed * span(2.0, 200.0)
    go_m = buffer_m * span(0.005, 0.5)
    kinds = [str(kind) for kind in rng.permutation(np.array(KINDS))]
    cut = int(rng.integers(1, len(kinds)))
    changes = int(rng.integers(0, 4)) if rng.random() < 0.3 else 0
    return Layout(
        lanes=int(rng.integers(1, 11)),
        hands=int(rng.integers(1, 4)),
        shift_s=shift_s,
        feed_m_per_s=feed,
        wind_m_per_s=wind,
        passage_s=passage_s,
        steam_from_s=float(from_s),
        steam_s=float(to_s - from_s) + 0.01,
        steam_longest_s=float(to_s - from_s) * span(1.01, 3.0) + 0.02,
        dry_from_s=float(on_s),
        dry_s=float(out_s - on_s) * 0.99 + 0.001,
        dry_longest_s=math.inf
        if rng.random() < 0.5
        else float(out_s - on_s) * span(1.01, 3.0) + 1.0,
        buffer_m=buffer_m,
        go_m=go_m,
        loose_m=(buffer_m - go_m) * span(0.005, 0.99),
        start_buffer_frac=float(rng.uniform(0.0, 1.0)),
        ball_m=wind * span(5.0, 300.0),
        cone_m=feed * span(20.0, 3000.0),
        cone_cv=perhaps(float(rng.uniform(0.0, 0.3)), 0.7),
        cones_per_lane=int(rng.integers(1, 5)),
        feed_breaks_per_km=perhaps(span(0.01, 5.0), 0.6),
        wind_breaks_per_km=perhaps(span(0.01, 5.0), 0.6),
        doff_s=span(0.5, 30.0),
        mend_s=span(1.0, 60.0),
        feed_mend_s=span(1.0, 60.0),
        load_s=span(1.0, 90.0),
        change_s=span(1.0, 30.0),
        colour_tie_s=span(1.0, 60.0),
        service_cv=perhaps(float(rng.uniform(0.0, 1.5)), 0.7),
        mend_waste_m=perhaps(span(0.1, 20.0), 0.7),
        spacing_m=perhaps(span(0.1, 5.0), 0.8),
        across_m=perhaps(span(1.0, 30.0), 0.8),
        walk_m_per_s=span(0.5, 3.0),
        rule=RULES[int(rng.integers(len(RULES)))],
        first=(tuple(kinds[:cut]), tuple(kinds[cut:])),
        break_s=float(rng.uniform(0.01, 0.15)) * shift_s,
        breaks=int(rng.integers(0, 3)) if rng.random() < 0.4 else 0,
        colour_at_s=tuple(shift_s * (one + 1.0) / (changes + 1.0) for one in range(changes)),
        shrink_frac=float(rng.uniform(0.0, 0.4)),
        count_tex=span(30.0, 2000.0),
        warm_up_s=perhaps(span(1.0, 600.0), 0.3),
    )


def seen(found: Handful) -> dict[str, int]:
    """What came about on a line, 1 or 0 each."""
    lanes = found.lanes
    return {
        "buffer full": int(lanes["feed_s"][:, :, 1].sum() > 0.0),
        "feed starved": int(lanes["feed_s"][:, :, 2].sum() > 0.0),
        "doffs together": int(lanes["balls_together"].sum() > 0.0),
        "belt stopped": int(lanes["belt_stops"].sum() > 0.0),
    }
