"""What a change costs, from the strand that is really in the line."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from clew.languages import say
from clew.line.improve.money import shift_prices_of
from clew.line.layout_from_mill import layout_of
from clew.line.tracker.from_mill import track_terms
from clew.plan.sequence.timed_run import Change, ChangeKind, MoneyPart
from clew.strand.shade import ciede2000

if TYPE_CHECKING:
    from clew.mill.lines import Line
    from clew.mill.lots import Cielab, Colour
    from clew.mill.model import Mill
    from clew.plan.runs import PlannedRun

LIGHTER_FROM = 2.0
"""A next colour lighter by more than this asks for cleaning [L*]; common practice."""
PART_BALL_FRAC = 0.5
"""How full the balls are that are pulled at a moment nobody chose, on average: DERIVED, uniform."""


@dataclass(frozen=True, slots=True)
class LineNow:
    """What a line is at, or was at before a run.

    Attributes
    ----------
    ball_name, lot_name : str
        The ball it is set to and the dye lot that is in it.
    until : datetime or None
        When it is free, with the time zone; None: at once.
    """

    ball_name: str
    lot_name: str
    until: datetime | None = None


@dataclass(frozen=True, slots=True)
class StrandInLine:
    """What a line holds of one ball's strand.

    Attributes
    ----------
    content_m, ball_m : float
        Strand in a lane from creel to winder, and in a full ball, both before steam [m].
    count_tex : float
        Its count as spun [tex].
    """

    content_m: float
    ball_m: float
    count_tex: float

    def kg(self, length_m: float) -> float:
        """What so many metres of it weigh before steam [kg]."""
        return length_m * self.count_tex * 1e-6


class ChangeBook:
    """Changes of one mill, each worked out once.

    Parameters
    ----------
    mill : Mill
        The mill.
    """

    def __init__(self, mill: Mill) -> None:
        self.mill = mill
        self._changes: dict[tuple[str, tuple[str, str] | None, tuple[str, str]], Change] = {}
        self._contents: dict[tuple[str, str], float] = {}
        self._balls: dict[tuple[str, str], tuple[float, float]] = {}
        self._apart: dict[tuple[str, str], float] = {}

    def between(
        self, line_name: str, before: LineNow | PlannedRun | None, after: PlannedRun
    ) -> Change:
        """Price one change, as `change_between` does."""
        was = None if before is None else (before.ball_name, before.lot_name)
        key = (line_name, was, (after.ball_name, after.lot_name))
        if key not in self._changes:
            self._changes[key] = self._price(self.mill.find_line(line_name), was, key[2])
        return self._changes[key]

    def strand(self, line_name: str, ball_name: str, lot_name: str) -> StrandInLine:
        """Say what a line holds while it makes a ball of a dye lot."""
        # what a lane holds does not depend on the lot, nor what a ball holds on the line
        here, lot = (line_name, ball_name), (ball_name, lot_name)
        if here not in self._contents:
            self._contents[here] = track_terms(self.mill, line_name, ball_name)[0].content_m
        if lot not in self._balls:
            layout = layout_of(self.mill, line_name, ball_name, lot_name)
            self._balls[lot] = (layout.ball_m, layout.count_tex)
        return StrandInLine(self._contents[here], *self._balls[lot])

    def _de00(self, one: Colour, other: Colour) -> float:
        key = (one.name, other.name)
        if key not in self._apart:
            self._apart[key] = float(ciede2000(_row(one.lab), _row(other.lab)))
        return self._apart[key]

    def _price(self, line: Line, was: tuple[str, str] | None, to: tuple[str, str]) -> Change:
        mill, rules = self.mill, self.mill.plan
        ball = mill.find_ball(to[0])
        colour, lot = mill.find_dye_lot(to[1])
        hour = _line_hour(mill, line)
        if was is None:
            threaded = _stand(say("empty line threaded"), hour, rules.yarn_time_s)
            return Change(
                kind="yarn",
                stand_s=rules.yarn_time_s,
                clean_s=0.0,
                de00=0.0,
                lightness_rise=0.0,
                strand_m=0.0,
                waste_kg=0.0,
                second_balls=0.0,
                parts=tuple(one for one in (threaded, self._first_balls()) if one.money),
            )
        old_ball = mill.find_ball(was[0])
        old_colour, old_lot = mill.find_dye_lot(was[1])
        kind: ChangeKind = "none"
        if old_ball.yarn != ball.yarn:
            kind = "yarn"
        elif old_ball.name != ball.name:
            kind = "ball"
        elif old_colour.name != colour.name:
            kind = "colour"
        elif old_lot.lot != lot.lot:
            kind = "lot"
        if kind == "none":
            return Change(kind, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, ())
        new_colour = old_colour.name != colour.name
        de00 = self._de00(old_colour, colour)
        rise = colour.lab.lightness - old_colour.lab.lightness
        clean_s = _clean_s(rules.clean_time_s, rules.clean_full_de00, de00, rise)
        stand_s = {
            "lot": line.tie_time_s,
            "colour": rules.colour_time_s,
            "ball": max(rules.ball_time_s, rules.colour_time_s if new_colour else 0.0),
            "yarn": rules.yarn_time_s,
        }[kind]
        old = self.strand(line.name, old_ball.name, old_lot.lot)
        mixed = float(line.lanes) if kind in ("lot", "colour") else 0.0
        belt_m = line.lanes * old.content_m if kind == "yarn" else 0.0
        balls_m = line.lanes * PART_BALL_FRAC * old.ball_m if kind in ("ball", "yarn") else 0.0
        parts = (
            MoneyPart("strand", say("strand in the line thrown away"), self._yarn(old.kg(belt_m))),
            MoneyPart("part_balls", say("part balls thrown away"), self._yarn(old.kg(balls_m))),
            MoneyPart(
                "mixed_balls",
                say("mixed balls to second quality"),
                mixed * self._second_loss(old_ball.name, old),
            ),
            MoneyPart("ties", say("ties at the creel"), self._ties(line, was[1], to[1], kind)),
            _stand(say("line standing"), hour, stand_s),
            MoneyPart("cleaning", say("cleaning after a darker colour"), hour * clean_s / 3600.0),
            self._first_balls(),
        )
        return Change(
            kind=kind,
            stand_s=stand_s + clean_s,
            clean_s=clean_s,
            de00=de00,
            lightness_rise=rise,
            strand_m=belt_m + balls_m,
            waste_kg=old.kg(belt_m + balls_m),
            second_balls=mixed,
            parts=tuple(part for part in parts if part.money),
        )

    def _first_balls(self) -> MoneyPart:
        money = self.mill.checks.first_balls * self.mill.prices.weigh_each
        return MoneyPart("first_balls", say("first balls weighed and reeled"), money)

    def _yarn(self, mass_kg: float) -> float:
        prices = self.mill.prices
        return mass_kg * (prices.yarn_per_kg + prices.waste_per_kg)

    def _second_loss(self, ball_name: str, strand: StrandInLine) -> float:
        prices = shift_prices_of(self.mill, ball_name)
        if prices is None:
            return strand.kg(strand.ball_m) * self.mill.prices.yarn_per_kg
        return prices.ball - prices.second

    def _ties(self, line: Line, was_lot: str, to_lot: str, kind: ChangeKind) -> float:
        """The hands' time to tie the next lot to the one that runs out, a tie a lane [money]."""
        if kind == "yarn" or was_lot == to_lot:
            return 0.0
        return line.lanes * line.tie_time_s / 3600.0 * self.mill.prices.hand_per_hour


def change_between(
    mill: Mill, line_name: str, before: LineNow | PlannedRun | None, after: PlannedRun
) -> Change:
    """Price the change from what a line is at to a next run.

    Parameters
    ----------
    mill : Mill
        The mill: its line, balls, colours, rules of planning and prices.
    line_name : str
        The line; empty for the only one.
    before : LineNow or PlannedRun or None
        What is in the line; None: the line is empty.
    after : PlannedRun
        What comes next.

    Returns
    -------
    Change
        What it takes and what it costs, part by part; parts that cost nothing are left out.

    Raises
    ------
    BadInput
        When a name is not in the mill file.

    Notes
    -----
    **Another dye lot or colour, same ball**: the new cones' tails are tied to the heads that run
    out, so the strand in the line is wound and sold; in each lane one ball holds both and goes to
    second quality (its price less what second quality fetches; without a price, its yarn). Hands
    make a tie a lane. Standing is one tie's time for a lot, ``colour_time`` for a colour.

    **Another ball of the same yarn**: ``ball_time`` for mandrels and counters (or ``colour_time``
    if that is longer and the colour changes too: hands do both meanwhile); the ball on each winder
    is pulled, half full on average, and thrown away. **Another yarn**: in addition the strand from
    creel to winder is thrown away, all lanes: belt time times feed speed and half a buffer, as the
    tracker has it before it is told more. **An empty line** is threaded in ``yarn_time``.

    **Light after dark**: cleaning of ``clean_time`` times the lesser of 1 and
    CIEDE2000/``clean_full_de00``, when the next colour is lighter by more than 2 L*.

    Standing and cleaning cost the line's crew and its overhead. Another lot or another ball has its
    first balls weighed. Nothing is counted of steam and drying while the line stands.

    Source: DERIVED; that strand runs through at a colour tie, that a mixed ball is second quality
    and that only light after dark is cleaned for: common practice, no published source.
    """
    return ChangeBook(mill).between(mill.find_line(line_name).name, before, after)


def line_hour(mill: Mill, line_name: str) -> float:
    """What an hour of a line costs beside yarn and heat: its crew and its overhead [money/h]."""
    return _line_hour(mill, mill.find_line(line_name))


def _line_hour(mill: Mill, line: Line) -> float:
    return line.crew * mill.prices.hand_per_hour + mill.prices.overhead_per_hour


def _stand(words: str, hour: float, stand_s: float) -> MoneyPart:
    return MoneyPart("standing", words, hour * stand_s / 3600.0)


def _row(lab: Cielab) -> tuple[float, float, float]:
    return (lab.lightness, lab.a, lab.b)


def _clean_s(full_s: float, full_de00: float, de00: float, rise: float) -> float:
    return full_s * min(1.0, de00 / full_de00) if rise > LIGHTER_FROM else 0.0
