"""Instant estimates beside the simulation, and why they are not it."""

from __future__ import annotations

from dataclasses import dataclass

from clew.line.interference.finite_source import exponential_service
from clew.line.interference.synchronous import synchronous
from clew.line.interference.which_model import Applies, which_applies
from clew.line.layout import Layout


@dataclass(frozen=True, slots=True)
class Estimates:
    """What winders come to by closed forms, as shares of their time in which they wind.

    Attributes
    ----------
    feed_frac : float
        What the feed brings in the long run, were no second lost [1].
    step_frac : float
        Doffs one after another, in step behind each hand, nothing else to do [1].
    chance_frac : float
        Doffs met by chance, by the finite-source formula, nothing else to do [1].
    per_hand : int
        Winders of the hand who has most.
    full_s, doff_s, walk_s : float
        To fill a ball, to doff it, and from one winder to the next [s].
    applies : Applies
        What the model chooser says of doffs and breaks together.
    """

    feed_frac: float
    step_frac: float
    chance_frac: float
    per_hand: int
    full_s: float
    doff_s: float
    walk_s: float
    applies: Applies

    def balls(self, frac: float, layout: Layout) -> float:
        """Balls of a shift in which all winders wind for so much of it [1]."""
        return frac * layout.lanes * layout.shift_s / self.full_s


def estimates_of(layout: Layout) -> Estimates:
    """Estimate a line by closed forms.

    Parameters
    ----------
    layout : Layout
        The line.

    Returns
    -------
    Estimates
        Three limits of what winders can wind.

    Notes
    -----
    Synchronous servicing gives each hand his own winders and lets fills of one length fall into
    step: the best there is. The finite-source formula lets doffs come at random: any hand takes
    any winder, the walk to the next counted as part of the doff. Neither knows rests, cones to
    load or a buffer. Source: as `clew.line.interference` names them.
    """
    full_s = layout.ball_m / layout.wind_m_per_s
    walk_s = layout.spacing_m / layout.walk_m_per_s
    per_hand = -(-layout.lanes // layout.hands)
    step = synchronous(per_hand, fill_s=full_s, service_s=layout.doff_s, walk_s=walk_s)
    chance = exponential_service(
        layout.lanes,
        min(layout.hands, layout.lanes),
        run_s=full_s,
        service_s=layout.doff_s + walk_s,
    )
    return Estimates(
        feed_frac=min(layout.feed_m_per_s / layout.wind_m_per_s, 1.0),
        step_frac=step.interference.efficiency,
        chance_frac=chance.efficiency,
        per_hand=per_hand,
        full_s=full_s,
        doff_s=layout.doff_s,
        walk_s=walk_s,
        applies=which_applies(
            "both", hands=layout.hands, service_cv=layout.service_cv
        ),  # the walk is in the service, so nothing is left out
    )
