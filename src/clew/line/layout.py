"""One line with its hands for a shift: all that the line in time needs to know."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from clew.faults import BadInput

Rule = Literal["nearest", "longest", "patrol"]
RULES: tuple[Rule, ...] = ("nearest", "longest", "patrol")
"""Which of the waiting calls of one urgency a free hand takes."""

KINDS: tuple[str, ...] = ("doff", "mend", "change", "feed", "load", "colour")
"""What a hand can be called for; the first three at the winder, the others at the creel."""


@dataclass(frozen=True, slots=True)
class Layout:
    """A line of equal lanes, the hands who serve it, and the shift they work.

    All metres of strand are metres before steam.

    Attributes
    ----------
    lanes, hands : int
        Lanes side by side, and hands who serve them.
    shift_s : float
        Length of the shift [s].
    feed_m_per_s : float
        Strand laid down on the belt while it runs [m/s].
    wind_m_per_s : float
        Strand a turning winder takes [m/s].
    passage_s : float
        Running time of the belt from lay-down to the belt's end [s].
    steam_from_s, steam_s, steam_longest_s : float
        Running time of the belt from lay-down to the steamer, running time in it, and the
        longest time in it that the yarn bears [s].
    dry_from_s, dry_s, dry_longest_s : float
        The same of the dryer; the longest may be without bound [s].
    buffer_m : float
        Strand at the belt's end at which the belt stops [m].
    go_m : float
        Strand at the belt's end at which a winder that ran dry goes on [m].
    loose_m : float
        How far the buffer falls from full before the belt goes on [m].
    start_buffer_frac : float
        Part of the buffer that lies there when the shift begins [1].
    ball_m : float
        Strand in a ball [m].
    cone_m, cone_cv : float
        Mean length of a cone [m] and its standard deviation as a share of it [1].
    cones_per_lane : int
        Cones tied tail to head when a lane's creel is full.
    feed_breaks_per_km, wind_breaks_per_km : float
        Breaks at the feed over strand fed, and at the winder over strand wound [1/km].
    doff_s, mend_s, feed_mend_s : float
        Mean time of a hand to doff a ball, to re-tie at the winder, and at the feed [s].
    load_s : float
        Mean time to load one cone and tie it [s].
    change_s : float
        Mean time to pull the part ball at a colour tie [s].
    colour_tie_s : float
        Mean time to change a lane's cones to the next colour and tie it [s].
    service_cv : float
        Standard deviation of each of these times as a share of its mean [1].
    mend_waste_m : float
        Strand taken off at a re-tie at the winder [m].
    spacing_m : float
        From one lane to the next [m].
    across_m : float
        From the winders' end of the line to the creels' [m].
    walk_m_per_s : float
        How fast a hand walks [m/s].
    rule : {"nearest", "longest", "patrol"}
        Which call a free hand takes within a class: the one with the least way, the one that
        waited longest, or the next lane onwards.
    first : tuple of tuple of str
        Kinds of calls in classes, most urgent class first.
    break_s : float
        Length of one rest of a hand [s].
    breaks : int
        Rests of each hand in the shift.
    colour_at_s : tuple of float
        When in the shift the lanes change to the next colour, in order [s].
    shrink_frac : float
        Length lost in steam [1].
    count_tex : float
        Count as spun, before steam [tex].
    regain_in_frac : float
        Water on dry mass of the yarn as spun [1].
    regain_out_frac : float
        The same as it leaves the dryer and rests [1].
    finish_loss_frac : float
        Dry mass that goes with the finish in steam [1].
    warm_up_s : float
        How long the line has run when the shift begins, so that its buffers, creels and belt are
        as a shift leaves them [s].
    """

    lanes: int
    hands: int
    shift_s: float
    feed_m_per_s: float
    wind_m_per_s: float
    passage_s: float
    steam_from_s: float
    steam_s: float
    steam_longest_s: float
    dry_from_s: float
    dry_s: float
    dry_longest_s: float
    buffer_m: float
    go_m: float
    loose_m: float
    start_buffer_frac: float
    ball_m: float
    cone_m: float
    cone_cv: float
    cones_per_lane: int
    feed_breaks_per_km: float
    wind_breaks_per_km: float
    doff_s: float
    mend_s: float
    feed_mend_s: float
    load_s: float
    change_s: float
    colour_tie_s: float
    service_cv: float
    mend_waste_m: float
    spacing_m: float
    across_m: float
    walk_m_per_s: float
    rule: Rule
    first: tuple[tuple[str, ...], ...]
    break_s: float
    breaks: int
    colour_at_s: tuple[float, ...]
    shrink_frac: float
    count_tex: float
    regain_in_frac: float = 0.0
    regain_out_frac: float = 0.0
    finish_loss_frac: float = 0.0
    warm_up_s: float = 0.0

    @property
    def ball_kg(self) -> float:
        """Mass of a ball as it leaves the line, at the regain off the dryer [kg]."""
        dry_tex = self.count_tex / (1.0 + self.regain_in_frac) * (1.0 - self.finish_loss_frac)
        return 1e-6 * self.ball_m * dry_tex * (1.0 + self.regain_out_frac)


def checked_layout(layout: Layout) -> Layout:
    """See that a shift can be walked with a layout.

    Parameters
    ----------
    layout : Layout
        The line, its hands, the shift.

    Returns
    -------
    Layout
        The same.

    Raises
    ------
    BadInput
        With everything that is wrong with it, each under the name of its attribute.
    """
    from clew.line.layout_checks import layout_faults  # which looks at layouts

    faults = layout_faults(layout)
    if faults:
        raise BadInput(faults)
    return layout
